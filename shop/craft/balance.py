"""Where a rod balances, bare and with its reel, and the weight that moves that to where it is wanted.

Masses in g, positions in whole nanometres from the butt end of the blank; a part behind the butt end lies
at less than nothing. Source of all of it: equilibrium of moments.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from shop.craft.faults import SumFault
from shop.craft.saying import say_length


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a rod: its mass, and where its own centre of mass lies from the butt end of the blank."""

    name: str
    mass_g: float
    position_nm: int


def mass_g(parts: Sequence[Part]) -> float:
    """What the parts weigh together, in g. Raises `SumFault` (`parts`, `parts.2.mass`)."""
    if not parts:
        raise SumFault({"parts": "There is no part to weigh; fill in at least one row."})
    errors = {
        f"parts.{number}.mass": f"“{part.name}” weighs {part.mass_g:g} g; a part weighs more than nothing."
        for number, part in enumerate(parts, 1)
        if not isfinite(part.mass_g) or part.mass_g <= 0
    }
    if errors:
        raise SumFault(errors)
    return sum(part.mass_g for part in parts)


def moment_g_nm(parts: Sequence[Part]) -> float:
    """Σ m·x about the butt end of the blank, in g·nm. Raises `SumFault`, as `mass_g`."""
    mass_g(parts)
    return sum(part.mass_g * part.position_nm for part in parts)


def balance_nm(parts: Sequence[Part]) -> int:
    """Where the parts balance, from the butt end, in nm: x = Σ m·x / Σ m. Raises `SumFault`, as `mass_g`."""
    return round(moment_g_nm(parts) / mass_g(parts))


def counterweight_g(parts: Sequence[Part], target_nm: int, weight_nm: int) -> float:
    """The weight at `weight_nm` that makes the parts balance at `target_nm`, in g; 0 where they do already.

    m = (Σ m·x − target·Σ m)/(target − x_w). A weight only draws the balance toward itself and never all
    the way: raises `SumFault` (`target`) where that cannot reach the target, and as `mass_g`.
    """
    now_nm = balance_nm(parts)
    if now_nm == target_nm:
        return 0.0
    _refuse_out_of_reach(now_nm, target_nm, weight_nm)
    return (moment_g_nm(parts) - target_nm * mass_g(parts)) / (target_nm - weight_nm)


def _refuse_out_of_reach(now_nm: int, target_nm: int, weight_nm: int) -> None:
    if weight_nm < target_nm < now_nm or now_nm < target_nm < weight_nm:
        return
    now, target, weight = say_length(now_nm), say_length(target_nm), say_length(weight_nm)
    if (weight_nm - now_nm) * (target_nm - now_nm) > 0:
        sentence = (
            f"The rod balances at {now}; a weight at {weight} draws that toward itself but never all the "
            f"way, so it cannot balance at {target}, however heavy the weight."
        )
    elif target_nm > now_nm:
        sentence = (
            f"The rod already balances further back than {target}, at {now}; no weight is needed at "
            f"{weight}, and one there would not bring it forward."
        )
    else:
        sentence = (
            f"The rod balances at {now}; a weight at {weight} would not bring that back to {target}. Put it "
            "nearer the butt than that."
        )
    raise SumFault({"target": sentence})
