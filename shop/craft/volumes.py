"""Volumes of the shapes that glue and finish take on a rod: frusta, annuli, films, ring faces, fillets.

Lengths come in whole nanometres, volumes go out in mL. 1 mL is 1 cm³, and 1 in³ is 16.387064 mL exactly
(NIST SP 811, appendix B.8). How much of these to mix is for `shop.craft.mix` and `shop.craft.finish`.
"""

from math import isfinite, pi

from shop.craft.faults import SumFault
from shop.craft.saying import say_fine

NM3_PER_ML = 10**21


def annulus_ml(
    bore_start_nm: int, bore_end_nm: int, rod_start_nm: int, rod_end_nm: int, length_nm: int
) -> float:
    """The open room between a tapered bore and the tapered rod in it, in mL: two frusta, one less the other.

    Bore and rod may touch at either end. Raises `SumFault` (`rod_start`, `rod_end`, `length`, or a
    diameter that is not above nothing). Source: closed form.
    """
    need_lengths(
        bore_start=bore_start_nm,
        bore_end=bore_end_nm,
        rod_start=rod_start_nm,
        rod_end=rod_end_nm,
        length=length_nm,
    )
    errors = {}
    for end, bore_nm, rod_nm in (("start", bore_start_nm, rod_start_nm), ("end", bore_end_nm, rod_end_nm)):
        if rod_nm > bore_nm:
            errors[f"rod_{end}"] = (
                f"At the {end} the rod is {say_fine(rod_nm)} and the bore only {say_fine(bore_nm)} wide; "
                "it does not go in, and there is no room for glue."
            )
    if errors:
        raise SumFault(errors)
    # Taken apart before dividing, whole numbers stay exact: a thin gap is no small difference of two floats.
    room = _squares(bore_start_nm, bore_end_nm) - _squares(rod_start_nm, rod_end_nm)
    return pi / 12 * (length_nm * room / NM3_PER_ML)


def film_ml(diameter_nm: int, length_nm: int, film_nm: int) -> float:
    """A thin film round a cylinder, in mL: V = π·D·L·t, taken at the diameter given.

    Exact where D is the middle of the film; with the bare diameter it is less by t in D, which is nothing
    beside what a brush does. Raises `SumFault` (`diameter`, `length`, `film`). Source: closed form.
    """
    need_lengths(diameter=diameter_nm, length=length_nm, film=film_nm)
    return pi * (diameter_nm * length_nm * film_nm / NM3_PER_ML)


def ring_face_ml(outer_nm: int, inner_nm: int, film_nm: int) -> float:
    """A film on the flat face of a ring, in mL: V = π/4·(D² − d²)·t.

    Raises `SumFault` (`face_outer`, `face_inner`, `face_film`). Source: closed form.
    """
    need_lengths(face_outer=outer_nm, face_inner=inner_nm, face_film=film_nm)
    if inner_nm >= outer_nm:
        raise SumFault(
            {
                "face_inner": f"The hole in the face, {say_fine(inner_nm)}, must be less than its outside, "
                f"{say_fine(outer_nm)}."
            }
        )
    return pi / 4 * ((outer_nm**2 - inner_nm**2) * film_nm / NM3_PER_ML)


def fillet_ml(diameter_nm: int, leg_nm: int) -> float:
    """A small fillet round a rod, in mL: a triangle of legs a, led round once, V = π·D·a²/2.

    By Pappus' theorem the path is π(D + 2a/3); the part left out is small beside the waste. Raises
    `SumFault` (`fillet_diameter`, `fillet_leg`). Source: closed form.
    """
    need_lengths(fillet_diameter=diameter_nm, fillet_leg=leg_nm)
    return pi / 2 * (diameter_nm * leg_nm**2 / NM3_PER_ML)


def _squares(start_nm: int, end_nm: int) -> int:
    return start_nm**2 + start_nm * end_nm + end_nm**2


def need_lengths(**lengths_nm: int) -> None:
    """Refuses lengths, in nm, that are not above nothing: `SumFault` by the names they are given under."""
    errors = {
        name: f"The {_words(name)} is {say_fine(nm)}; it must be more than nothing."
        for name, nm in lengths_nm.items()
        if nm <= 0
    }
    if errors:
        raise SumFault(errors)


def need_figures(**figures: float) -> None:
    """Refuses figures that are not finite and above nothing: `SumFault` by the names they are given under."""
    errors = {
        name: f"The {_words(name)} is {value:g}; it must be a finite figure above nothing."
        for name, value in figures.items()
        if not isfinite(value) or value <= 0
    }
    if errors:
        raise SumFault(errors)


def _words(name: str) -> str:
    return name.replace("_", " ")
