"""What a make-up may not be: sentences by field, in the words of the bench.

A row's field is called `parts.2.from_butt` or `guides.3.from_tip`, counted from 1, as forms and API call it.
"""

from itertools import pairwise

from shop.craft.lengths import NM_PER_INCH
from shop.craft.saying import say_fine, say_length
from shop.craft.taper import largest_od
from shop.rules.make_up import ARBOR, FROM_BUTT_END, GUIDE, Bare, MakeUp, Part

MOST_PARTS = 20
MOST_GUIDES = 30
MOST_PLACE = 40
MOST_MEASURE_NM = 12 * NM_PER_INCH


def faults_of_make_up(make_up: MakeUp) -> dict[str, str]:
    """Everything that keeps a make-up from being built, by field; empty when it can be."""
    errors: dict[str, str] = {}
    if len(make_up.parts) > MOST_PARTS:
        errors["parts"] = f"At most {MOST_PARTS} parts fit on one rod."
    if len(make_up.guides) > MOST_GUIDES:
        errors["guides"] = f"At most {MOST_GUIDES} guides fit on one rod."
    for number, part in enumerate(make_up.parts, 1):
        for name, sentence in _faults_of_part(make_up, part).items():
            errors[f"parts.{number}.{name}"] = sentence
    errors.update(_clashes(make_up))
    errors.update(_faults_of_ways(make_up))
    errors.update(_faults_of_guides(make_up))
    return errors


def _faults_of_ways(make_up: MakeUp) -> dict[str, str]:
    """The shop's own measures: what no bench can measure with."""
    ways = make_up.ways
    errors = {}
    for name, nm in (
        ("ream_limit", ways.ream_limit_nm), ("tape", ways.tape_nm), ("thread", ways.thread_nm),
        ("wrap", ways.wrap_nm),
    ):  # fmt: skip
        if not 0 < nm <= MOST_MEASURE_NM:
            errors[name] = f"This must be more than nothing and at most {say_length(MOST_MEASURE_NM)}."
    for name, nm in (
        ("clearance", ways.clearance_nm), ("facing", ways.facing_nm), ("hood_gap", ways.hood_gap_nm),
        ("recess_relief", ways.recess_relief_nm),
    ):  # fmt: skip
        if not 0 <= nm <= MOST_MEASURE_NM:
            errors[name] = f"This cannot be less than nothing, nor more than {say_length(MOST_MEASURE_NM)}."
    reel, blank = ways.reel_from_butt_nm, make_up.blank
    if reel is not None and (reel < 0 or (blank is not None and reel > blank.length_nm)):
        errors["reel_from_butt"] = "The reel must hang somewhere on the blank."
    return errors


def _faults_of_part(make_up: MakeUp, part: Part) -> dict[str, str]:
    errors = {}
    if not 1 <= len(part.place.strip()) <= MOST_PLACE or not part.place.isprintable():
        errors["place"] = f"A part needs the name of its place, of 1 to {MOST_PLACE} characters."
    if [other.place for other in make_up.parts].count(part.place) > 1:
        errors["place"] = f"Two parts are called “{part.place}”; each place is named once."
    if part.from_butt_nm < 0:
        errors["from_butt"] = f"The {part.place} cannot begin before the butt."
    if part.to_butt_nm <= part.from_butt_nm:
        errors["to_butt"] = (
            f"The {part.place} ends {say_length(part.to_butt_nm)} from the butt, which is not past its "
            f"beginning at {say_length(part.from_butt_nm)}."
        )
    blank = make_up.blank
    if blank is not None and part.to_butt_nm > blank.length_nm:
        errors["to_butt"] = (
            f"The {part.place} ends {say_length(part.to_butt_nm)} from the butt, past the tip of a blank of "
            f"{say_length(blank.length_nm)}."
        )
    if blank is not None and "to_butt" not in errors and "from_butt" not in errors:
        errors |= _tight_bores(blank, part)
    return errors


def _tight_bores(blank: Bare, part: Part) -> dict[str, str]:
    """A part with one bore slides on from the tip, over everything up to its own butt end."""
    bore = part.sizes.get("bore")
    if bore is None or part.kind in FROM_BUTT_END or not blank.stations:
        return {}
    first, last = blank.stations[0][0], blank.stations[-1][0]
    if not first <= part.from_butt_nm < last:
        return {}
    od = largest_od(blank.stations, part.from_butt_nm, last)
    if od <= bore:
        return {}
    return {
        "component": f"The {part.name} has a bore of {say_fine(bore)}, and the blank is {say_fine(od)} thick "
        f"on the way to {say_length(part.from_butt_nm)} from the butt: it cannot pass there."
    }


def _clashes(make_up: MakeUp) -> dict[str, str]:
    """Two parts that would take the same stretch. An arbor lies under its seat and a cap over its grip, so
    each of these is held only against its like.
    """
    numbered = list(enumerate(make_up.parts, 1))
    arbors = [item for item in numbered if item[1].kind == ARBOR]
    caps = [item for item in numbered if item[1].kind in FROM_BUTT_END]
    others = [item for item in numbered if item not in arbors and item not in caps]
    return _overlaps(arbors) | _overlaps(caps) | _overlaps(others)


def _overlaps(seen: list[tuple[int, Part]]) -> dict[str, str]:
    errors = {}
    seen.sort(key=lambda item: item[1].from_butt_nm)
    for (_, before), (number, part) in pairwise(seen):
        if part.from_butt_nm < before.to_butt_nm:
            errors[f"parts.{number}.from_butt"] = (
                f"The {part.place} begins {say_length(part.from_butt_nm)} from the butt, where the "
                f"{before.place} still lies: it ends at {say_length(before.to_butt_nm)}."
            )
    return errors


def _faults_of_guides(make_up: MakeUp) -> dict[str, str]:
    errors = {}
    for number, guide in enumerate(make_up.guides, 1):
        field = f"guides.{number}.from_tip"
        if guide.from_tip_nm < 0:
            errors[field] = "A guide cannot stand past the tip."
        if guide.feet not in (1, 2):
            errors[f"guides.{number}.feet"] = f"A {GUIDE} has one foot or two."
        if make_up.blank is not None and guide.from_tip_nm >= make_up.blank.length_nm:
            errors[field] = (
                f"A guide {say_length(guide.from_tip_nm)} from the tip does not stand on the blank."
            )
    for number, (before, guide) in enumerate(pairwise(make_up.guides), 2):
        if guide.from_tip_nm <= before.from_tip_nm:
            errors[f"guides.{number}.from_tip"] = (
                f"The guide {say_length(guide.from_tip_nm)} from the tip is out of order; "
                "go from tip to butt."
            )
    return errors | _guides_on_the_handle(make_up)


def _guides_on_the_handle(make_up: MakeUp) -> dict[str, str]:
    if make_up.blank is None:
        return {}
    length = make_up.blank.length_nm
    # A part that ends past the tip is at fault itself; no guide is judged by it.
    ends = max((part.to_butt_nm for part in make_up.parts if part.to_butt_nm <= length), default=0)
    return {
        f"guides.{number}.from_tip": f"The guide {say_length(guide.from_tip_nm)} from the tip would "
        f"stand on the handle, which ends {say_length(ends)} from the butt."
        for number, guide in enumerate(make_up.guides, 1)
        if 0 < length - guide.from_tip_nm < ends
    }
