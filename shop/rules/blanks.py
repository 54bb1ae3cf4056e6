"""Whether a blank's measurements can be, and where its pieces meet: pure checks, one sentence a field.

Lengths are nanometres, masses and loads milligrams. A joint is a pair of its distance from the butt and
the insertion: how far one piece goes into the other.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from shop.craft.lengths import NM_PER_MM, format_inches, format_mm
from shop.craft.saying import say_fine
from shop.rules.masses import fault_of_load, fault_of_mass, grams_of

MOST_LENGTH_NM = 8000 * NM_PER_MM
MOST_OD_NM = 100 * NM_PER_MM
MOST_PIECES = 8
MOST_JOINTS = MOST_PIECES - 1
MOST_STATIONS = 60
GROWS = "diameters_confirmed"

Station = tuple[int, int]
Joint = tuple[int, int]


class BlankFacts(NamedTuple):
    """What is said of a blank and can be wrong; `stations` and `joints` go from butt to tip."""

    model: str
    length_nm: int | None
    pieces: int
    mass_mg: int | None
    stations: Sequence[Station]
    joints: Sequence[Joint]
    wall_butt_nm: int | None
    wall_tip_nm: int | None
    test_load_mg: int | None
    test_sag_nm: int | None
    most_load_mg: int | None


def faults_of_blank(facts: BlankFacts) -> dict[str, str]:
    """Everything that keeps a blank's facts from being right, by field; empty when they are."""
    faults = {
        "model": "" if 1 <= len(facts.model.strip()) <= 120
        else "The blank needs a model or name of 1 to 120 characters.",
        "pieces": "" if 1 <= facts.pieces <= MOST_PIECES else f"A blank has 1 to {MOST_PIECES} pieces.",
        "mass_g": fault_of_mass(facts.mass_mg),
        "test_load_g": _fault_of_test_load(facts),
        "most_load_g": fault_of_load("largest load", facts.most_load_mg),
    }  # fmt: skip
    if facts.length_nm is None or not 0 < facts.length_nm <= MOST_LENGTH_NM:
        # Beside a length that cannot be, nothing along the blank can be judged.
        faults["length"] = "The length must lie above nothing and at most at 8 m."
    else:
        faults |= _faults_along(facts.length_nm, facts)
    return {field: sentence for field, sentence in faults.items() if sentence}


def _faults_along(length_nm: int, facts: BlankFacts) -> dict[str, str]:
    """What is wrong with the figures that are measured along a blank of a length that can be."""
    stations = _fault_of_stations(length_nm, facts.stations)
    ods = {} if stations else dict(facts.stations)
    return {
        "stations": stations,
        "joints": _fault_of_joints(length_nm, facts.pieces, facts.joints),
        "wall_butt": _fault_of_wall("butt", facts.wall_butt_nm, ods.get(0)),
        "wall_tip": _fault_of_wall("tip", facts.wall_tip_nm, ods.get(length_nm)),
        "test_sag": _fault_of_sag(length_nm, facts),
    }


def _fault_of_stations(length_nm: int, stations: Sequence[Station]) -> str:
    if len(stations) > MOST_STATIONS:
        return f"At most {MOST_STATIONS} stations fit."
    for from_butt, od in stations:
        if from_butt < 0 or from_butt > length_nm:
            return f"A station {_said(from_butt)} from the butt does not lie on the blank."
        if not 0 < od <= MOST_OD_NM:
            return f"The diameter {_said(od)} at {_said(from_butt)} from the butt cannot be."
    for (before, _), (after, _) in pairwise(stations):
        if after == before:
            return f"There are two stations {_said(after)} from the butt; one diameter is enough."
        if after < before:
            return f"The station {_said(after)} from the butt is out of order; go from butt to tip."
    return ""


def _fault_of_joints(length_nm: int, pieces: int, joints: Sequence[Joint]) -> str:
    if joints and 1 <= pieces <= MOST_PIECES and len(joints) != pieces - 1:
        if pieces == 1:
            return "A blank in one piece has no joints."
        return f"The joints of a blank in {pieces} pieces number {pieces - 1}; state all of them or none."
    for from_butt, _ in joints:
        if not 0 < from_butt < length_nm:
            return f"A joint {_said(from_butt)} from the butt does not lie on the blank."
    for (before, _), (after, _) in pairwise(joints):
        if after == before:
            return f"There are two joints {_said(after)} from the butt; pieces meet there once."
        if after < before:
            return f"The joint {_said(after)} from the butt is out of order; go from butt to tip."
    ends = (0, *(from_butt for from_butt, _ in joints), length_nm)
    pieces_nm = [after - before for before, after in pairwise(ends)]
    for (from_butt, insertion), beside in zip(joints, pairwise(pieces_nm), strict=True):
        if not 0 <= insertion < min(beside):
            return (
                f"The insertion {_said(insertion)} at the joint {_said(from_butt)} from the butt cannot be: "
                f"it must be nothing or more, and less than the shorter piece there, {_said(min(beside))}."
            )
    return ""


def _fault_of_wall(end: str, wall_nm: int | None, od_nm: int | None) -> str:
    if wall_nm is None or 0 < 2 * wall_nm < (od_nm or MOST_OD_NM):
        return ""
    most = f"{MOST_OD_NM // 2 // NM_PER_MM} mm"
    if od_nm is not None:
        most = f"half the outside diameter there, which is {say_fine(od_nm)}"
    return f"The wall at the {end} must lie above nothing and below {most}."


def _fault_of_sag(length_nm: int, facts: BlankFacts) -> str:
    sag_nm = facts.test_sag_nm
    if sag_nm is None:
        missing = facts.test_load_mg is not None
        return "A test load needs the sag of the tip under it; state both or neither." if missing else ""
    if 0 < sag_nm < length_nm:
        return ""
    return f"The sag of the tip must lie above nothing and below the length, {_said(length_nm)}."


def _fault_of_test_load(facts: BlankFacts) -> str:
    load_mg, most_mg = facts.test_load_mg, facts.most_load_mg
    if load_mg is None:
        missing = facts.test_sag_nm is not None
        return "A sag of the tip needs the test load it was under; state both or neither." if missing else ""
    if most_mg is not None and load_mg > most_mg > 0:
        return (
            f"The test load of {grams_of(load_mg)} g is more than the largest load that the maker allows, "
            f"{grams_of(most_mg)} g."
        )
    return fault_of_load("test load", load_mg)


def growing_station(stations: Sequence[Station]) -> str:
    """The question to ask where a diameter grows toward the tip; empty where none does."""
    for (_, od_before), (from_butt, od) in pairwise(stations):
        if od > od_before:
            return (
                f"The diameter grows to {_said(od)} at {_said(from_butt)} from the butt, toward the tip. "
                "Measure again, or confirm that it really does."
            )
    return ""


def joints_of(length_nm: int, pieces: int, joints: Sequence[Joint]) -> tuple[Joint, ...]:
    """Where the pieces of a blank meet, from butt to tip, each with its insertion, in nanometres.

    Those stated; where none are, the pieces count as equally long, with nothing inserted.
    """
    if joints:
        return tuple(joints)
    return tuple((length_nm * piece // pieces, 0) for piece in range(1, pieces))


def _said(nm: int) -> str:
    return f"{format_inches(nm)} in ({format_mm(nm)} mm)"
