"""Ready-made sequences for each kind of rod, which a shop may change as it likes.

Orders, minutes and checks are common practice, no source. The words for customers are our own.
"""

from dataclasses import replace
from itertools import pairwise

from shop.rules.intakes import CONDITIONS_SIGNED
from shop.rules.orientation import ORIENTATION_CHECK
from shop.rules.sequences import Hold, HoldKind, Record, RecordKind, Sequence, Stage

HANDLE = ("rear grip", "reel seat", "fore grip")


def _cures(*places: str) -> tuple[Record, ...]:
    return tuple(Record(RecordKind.CURE, place) for place in places)


def _figures(*names: str) -> tuple[Record, ...]:
    return tuple(Record(RecordKind.MEASUREMENT, name) for name in names)


def _photo(name: str) -> tuple[Record, ...]:
    return (Record(RecordKind.PHOTO, name),)


def _ticks(*names: str) -> tuple[Record, ...]:
    return tuple(Record(RecordKind.CHECK, name) for name in names)


def _check(name: str) -> Hold:
    return Hold(HoldKind.CHECK, check=name)


def _set(*places: str) -> Hold:
    return Hold(HoldKind.SET, places=places)


def _hard(*places: str) -> Hold:
    return Hold(HoldKind.FULL_CURE, places=places)


def _in_time(*places: str) -> Hold:
    return Hold(HoldKind.POT_LIFE, places=places)


def _recoat(place: str) -> Hold:
    return Hold(HoldKind.RECOAT, place=place)


def _chained(name: str, rod_kind: str, stages: tuple[Stage, ...]) -> Sequence:
    """A sequence in which every stage waits for the one before it."""
    chained = [stages[0]]
    for before, stage in pairwise(stages):
        order = Hold(HoldKind.ORDER, stages=(before.name,))
        chained.append(replace(stage, holds=(order, *stage.holds)))
    return Sequence(name, rod_kind, tuple(chained))


YES = Hold(HoldKind.APPROVAL)
DEPOSIT = Hold(HoldKind.DEPOSIT)
BALANCE = Hold(HoldKind.BALANCE)
# All the parts of the rod at a stage that names none, those that it uses at another.
ITS_PARTS = Hold(HoldKind.PARTS)
SLID_ON = Hold(HoldKind.SLIDE_ON)

AGREED = Stage("order agreed", "Your order is agreed.", 40, holds=(YES,))
PARTS = Stage(
    "parts in hand", "All the parts for your rod are here.", 20, holds=(DEPOSIT, ITS_PARTS)
)  # fmt: skip
BLANK = Stage(
    "blank checked", "", 12, records=_figures("blank length", "blank mass"), figures=("blank",),
    uses=("blank",),
)  # fmt: skip
SPINE = Stage(
    "spine marked", "Your blank is chosen and its spine is marked.", 8, records=_photo("spine mark"),
    figures=("spine",),
)  # fmt: skip
GRIPS = Stage(
    "grips fitted", "The handle is mocked up; tell us today if its length is wrong.", 70, holds=(ITS_PARTS,),
    records=(*_figures("rear grip length", "fore grip length"), *_photo("dry fit")),
    figures=("handle", "grips", "seat", "sliding"), uses=("grip", "arbor"),
)  # fmt: skip
REAR = Stage(
    "rear grip glued", "", 10, holds=(_in_time("rear grip"),), records=_cures("rear grip"),
    draws=("rear grip",), figures=("glue", "sliding"),
)  # fmt: skip
SEAT = Stage(
    "reel seat and fore grip glued", "", 22,
    holds=(_set("rear grip"), ITS_PARTS, _check(ORIENTATION_CHECK), _in_time("reel seat", "fore grip")),
    records=_cures("reel seat", "fore grip"), draws=("reel seat", "fore grip", "tip-top"),
    figures=("spine", "seat", "glue", "sliding"), uses=("reel seat", "winding check", "trim ring"),
)  # fmt: skip
HANDLE_CURED = Stage("handle cured", "The handle is on.", 0, holds=(_hard(*HANDLE),))
LAID_OUT = Stage(
    "guides laid out", "The guides are set under load.", 60, holds=(SLID_ON, ITS_PARTS),
    records=_photo("static test"), draws=("guides",), figures=("spine", "guides", "static test"),
    uses=("guide", "tip-top"),
)  # fmt: skip
WRAPPED = Stage(
    "wrapped", "The wraps are done.", 120, holds=(ITS_PARTS,),
    records=_ticks("wraps in line"), draws=("wraps",), figures=("guides", "wraps"),
    uses=("thread", "keeper", "ferrule"),
)  # fmt: skip
COAT_1 = Stage(
    "first finish coat", "The first coat of finish is on and hardening.", 28,
    holds=(_in_time("guide wraps"),), records=_cures("guide wraps"), draws=("gloss",), figures=("finish",),
    uses=("inscription",),
)  # fmt: skip
COAT_2 = Stage(
    "second finish coat",
    "The last coat of finish is on and hardening.",
    28,
    holds=(_recoat("guide wraps"),),
    records=_cures("guide wraps"),
    figures=("finish",),
)
HARD = Stage("finish cured", "", 0, holds=(_hard("guide wraps"),))
CAP = Stage(
    "butt cap fitted", "", 5, holds=(ITS_PARTS,), records=_cures("butt cap"), draws=("butt cap",),
    figures=("handle", "glue"), uses=("butt cap", "gimbal"),
)  # fmt: skip
INSPECTED = Stage(
    "inspected", "Your rod is ready.", 25,
    records=(*_ticks("list of twenty points"), *_figures("finished mass", "balance point")),
    figures=("balance",),
)  # fmt: skip
HANDED_OVER = Stage("handed over", "Handed over. Enjoy it.", 20, holds=(BALANCE,))


def _default(name: str, rod_kind: str) -> Sequence:
    stages = (
        AGREED, PARTS, BLANK, SPINE, GRIPS, REAR, SEAT, HANDLE_CURED, LAID_OUT, WRAPPED,
        COAT_1, COAT_2, HARD, CAP, INSPECTED, HANDED_OVER,
    )  # fmt: skip
    return _chained(name, rod_kind, stages)


def _fly() -> Sequence:
    """The seat is at the butt end and the grip's recess takes its hood; every section has its own spine."""
    fitted = replace(SPINE, name="spine marked on every section")
    sections = Stage("sections fitted", "", 10, holds=(_check("sections seat without rock"),))
    grip = Stage(
        "grip glued", "", 12, holds=(_in_time("fore grip"),), records=_cures("fore grip"),
        draws=("fore grip",), figures=("glue", "sliding"),
    )  # fmt: skip
    seat = Stage(
        "reel seat glued", "", 12,
        holds=(_set("fore grip"), _check(ORIENTATION_CHECK), _in_time("reel seat")),
        records=_cures("reel seat"), draws=("reel seat", "tip-top"), figures=("spine", "seat", "glue"),
        uses=("reel seat", "winding check", "trim ring"),
    )  # fmt: skip
    cured = replace(HANDLE_CURED, holds=(_hard("fore grip", "reel seat"),))
    fit = replace(
        GRIPS, name="grip and seat fitted", records=(*_figures("fore grip length"), *_photo("dry fit"))
    )  # fmt: skip
    ferrules = replace(WRAPPED, name="ferrules and guides wrapped", attended_minutes=180)
    align = Stage("alignment dots and ferrules checked", "", 10, holds=(_check("sections still seat"),))
    stages = (
        AGREED, PARTS, BLANK, sections, fitted, fit, grip, seat,
        cured, LAID_OUT, ferrules, align, COAT_1, COAT_2, HARD, replace(CAP, name="fighting butt fitted"),
        INSPECTED, HANDED_OVER,
    )  # fmt: skip
    return _chained("Fly rod", "fly", stages)


def _surf() -> Sequence:
    """A long handle: the seat stands on an arbor, and the guides are wrapped in thicker thread."""
    arbor = Stage(
        "arbor glued", "", 15, holds=(_set("rear grip"), _in_time("reel seat arbor")),
        records=_cures("reel seat arbor"), figures=("seat", "glue"),
    )  # fmt: skip
    on_arbor = replace(SEAT, holds=(_set("reel seat arbor"), *SEAT.holds))
    cured = replace(HANDLE_CURED, holds=(_hard(*HANDLE, "reel seat arbor"),))
    stages = (
        AGREED, PARTS, BLANK, SPINE, GRIPS, REAR, arbor, on_arbor, cured, LAID_OUT, WRAPPED, COAT_1,
        COAT_2, HARD, CAP, INSPECTED, HANDED_OVER,
    )  # fmt: skip
    return _chained("Surf rod", "surf", stages)


def _boat() -> Sequence:
    """Roller guides on an underwrap, which is coated and hard before a guide is put on it."""
    under = Stage("underwrapped", "", 90, draws=("wraps",), figures=("guides", "wraps"))
    coat = Stage(
        "underwrap coated", "The wraps under the guides are coated and hardening.", 25,
        holds=(_in_time("underwrap"),), records=_cures("underwrap"),
        draws=("gloss",), figures=("finish",),
    )  # fmt: skip
    hard = Stage("underwrap cured", "", 0, holds=(_hard("underwrap"),))
    over = replace(WRAPPED, name="rollers wrapped", holds=(ITS_PARTS, _check("underwrap scuffed and wiped")))
    oiled = Stage("rollers oiled", "", 10, holds=(_check("every roller turns free"),))
    gimbal = replace(
        CAP, name="gimbal fitted", holds=(ITS_PARTS, _check("gimbal in line with the guides")),
        figures=("spine", "handle", "glue"),
    )  # fmt: skip
    stages = (
        AGREED, PARTS, BLANK, SPINE, GRIPS, REAR, SEAT, HANDLE_CURED, under, coat, hard, LAID_OUT,
        over, COAT_1, COAT_2, HARD, oiled, gimbal, INSPECTED, HANDED_OVER,
    )  # fmt: skip
    return _chained("Boat rod with roller guides", "boat", stages)


# What came in is written down before anything is touched.
TAKEN_IN = (
    Stage(
        "taken in", "Your rod is here, and we have written down how it came.", 15,
        records=_photo("both sides as it came"), holds=(_check(CONDITIONS_SIGNED),),
        draws=("rear grip", "reel seat", "fore grip", "guides", "tip-top", "butt cap"),
    ),
    Stage("looked at", "We have looked at it.", 10),
    Stage("repair agreed", "The repair is agreed.", 10, holds=(YES,)),
    Stage("parts in hand", "The parts are here.", 10, holds=(ITS_PARTS,)),
    Stage("stripped", "", 30, holds=(_check("blank examined for cracks"),)),
)  # fmt: skip
COATED = (replace(COAT_1, attended_minutes=12), replace(COAT_2, attended_minutes=12), HARD)
GIVEN_BACK = (
    replace(INSPECTED, attended_minutes=12, records=_ticks("list of twenty points")),
    replace(HANDED_OVER, attended_minutes=10),
)


def _repair() -> Sequence:
    """Strip, wrap, coat, inspect."""
    wrapped = Stage(
        "wrapped again", "It is wrapped again.", 40, draws=("wraps",), figures=("guides", "wraps"),
        uses=("guide", "thread"),
    )  # fmt: skip
    stages = (*TAKEN_IN, wrapped, *COATED, *GIVEN_BACK)
    return _chained("Repair: guides wrapped again", "repair", stages)


def _joint_again() -> Sequence:
    """A seat or a grip that came loose: stripped, glued anew, and hard before anybody pulls at it."""
    glued = Stage(
        "joint glued", "It is glued again and hardening.", 30, holds=(_in_time("reel seat"),),
        records=_cures("reel seat"), draws=("reel seat",),
        uses=("reel seat", "grip", "arbor", "winding check", "trim ring"),
    )  # fmt: skip
    cured = Stage("joint cured", "The glue is hard.", 0, holds=(_hard("reel seat"),))
    return _chained("Repair: joint glued again", "repair", (*TAKEN_IN, glued, cured, *GIVEN_BACK))


def _finish_again() -> Sequence:
    """The wraps stand; their old finish is scuffed and coated over."""
    scuffed = Stage("wraps scuffed and wiped", "", 20, holds=(_check("no thread lies bare"),))
    return _chained("Repair: new finish on the wraps", "repair", (*TAKEN_IN, scuffed, *COATED, *GIVEN_BACK))


def _tip_top() -> Sequence:
    """A tip-top glued on and turned into line while it is soft; a wrap beside it is another repair."""
    glued = Stage(
        "tip-top glued", "The new tip-top is on.", 10,
        holds=(_in_time("tip-top"), _check("in line with the guides")), records=_cures("tip-top"),
        draws=("tip-top",), uses=("tip-top",),
    )  # fmt: skip
    held = Stage("tip-top set", "", 0, holds=(_hard("tip-top"),))
    return _chained("Repair: new tip-top", "repair", (*TAKEN_IN, glued, held, *GIVEN_BACK))


READY_MADE = (
    _default("Casting rod", "casting"),
    _default("Spinning rod", "spinning"),
    _fly(),
    _surf(),
    _boat(),
    # The first of its kind is what a repair follows where nobody says another.
    _repair(),
    _joint_again(),
    _finish_again(),
    _tip_top(),
)
