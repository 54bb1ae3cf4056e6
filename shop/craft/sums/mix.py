"""Calculators of glue: what a joint and a grip take, how to share a mix out, how far off it may be."""

from math import isclose

from shop.craft.faults import SumFault
from shop.craft.lengths import format_mm as mm
from shop.craft.mix import (
    LEAST_PART_ML,
    joint_glue,
    least_mix_ml,
    least_part_ml,
    mass_b_per_100_a,
    mix_amounts,
    pool_diameter_nm,
    ratio_error_percent,
    with_factor_ml,
)
from shop.craft.saying import plain, say_fine, say_length
from shop.craft.sums.base import Figure, Input, Kind, Outcome, Sum, Values
from shop.craft.volumes import annulus_ml, fillet_ml, film_ml, ring_face_ml

GROUP = "Glue and mixes"
# Half of the least clearance that bores are reamed to: common practice, no source.
LEAST_GAP_NM = 50_800


def _joint(values: Values) -> Outcome:
    bores, rods = ("bore_start", "bore_end"), ("rod_start", "rod_end")
    open_ml = annulus_ml(*(values[name] for name in (*bores, *rods, "length")))
    face, face_working = _face(values)
    fillet, fillet_working = _fillet(values)
    films = [film_ml(row["diameter"], row["length"], row["film"]) for row in values["films"]]
    glue = joint_glue(open_ml, films, face, fillet, values["allowance"])
    gaps = [(values[bore] - values[rod]) // 2 for bore, rod in zip(bores, rods, strict=True)]
    figures = (
        Figure("gap_start", "Gap a side at the start", Kind.FINE, gaps[0]),
        Figure("gap_end", "Gap a side at the end", Kind.FINE, gaps[1]),
        Figure("open_ml", "Open space", Kind.VOLUME, glue.open_ml),
        Figure("film_ml", "Thin films", Kind.VOLUME, glue.film_ml),
        Figure("face_ml", "Film on the face", Kind.VOLUME, glue.face_ml),
        Figure("fillet_ml", "Fillet", Kind.VOLUME, glue.fillet_ml),
        Figure("holds_ml", "The joint holds", Kind.VOLUME, glue.holds_ml),
        Figure("volume_ml", "Mix in all", Kind.VOLUME, glue.volume_ml),
    )
    working = (
        _open_working(values, open_ml),
        *(
            f"Film: π × {mm(row['diameter'])} × {mm(row['length'])} × {mm(row['film'])} mm³ = "
            f"{plain(volume)} mL"
            for row, volume in zip(values["films"], films, strict=True)
        ),
        *face_working,
        *fillet_working,
        f"{plain(glue.open_ml)} + {plain(glue.film_ml)} + {plain(glue.face_ml)} + {plain(glue.fillet_ml)} = "
        f"{plain(glue.holds_ml)} mL",
        f"{plain(glue.holds_ml)} mL × (1 + {plain(values['allowance'])} %) = {plain(glue.volume_ml)} mL",
    )
    return Outcome(figures, working, _starved(gaps))


def _open_working(values: Values, open_ml: float) -> str:
    ends = []
    for part in ("bore", "rod"):
        start, end = mm(values[f"{part}_start"]), mm(values[f"{part}_end"])
        ends.append(f"({start}² + {start} × {end} + {end}²)")
    return (
        f"Open space: π × {mm(values['length'])} / 12 × [{ends[0]} − {ends[1]}] mm³ = "
        f"{plain(open_ml * 1000)} mm³ = {plain(open_ml)} mL"
    )


def _face(values: Values) -> tuple[float, tuple[str, ...]]:
    outer, inner, film = values["face_outer"], values["face_inner"], values["face_film"]
    if not _both(values, "face_outer", "face_inner", "The outside of the face and the hole in it"):
        return 0.0, ()
    volume = ring_face_ml(outer, inner, film)
    return volume, (f"Face: π/4 × ({mm(outer)}² − {mm(inner)}²) × {mm(film)} mm³ = {plain(volume)} mL",)


def _fillet(values: Values) -> tuple[float, tuple[str, ...]]:
    diameter, leg = values["fillet_diameter"], values["fillet_leg"]
    if not _both(values, "fillet_diameter", "fillet_leg", "The diameter and the leg of the fillet"):
        return 0.0, ()
    volume = fillet_ml(diameter, leg)
    return volume, (f"Fillet: π × {mm(diameter)} × {mm(leg)}² / 2 mm³ = {plain(volume)} mL",)


def _both(values: Values, one: str, other: str, words: str) -> bool:
    missing = [name for name in (one, other) if values[name] is None]
    if len(missing) == 1:
        raise SumFault({missing[0]: f"{words} go together; fill in both or neither."})
    return not missing


def _starved(gaps_nm: list[int]) -> tuple[str, ...]:
    return tuple(
        f"At the {end} the gap is {say_fine(gap)} a side, less than {say_fine(LEAST_GAP_NM)}: glue is wiped "
        "off as the part slides on, and the joint may stay dry there."
        for end, gap in zip(("start", "end"), gaps_nm, strict=True)
        if gap < LEAST_GAP_NM
    )


def _grip(values: Values) -> Outcome:
    under = film_ml(values["od"], values["length"], values["gap"])
    shoulder, shoulder_working = _shoulder(values)
    film = under + shoulder
    volume = with_factor_ml(film, values["factor"])
    figures = (
        Figure("film_ml", "The film holds", Kind.VOLUME, film),
        Figure("volume_ml", "Mix in all", Kind.VOLUME, volume),
    )
    working = (
        f"π × {mm(values['od'])} × {mm(values['gap'])} × {mm(values['length'])} mm³ = {plain(under)} mL",
        *shoulder_working,
        *((f"{plain(under)} + {plain(shoulder)} = {plain(film)} mL",) if shoulder_working else ()),
        f"{plain(film)} mL × {plain(values['factor'])} for soak and fillets = {plain(volume)} mL",
    )
    return Outcome(figures, working)


def _shoulder(values: Values) -> tuple[float, tuple[str, ...]]:
    """The film round the shoulder, in the hood that it enters; nothing where the grip has none."""
    od, length, gap = values["shoulder_od"], values["shoulder_length"], values["shoulder_gap"]
    if not _both(values, "shoulder_od", "shoulder_length", "The diameter and the length of the shoulder"):
        return 0.0, ()
    volume = film_ml(od, length, gap)
    return volume, (f"Round the shoulder: π × {mm(od)} × {mm(gap)} × {mm(length)} mm³ = {plain(volume)} mL",)


def _amounts(values: Values) -> Outcome:
    parts_a, parts_b, depth = values["parts_a"], values["parts_b"], values["pool_depth"]
    mix = mix_amounts(values["volume"], parts_a, parts_b, values["density_a"], values["density_b"])
    pools = [pool_diameter_nm(part, depth) for part in (mix.volume_a_ml, mix.volume_b_ml)]
    densities = (values["density_a"], values["density_b"])
    ratio = None if None in densities else mass_b_per_100_a(parts_a, parts_b, *densities)
    least = least_mix_ml(parts_a, parts_b, values["least_part"])
    smaller = min(mix.volume_a_ml, mix.volume_b_ml)
    error = None
    if smaller > values["error"]:
        error = ratio_error_percent(mix.volume_a_ml, mix.volume_b_ml, values["error"])
    figures = (
        Figure("volume_a_ml", "A by volume", Kind.VOLUME, mix.volume_a_ml),
        Figure("volume_b_ml", "B by volume", Kind.VOLUME, mix.volume_b_ml),
        Figure("mass_a_g", "A by mass", Kind.MASS, mix.mass_a_g),
        Figure("mass_b_g", "B by mass", Kind.MASS, mix.mass_b_g),
        Figure("mass_b_per_100_a", "B by mass to 100 of A", Kind.NUMBER, ratio),
        Figure("pool_a_diameter", "Pool of A across", Kind.LENGTH, pools[0]),
        Figure("pool_b_diameter", "Pool of B across", Kind.LENGTH, pools[1]),
        Figure("error_percent", "Off the ratio by up to", Kind.NUMBER, error, "%"),
        Figure("least_mix_ml", "Least sensible mix", Kind.VOLUME, least),
    )
    working = (*_amounts_working(values, mix.volume_a_ml, mix.volume_b_ml), *_mass_working(values, ratio))
    pool_working = (
        f"Pool of {part}, {mm(depth)} mm deep: √(4 × {plain(volume * 1000)} / (π × {mm(depth)})) mm = "
        f"{say_length(pool)} across"
        for part, volume, pool in zip("AB", (mix.volume_a_ml, mix.volume_b_ml), pools, strict=True)
    )
    return Outcome(figures, (*working, *pool_working), _amounts_warnings(values, smaller, least, error))


def _amounts_working(values: Values, volume_a_ml: float, volume_b_ml: float) -> tuple[str, ...]:
    parts_a, parts_b = plain(values["parts_a"]), plain(values["parts_b"])
    lines = []
    for name, parts, volume_ml in (("A", parts_a, volume_a_ml), ("B", parts_b, volume_b_ml)):
        line = (
            f"{name}: {plain(values['volume'])} mL × {parts}/({parts_a} + {parts_b}) = {plain(volume_ml)} mL"
        )
        density = values[f"density_{name.lower()}"]
        if density is not None:
            line += f"; × {plain(density)} g/mL = {plain(volume_ml * density)} g"
        lines.append(line)
    return tuple(lines)


def _mass_working(values: Values, ratio: float | None) -> tuple[str, ...]:
    if ratio is None:
        return ()
    a, b = plain(values["parts_a"]), plain(values["parts_b"])
    return (
        f"B to 100 of A by mass: 100 × {b} × {plain(values['density_b'])} / ({a} × "
        f"{plain(values['density_a'])}) = {plain(ratio)}, so {a}:{b} by volume is 100:{plain(ratio)} by mass",
    )


def _amounts_warnings(
    values: Values, smaller_ml: float, least_ml: float, error: float | None
) -> tuple[str, ...]:
    warnings = []
    parts_a, parts_b = values["parts_a"], values["parts_b"]
    just_enough = isclose(smaller_ml, values["least_part"], rel_tol=1e-9)
    if smaller_ml < values["least_part"] and not just_enough:
        smaller = "Each part" if parts_a == parts_b else "The smaller part"
        off = (
            "leave one part out altogether"
            if error is None
            else f"put the mix {plain(error)} % off the ratio"
        )
        whole = mix_amounts(least_ml, parts_a, parts_b)
        warnings.append(
            f"{smaller} is only {plain(smaller_ml)} mL; ±{plain(values['error'])} mL on each part can "
            f"{off}. Mix {plain(least_ml)} mL instead, A {plain(whole.volume_a_ml)} mL and B "
            f"{plain(whole.volume_b_ml)} mL; the rest of the cup may serve another joint."
        )
    if parts_a != parts_b:
        warnings.append(
            f"At {plain(parts_a)}:{plain(parts_b)} the two pools are not of equal size: measure this mix by "
            "syringe or by scale, not by eye."
        )
    return tuple(warnings)


def _error(values: Values) -> Outcome:
    part_a, part_b, most = values["part_a"], values["part_b"], values["most_error"]
    error_ml = values["error"]
    off = ratio_error_percent(part_a, part_b, error_ml)
    least = least_part_ml(part_a, part_b, error_ml, most)
    whole = least_mix_ml(part_a, part_b, least)
    small, large = (plain(part) for part in sorted((part_a, part_b)))
    e, share = plain(error_ml), plain(most)
    figures = (
        Figure("error_percent", "Off the ratio by up to", Kind.NUMBER, off, "%"),
        Figure("least_part_ml", "Least of the smaller part", Kind.VOLUME, least),
        Figure("least_mix_ml", "Least mix in all", Kind.VOLUME, whole),
    )
    working = (
        f"({large} + {e})/({small} − {e}) × {small}/{large} − 1 = {plain(off)} %",
        f"Smaller part at least {e} mL × (1 + {share} % + {small}/{large}) / {share} % = {plain(least)} mL",
        f"In all: {plain(least)} mL × ({large} + {small}) / {small} = {plain(whole)} mL",
    )
    warnings: tuple[str, ...] = ()
    if off > most:
        warnings = (
            f"Up to {plain(off)} % off the ratio is more than the {share} % allowed: mix at least "
            f"{plain(least)} mL of the smaller part, {plain(whole)} mL in all.",
        )
    return Outcome(figures, working, warnings)


_ERROR = Input(
    "error", "Error of measuring", Kind.VOLUME, "How far out one part may be, up or down.", default="0.1 mL"
)

SUMS: tuple[Sum, ...] = (
    Sum(
        "glue-joint",
        "Glue for one joint",
        GROUP,
        "What the open space, thin films, face and fillet of a joint hold, and what to mix for it.",
        (
            Input("bore_start", "Bore at the start", Kind.FINE),
            Input("bore_end", "Bore at the end", Kind.FINE),
            Input("rod_start", "Rod at the start", Kind.FINE, "The blank, or the arbor, inside the bore."),
            Input("rod_end", "Rod at the end", Kind.FINE),
            Input("length", "Open length", Kind.LENGTH, "Without the length that bushings take up."),
            Input(
                "films",
                "Thin films",
                Kind.TABLE,
                "Glue on bushings, or round a shoulder.",
                optional=True,
                columns=(
                    Input("diameter", "Diameter", Kind.FINE),
                    Input("length", "Length", Kind.LENGTH),
                    Input("film", "Film thickness", Kind.FINE, default="0.003 in", most=5_000_000),
                ),
            ),
            Input("face_outer", "Outside of the face", Kind.FINE, optional=True),
            Input("face_inner", "Hole in the face", Kind.FINE, optional=True),
            Input("face_film", "Film on the face", Kind.FINE, default="0.003 in", most=5_000_000),
            Input("fillet_diameter", "Diameter at the fillet", Kind.FINE, optional=True),
            Input("fillet_leg", "Leg of the fillet", Kind.FINE, optional=True, most=20_000_000),
            Input(
                "allowance",
                "Allowance",
                Kind.NUMBER,
                "For soak and waste.",
                "30",
                zero=True,
                most=300,
                unit="%",
            ),
        ),
        "(open space + films + face + fillet) × (1 + allowance); open space π·L/12 × [(B₁² + B₁·B₂ + B₂²) − "
        "(R₁² + R₁·R₂ + R₂²)]; film π·D·L·t; face π/4·(D² − d²)·t; fillet π·D·a²/2",
        "The frustum: MathWorld, “Conical Frustum”. The allowance: common practice, no source.",
        _joint,
    ),
    Sum(
        "grip-film",
        "Glue under a grip",
        GROUP,
        "The film between a reamed grip and the blank, and round its shoulder, and what to mix for them.",
        (
            Input("od", "Mean OD of the blank", Kind.FINE, "Half way along the grip."),
            Input("gap", "Gap a side", Kind.FINE, default="0.003 in", most=5_000_000),
            Input("length", "Length of the grip", Kind.LENGTH, "With its shoulder."),
            Input("shoulder_od", "Diameter of the shoulder", Kind.FINE, optional=True),
            Input("shoulder_length", "Length of the shoulder", Kind.LENGTH, optional=True),
            Input("shoulder_gap", "Gap round the shoulder", Kind.FINE, default="0.005 in", most=5_000_000),
            Input("factor", "Factor", Kind.NUMBER, "For soak and fillets.", "2", most=10),
        ),
        "π × (mean OD × gap × length + shoulder diameter × its gap × its length) × factor",
        "Common practice, no source.",
        _grip,
    ),
    Sum(
        "mix-amounts",
        "Parts of a mix",
        GROUP,
        "How much of A and of B makes up a volume, by volume, by mass and as two pools side by side.",
        (
            Input("volume", "Volume needed", Kind.VOLUME),
            Input("parts_a", "Parts of A", Kind.NUMBER, "By volume.", "1", most=1000),
            Input("parts_b", "Parts of B", Kind.NUMBER, "By volume.", "1", most=1000),
            Input("density_a", "Density of A", Kind.NUMBER, optional=True, most=5, unit="g/mL"),
            Input("density_b", "Density of B", Kind.NUMBER, optional=True, most=5, unit="g/mL"),
            Input("least_part", "Least of a part", Kind.VOLUME, default=f"{LEAST_PART_ML:g} mL"),
            _ERROR,
            Input("pool_depth", "Depth of a pool", Kind.FINE, default="2 mm", most=50_000_000),
        ),
        "A = volume × a/(a + b), B = volume × b/(a + b); mass = volume × density; "
        "pool across = √(4·V/(π·depth))",
        "Closed form. The least of a part: common practice, no source.",
        _amounts,
    ),
    Sum(
        "mix-error",
        "How far off a mix may be",
        GROUP,
        "What an error of measuring does to the ratio, and the least mix that keeps it within bounds.",
        (
            Input("part_a", "Part A", Kind.VOLUME),
            Input("part_b", "Part B", Kind.VOLUME),
            _ERROR,
            Input("most_error", "Most off the ratio", Kind.NUMBER, default="7", most=100, unit="%"),
        ),
        "(larger + error)/(smaller − error) × smaller/larger − 1",
        "Closed form, the worst case. What is allowed: common practice, no source; the data sheet wins.",
        _error,
    ),
)
