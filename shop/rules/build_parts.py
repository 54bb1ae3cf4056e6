"""Which parts a build takes: what its make-up asks for, what is named by hand, and the look-alike check.

Pure. A part belongs to a group, the kind of component that a stage names (`Stage.uses`), or `blank`. What a
make-up names by component is followed: one for each place, one for each guide; a guide whose component nobody
has chosen is not. A make-up has no thread, so thread is named by hand, in shares of a spool (see
`shop.rules.stock`). A repair takes only what is named by hand: its make-up says what the rod is made of, and
most of that came in with it.
"""

from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from shop.rules.make_up import FROM_BUTT_END, FROM_THE_TIP, GUIDE, TIP_TOP, MakeUp

BLANK, THREAD = "blank", "thread"
REPAIR = "repair"
MOST_OF_ONE = 200
# What is glued on and so is held against the rod one by one; guides are many, and are laid out before.
HELD_UP = frozenset({BLANK, TIP_TOP, *FROM_THE_TIP, *FROM_BUTT_END})
# A check of this name on a stage is ticked by scanning: see `decide`.
LOOK_ALIKE_CHECK = "parts held against the rod"


class Need(NamedTuple):
    """How many of one blank or component a build takes, and in which group; one of the two ids is none."""

    group: str
    blank_id: int | None
    component_id: int | None
    needed: int


class InHand(NamedTuple):
    """A part as somebody holds it or as a rod takes it: its group, its id within that, its name."""

    group: str
    item_id: int
    name: str


def is_by_hand(rod_kind: str, group: str) -> bool:
    """Whether parts of a group are named by hand, and so stay when the make-up changes."""
    return rod_kind == REPAIR or group == THREAD


def needs_of(rod_kind: str, blank_id: int | None, make_up: MakeUp | None) -> list[Need]:
    """What a build's own blank and its newest make-up ask for; nothing for a repair."""
    if rod_kind == REPAIR:
        return []
    counts: Counter[tuple[str, int]] = Counter()
    if make_up is not None:
        for part in make_up.parts:
            if part.component_id is not None and part.kind != THREAD:
                counts[part.kind, part.component_id] += 1
        for guide in make_up.guides:
            if guide.component_id is not None:
                counts[TIP_TOP if guide.is_tip_top else GUIDE, guide.component_id] += 1
    blank = [] if blank_id is None else [Need(BLANK, blank_id, None, 1)]
    return blank + [Need(group, None, part_id, count) for (group, part_id), count in counts.items()]


def missing(needed: int, set_aside: int, used: int) -> int:
    """How many a build still waits for."""
    return max(0, needed - set_aside - used)


def too_many(needed: int, set_aside: int, used: int) -> int:
    """How many are set aside for a build that it does not take any more."""
    return max(0, min(set_aside, set_aside + used - needed))


def says_parts(parts: Iterable[tuple[int, str]]) -> str:
    """Counts and names as a sentence has them: `4 × Ring guide 8 mm, 1 × Casting seat`."""
    return ", ".join(f"{count} × {name}" for count, name in parts)


def fault_of_scan(in_hand: InHand, takes: Iterable[InHand]) -> str:
    """Why the part in hand is not one that this rod takes, naming both; empty when it is."""
    kind = in_hand.group
    alike = [part for part in takes if part.group == kind]
    if any(part.item_id == in_hand.item_id for part in alike):
        return ""
    if not alike:
        article = "an" if kind[0] in "aeiou" else "a"
        return f"Put it back: in hand is “{in_hand.name}”, {article} {kind}, and this rod takes no {kind}."
    names = " or ".join(dict.fromkeys(_told_from(part, in_hand) for part in alike))
    return f"Put it back: in hand is “{in_hand.name}”, and the {kind} of this rod is {names}."


def _told_from(part: InHand, in_hand: InHand) -> str:
    """The name of a part, with what tells it from another of the same name."""
    return f"“{part.name}”" + (f", number {part.item_id} on file" if part.name == in_hand.name else "")
