"""In which order parts go on the blank, before something that they cannot pass is fixed.

Places and sizes are whole nanometres; a place is that of a part's butt end, from the butt of the blank.
Common practice, no source: from the tip, what lies nearest the butt goes on first; check rings, grips and
hosels are on before the tip-top, a guide or a ferrule wrap shuts the way.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shop.craft.faults import SumFault
from shop.craft.saying import say_fine
from shop.craft.taper import Station, check_stations, largest_od


class GoesOn(StrEnum):
    """From which end a part slides on. What is wrapped on slides past nothing, and shuts the way."""

    TIP = "tip"
    BUTT = "butt"
    WRAPPED = "wrapped on"


@dataclass(frozen=True, slots=True)
class Part:
    """A part on the blank. `bore_nm` is its least bore, which of a reamed grip is the one at its tip end.

    `outside_nm` is what another part must be wider than to pass over it; where it is none, nothing passes.
    """

    name: str
    from_butt_nm: int
    goes_on: GoesOn
    length_nm: int = 0
    bore_nm: int | None = None
    outside_nm: int | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """The next part to put on, the parts that must wait for it, and why."""

    part: Part
    before: tuple[str, ...]
    reason: str


def slide_on_order(parts: Sequence[Part], stations: Sequence[Station] = ()) -> tuple[Step, ...]:
    """The order in which the parts go on the blank.

    A part from the tip must be on before everything that lies nearer the tip than its place, a part from
    the butt before everything nearer the butt, unless its bore is wider than the outside of that. With
    stations, the bore is compared with the blank, from the end of the part nearest the tip to the end of
    the blank that it comes from. Raises `SumFault` by `parts.N.from_butt`, `.length`, `.bore` and
    `.goes_on`. Common practice, no source.
    """
    _check_places(parts)
    if stations:
        _check_bores(parts, stations)
    waits_for = {
        index: [other for other, part in enumerate(parts) if _in_the_way(part, parts[index])]
        for index in range(len(parts))
    }
    order = _ordered(parts, waits_for)
    return tuple(_step(parts, index, waits_for) for index in order)


def _check_places(parts: Sequence[Part]) -> None:
    if not parts:
        raise SumFault({"parts": "There is no part to put on."})
    errors: dict[str, str] = {}
    names: dict[int, str] = {}
    for number, part in enumerate(parts, 1):
        place = part.from_butt_nm
        if place < 0:
            errors[f"parts.{number}.from_butt"] = f"“{part.name}” lies below the butt end."
        elif place in names:
            errors[f"parts.{number}.from_butt"] = (
                f"“{part.name}” and “{names[place]}” begin at one place; which is nearer the butt?"
            )
        if part.length_nm < 0:
            errors[f"parts.{number}.length"] = f"“{part.name}” cannot be shorter than nothing."
        if part.bore_nm is not None and part.bore_nm <= 0:
            errors[f"parts.{number}.bore"] = f"The bore of “{part.name}” must be more than nothing."
        names.setdefault(place, part.name)
    if errors:
        raise SumFault(errors)


def _check_bores(parts: Sequence[Part], stations: Sequence[Station]) -> None:
    check_stations(stations)
    errors: dict[str, str] = {}
    for number, part in enumerate(parts, 1):
        if part.bore_nm is None or part.goes_on is GoesOn.WRAPPED:
            continue
        field = f"parts.{number}.{'length' if part.length_nm else 'from_butt'}"
        end = part.from_butt_nm + part.length_nm
        from_tip = part.goes_on is GoesOn.TIP
        way = (end, max(end, stations[-1][0])) if from_tip else (min(end, stations[0][0]), end)
        try:
            thickest = largest_od(stations, *way, field)
        except SumFault as fault:
            errors.update(fault.errors)
            continue
        if part.bore_nm < thickest:
            errors[f"parts.{number}.bore"] = (
                f"The bore of “{part.name}”, {say_fine(part.bore_nm)}, is smaller than the blank, which is "
                f"{say_fine(thickest)} between the {part.goes_on} and its place."
            )
    if errors:
        raise SumFault(errors)


def _in_the_way(part: Part, other: Part) -> bool:
    """Whether `part` could not get to its place with `other` already there."""
    if part.goes_on is GoesOn.TIP:
        between = other.from_butt_nm > part.from_butt_nm
    elif part.goes_on is GoesOn.BUTT:
        between = other.from_butt_nm < part.from_butt_nm
    else:
        between = False
    passes = part.bore_nm is not None and other.outside_nm is not None and part.bore_nm > other.outside_nm
    return between and not passes


# A cap glued on early is scarred by the chuck: what comes from the butt goes on as late as it can.
_RANK = {GoesOn.TIP: 0, GoesOn.WRAPPED: 1, GoesOn.BUTT: 2}


def _ordered(parts: Sequence[Part], waits_for: Mapping[int, Sequence[int]]) -> list[int]:
    """Each part after those that it waits for, the rest by the end they come from. Raises `SumFault`."""
    order: list[int] = []
    while len(order) < len(parts):
        left = [index for index in range(len(parts)) if index not in order]
        free = [index for index in left if all(other in order for other in waits_for[index])]
        if not free:
            stuck = _stuck(left, waits_for)
            raise SumFault(
                {
                    f"parts.{stuck[0] + 1}.goes_on": f"{_named([parts[index].name for index in stuck])} shut "
                    "each other's way whichever goes on first; one of them must come from the other end."
                }
            )
        order.append(min(free, key=lambda index: _key(parts[index])))
    return order


def _stuck(left: list[int], waits_for: Mapping[int, Sequence[int]]) -> list[int]:
    """Of parts that wait for each other, those that another one waits for: the others are not to blame."""
    blamed = [index for index in left if any(index in waits_for[other] for other in left)]
    return blamed if len(blamed) == len(left) else _stuck(blamed, waits_for)


def _key(part: Part) -> tuple[int, int]:
    place = part.from_butt_nm
    return _RANK[part.goes_on], -place if part.goes_on is GoesOn.BUTT else place


def _step(parts: Sequence[Part], index: int, waits_for: Mapping[int, Sequence[int]]) -> Step:
    part = parts[index]
    before = tuple(other.name for number, other in enumerate(parts) if index in waits_for[number])
    after = [parts[other].name for other in waits_for[index]]
    if part.goes_on is GoesOn.WRAPPED and after:
        reason = f"Wrapped on once {_named(after)} {'has' if len(after) == 1 else 'have'} come past."
    elif part.goes_on is GoesOn.WRAPPED:
        reason = "Wrapped on at any time: nothing has to come past it."
    elif before:
        reason = f"From the {part.goes_on}, before {_named(before)}: it cannot pass over what is fixed there."
    else:
        reason = f"From the {part.goes_on}; nothing between there and its place shuts its way."
    return Step(part, before, reason)


def _named(names: Sequence[str]) -> str:
    quoted = [f"“{name}”" for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}"
