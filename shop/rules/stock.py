"""Stock: what each kind of move does to a count, and which moves cannot be.

Pure: a count is how many lie on the shelf and how many of those are set aside for some build. Moves are
written down by `shop.services.stocks`; what a build takes is in `shop.rules.build_parts`.

Thread is counted in shares: how many rods a spool does is for the shop to say when the spool comes, and a rod
takes one share of each thread on it. (Common practice, no source.) So a count stays whole, and a part of a
spool is never left over in the books. Adhesives are counted by bottle or kit, as lots are.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

MOST_COUNT = 100_000
MOST_LEAD_DAYS = 3650
MOST_UNIT_CENTS = 10_000_000
MOST_CODE = MOST_BIN = MOST_SUPPLIER_CODE = 60
MOST_UNIT = 20
MOST_REASON = 500
SHARE, PIECE, BOTTLE = "share", "piece", "bottle"


class MoveKind(StrEnum):
    """What a move of stock tells of."""

    RECEIVED = "received"
    SET_ASIDE = "set_aside"
    PUT_BACK = "put_back"
    USED = "used"
    CAME_OFF = "came_off"
    USED_UP = "used_up"
    COUNTED = "counted"
    RETURNED = "returned"


MOVE_WORDS = {
    MoveKind.RECEIVED: "received",
    MoveKind.SET_ASIDE: "set aside",
    MoveKind.PUT_BACK: "put back",
    MoveKind.USED: "used",
    MoveKind.CAME_OFF: "came off whole",
    MoveKind.USED_UP: "used up",
    MoveKind.COUNTED: "counted",
    MoveKind.RETURNED: "returned to supplier",
}
# The sign of a move's count. A stock-take finds more or fewer, so its count comes with a sign.
SIGNS = {
    MoveKind.RECEIVED: 1, MoveKind.SET_ASIDE: 1, MoveKind.PUT_BACK: -1, MoveKind.USED: -1,
    MoveKind.CAME_OFF: 1, MoveKind.USED_UP: -1, MoveKind.COUNTED: 1, MoveKind.RETURNED: -1,
}  # fmt: skip
# Which of the two figures a move changes; what is used was set aside before.
_ON_SHELF = frozenset(MoveKind) - {MoveKind.SET_ASIDE, MoveKind.PUT_BACK}
_SET_ASIDE = frozenset({MoveKind.SET_ASIDE, MoveKind.PUT_BACK, MoveKind.USED})


@dataclass(frozen=True, slots=True)
class Level:
    """How many lie on the shelf, and how many of those are set aside for some build."""

    on_shelf: int = 0
    set_aside: int = 0

    @property
    def free(self) -> int:
        """How many no build has."""
        return self.on_shelf - self.set_aside


@dataclass(frozen=True, slots=True)
class StockEntry:
    """What is written down of an item that is counted, as a form or the API gives it."""

    code: str
    unit: str = PIECE
    bin: str = ""
    least: int = 0
    lead_days: int | None = None
    supplier_code: str = ""


def counted(kind: MoveKind, count: int) -> int:
    """The count of a move as it is kept: with its sign."""
    return SIGNS[kind] * count


def moved(level: Level, kind: MoveKind, count: int) -> Level:
    """What is there after a move of `count`, which is above nothing but for a stock-take."""
    change = counted(kind, count)
    return Level(
        level.on_shelf + (change if kind in _ON_SHELF else 0),
        level.set_aside + (change if kind in _SET_ASIDE else 0),
    )


def fault_of_count(count: int, least: int = 1) -> str:
    """Why a count cannot be one that anybody means; empty when it can."""
    if least <= count <= MOST_COUNT:
        return ""
    return f"A count is a whole number from {least} to {MOST_COUNT:,}."


def refusal_of_move(level: Level, kind: MoveKind, count: int, name: str) -> str:
    """Why a move cannot be made of what is there, as a sentence that names the item; empty when it can.

    `count` is above nothing, but for a stock-take, where it is how many more (or fewer) were found.
    """
    after = moved(level, kind, count)
    if after.set_aside < 0:
        return f"Only {level.set_aside} × {name} {_are(level.set_aside)} set aside; {count} cannot be taken."
    if kind is MoveKind.SET_ASIDE and after.free < 0:
        if not level.free:
            return f"No {name} is free: {_none_left(level)}."
        return f"Only {level.free} × {name} {_are(level.free)} free; {count} cannot be set aside."
    if after.on_shelf < 0:
        return f"Only {level.on_shelf} × {name} {_lie(level.on_shelf)} on the shelf."
    if after.free < 0:
        return (
            f"{level.set_aside} × {name} {_are(level.set_aside)} set aside for rods, and only "
            f"{after.on_shelf} would be left; put some of those back first."
        )
    if after.on_shelf > MOST_COUNT:
        return f"More than {MOST_COUNT:,} × {name} cannot be counted."
    return ""


def _none_left(level: Level) -> str:
    if not level.on_shelf:
        return "none lies on the shelf"
    if level.on_shelf == 1:
        return "the one on the shelf is set aside for another rod"
    return f"all {level.on_shelf} on the shelf are set aside for other rods"


def _are(count: int) -> str:
    return "is" if count == 1 else "are"


def _lie(count: int) -> str:
    return "lies" if count == 1 else "lie"


def faults_of_entry(entry: StockEntry) -> dict[str, str]:
    """Everything that keeps what is written down of a counted item from being right, by field."""
    faults = {}
    for name, value, most in (
        ("unit", entry.unit, MOST_UNIT), ("bin", entry.bin, MOST_BIN),
        ("supplier_code", entry.supplier_code, MOST_SUPPLIER_CODE), ("code", entry.code, MOST_CODE),
    ):  # fmt: skip
        if len(value) > most or not value.isprintable():
            faults[name] = f"This has at most {most} characters, all of them ones that can be printed."
    if not entry.code.strip():
        faults["code"] = "It needs a code: what a scan of its bin or of the part reads."
    if not entry.unit.strip():
        faults["unit"] = "Say what is counted: piece, share, bottle."
    if fault := fault_of_count(entry.least, least=0):
        faults["least"] = fault
    if fault := fault_of_lead_days(entry.lead_days):
        faults["lead_days"] = fault
    return faults


def fault_of_lead_days(days: int | None) -> str:
    """Why that is no number of days that an order may take; empty when it can be, or nobody said."""
    if days is None or 0 <= days <= MOST_LEAD_DAYS:
        return ""
    return f"The lead time must lie between 0 and {MOST_LEAD_DAYS:,} days."


def fault_of_unit_cost(cents: int | None) -> str:
    """Why that cannot be what one of it costs; empty when it can, or nobody said."""
    if cents is None or 0 <= cents <= MOST_UNIT_CENTS:
        return ""
    return f"What one costs is a whole number of cents, from 0 to {MOST_UNIT_CENTS:,}."


def usual_unit(kind: str) -> str:
    """What is counted of an item, by the kind of component, `blank` or `adhesive`."""
    return {"thread": SHARE, "adhesive": BOTTLE}.get(kind, PIECE)


def days_left(until: date | None, today: date) -> int | None:
    """How many days are left, that day itself included as 0; below nothing once it is past."""
    return None if until is None else (until - today).days
