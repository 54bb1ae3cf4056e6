"""How much two-part glue to mix: for a joint, by volume and by mass, and how far off the ratio it may be.

Volumes in mL, masses in g, densities in g/mL, lengths in whole nanometres, shares in percent. A mix is
so many parts of A (the resin) to so many of B (the hardener), counted by volume as the product says it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import isfinite, pi, sqrt

from shop.craft.faults import SumFault
from shop.craft.saying import plain
from shop.craft.volumes import NM3_PER_ML, need_figures

# Common practice, no source: below 3 mL a part, ±0.1 mL on a syringe is more than 7 % off the ratio.
LEAST_PART_ML = 3.0


@dataclass(frozen=True, slots=True)
class JointGlue:
    """The glue that one joint holds, in mL, and what to mix for it with the allowance added."""

    open_ml: float
    film_ml: float
    face_ml: float
    fillet_ml: float
    holds_ml: float
    volume_ml: float


@dataclass(frozen=True, slots=True)
class MixAmounts:
    """A volume shared out into its parts, in mL; in g where the density of that part is known."""

    volume_a_ml: float
    volume_b_ml: float
    mass_a_g: float | None
    mass_b_g: float | None


def joint_glue(
    open_ml: float, films_ml: Iterable[float], face_ml: float, fillet_ml: float, allowance_percent: float
) -> JointGlue:
    """What one joint holds, and what to mix: the sum of its places × (1 + allowance).

    The allowance covers soak into the material, squeeze-out and what stays on cup and stick. Raises
    `SumFault` (`allowance`, or `length` where a volume is less than nothing). Common practice, no source.
    """
    film_ml = sum(films_ml)
    if min(open_ml, film_ml, face_ml, fillet_ml) < 0:
        raise SumFault({"length": "A place that glue fills cannot hold less than nothing."})
    if not isfinite(allowance_percent) or allowance_percent < 0:
        raise SumFault({"allowance": f"An allowance of {allowance_percent:g} % would leave a joint dry."})
    holds_ml = open_ml + film_ml + face_ml + fillet_ml
    return JointGlue(open_ml, film_ml, face_ml, fillet_ml, holds_ml, holds_ml * (1 + allowance_percent / 100))


def with_factor_ml(film_ml: float, factor: float) -> float:
    """What to mix for a film under a grip, in mL: the film × a factor for soak and fillets (2 is usual).

    Raises `SumFault` (`factor`) below 1. Common practice, no source.
    """
    if not isfinite(factor) or factor < 1:
        raise SumFault(
            {"factor": f"A factor of {factor:g} would mix less than the gap itself holds; it is 1 or more."}
        )
    return film_ml * factor


def mix_amounts(
    volume_ml: float,
    parts_a: float,
    parts_b: float,
    density_a: float | None = None,
    density_b: float | None = None,
) -> MixAmounts:
    """A volume shared out as parts_a : parts_b by volume, and each part weighed: m = ρ·V.

    Raises `SumFault` (`volume`, `parts_a`, `parts_b`, `density_a`, `density_b`). Closed form.
    """
    need_figures(volume=volume_ml, parts_a=parts_a, parts_b=parts_b)
    volume_a_ml = volume_ml * parts_a / (parts_a + parts_b)
    volume_b_ml = volume_ml * parts_b / (parts_a + parts_b)
    return MixAmounts(
        volume_a_ml,
        volume_b_ml,
        _weighed(volume_a_ml, "density_a", density_a),
        _weighed(volume_b_ml, "density_b", density_b),
    )


def _weighed(volume_ml: float, name: str, density: float | None) -> float | None:
    if density is None:
        return None
    need_figures(**{name: density})
    return volume_ml * density


def mass_b_per_100_a(parts_a: float, parts_b: float, density_a: float, density_b: float) -> float:
    """The g of B to 100 g of A in a mix of parts by volume: 100·(b·ρ_B)/(a·ρ_A).

    1:1 by volume is not 1:1 by mass unless both are as dense. Raises `SumFault` (the figure to blame).
    Closed form.
    """
    need_figures(parts_a=parts_a, parts_b=parts_b, density_a=density_a, density_b=density_b)
    return 100 * (parts_b * density_b) / (parts_a * density_a)


def pool_diameter_nm(volume_ml: float, depth_nm: int) -> int:
    """The diameter of a round pool of that volume and depth, V = π/4·d²·h, in nm.

    Raises `SumFault` (`volume`, `pool_depth`). Closed form.
    """
    need_figures(volume=volume_ml, pool_depth=depth_nm)
    return round(sqrt(4 * volume_ml * NM3_PER_ML / (pi * depth_nm)))


def ratio_error_percent(part_a_ml: float, part_b_ml: float, error_ml: float) -> float:
    """How far off the ratio the mix can be when each part is measured to ± `error_ml`, in percent.

    Worst is the larger part over and the smaller short: (large + e)/(small − e)·(small/large) − 1. Raises
    `SumFault` (`part_a`, `part_b`, `error`; the error must be less than the smaller part). Closed form.
    """
    need_figures(part_a=part_a_ml, part_b=part_b_ml, error=error_ml)
    small_ml, large_ml = sorted((part_a_ml, part_b_ml))
    if error_ml >= small_ml:
        raise SumFault(
            {
                "error": f"An error of ±{plain(error_ml)} mL is as much as the smaller part, "
                f"{plain(small_ml)} mL; there may be none of it in the mix at all."
            }
        )
    return 100 * ((1 + error_ml / large_ml) / (1 - error_ml / small_ml) - 1)


def least_part_ml(parts_a: float, parts_b: float, error_ml: float, most_percent: float) -> float:
    """The least that the smaller part may be, in mL, for a ratio at most `most_percent` off.

    With p the share, e the error and r the larger part by the smaller, `ratio_error_percent` turned round:
    s = e·(1 + p + 1/r)/p. Raises `SumFault` (`parts_a`, `parts_b`, `error`, `most_error`). Closed form.
    """
    need_figures(parts_a=parts_a, parts_b=parts_b, error=error_ml, most_error=most_percent)
    share = most_percent / 100
    return error_ml * (1 + share + min(parts_a, parts_b) / max(parts_a, parts_b)) / share


def least_mix_ml(parts_a: float, parts_b: float, part_ml: float) -> float:
    """The smallest whole mix, in mL, in which no part is less than `part_ml`.

    Raises `SumFault` (`parts_a`, `parts_b`, `least_part`). Closed form.
    """
    need_figures(parts_a=parts_a, parts_b=parts_b, least_part=part_ml)
    return part_ml * (parts_a + parts_b) / min(parts_a, parts_b)
