"""What a sequence is: stages in order, each with its holds and with what is recorded on reaching it.

Pure values and the checks that a sequence makes sense. Whether a build may reach a stage is decided in
`shop.rules.decide`; the ready-made sequences are in `shop.rules.ready_made`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from shop.craft.quantities import Dimension, Quantity

PLACES = ("rear grip", "reel seat", "fore grip", "guide wraps", "butt cap", "tip-top")
DRAWABLE = (
    "rear grip", "reel seat", "fore grip", "guides", "wraps", "gloss", "butt cap", "tip-top",
)  # fmt: skip
# What the bench ticket can say of a rod, by topic.
FIGURES = (
    "blank", "spine", "handle", "grips", "seat", "sliding", "glue", "guides", "static test", "wraps",
    "finish", "balance",
)  # fmt: skip
# What a stage may use up of what lies ready for a rod: by the kind of component, and the blank itself.
USES = (
    "blank", "grip", "reel seat", "arbor", "winding check", "trim ring", "butt cap", "gimbal", "guide",
    "tip-top", "ferrule", "keeper", "thread", "other", "inscription",
)  # fmt: skip
ROD_KINDS = ("casting", "spinning", "fly", "surf", "boat", "repair")
PREP_CHECK = "prep"
MOST_STAGES = 60
MOST_NAME = 80
MOST_WORDS = 200


class HoldKind(StrEnum):
    """The kinds of hold that a sequence may name or that stand of themselves."""

    ORDER = "order"
    SET = "set"
    FULL_CURE = "full_cure"
    RECOAT = "recoat"
    POT_LIFE = "pot_life"
    SUSPECT = "suspect"
    CHECK = "check"
    MEASUREMENT = "measurement"
    LOT = "lot"
    TURNER = "turner"
    WARM = "warm"
    CLOCK = "clock"
    PARTS = "parts"
    SLIDE_ON = "slide_on"
    DEPOSIT = "deposit"
    BALANCE = "balance"
    APPROVAL = "approval"


# House rules; everything else is chemistry, geometry or the clock, which nobody can wave through.
HOUSE_RULES = frozenset(
    {
        HoldKind.ORDER, HoldKind.CHECK, HoldKind.MEASUREMENT, HoldKind.LOT, HoldKind.TURNER, HoldKind.WARM,
        HoldKind.PARTS, HoldKind.DEPOSIT, HoldKind.BALANCE, HoldKind.APPROVAL,
    }
)  # fmt: skip

# What each kind needs beside its name; `suspect` and `clock` stand without being listed.
NEEDS: dict[HoldKind, tuple[str, ...]] = {
    HoldKind.ORDER: ("stages",),
    HoldKind.SET: ("places",),
    HoldKind.FULL_CURE: ("places",),
    HoldKind.RECOAT: ("place",),
    HoldKind.POT_LIFE: ("places",),
    HoldKind.SUSPECT: (),
    HoldKind.CHECK: ("check",),
    HoldKind.MEASUREMENT: ("name",),
    HoldKind.LOT: (),
    HoldKind.TURNER: (),
    HoldKind.WARM: (),
    HoldKind.CLOCK: (),
    HoldKind.PARTS: (),
    HoldKind.SLIDE_ON: (),
    HoldKind.DEPOSIT: (),
    HoldKind.BALANCE: (),
    HoldKind.APPROVAL: (),
}
# What a kind may say besides. A measurement without a figure of its own goes by the make-up of the build.
TAKES: dict[HoldKind, tuple[str, ...]] = {
    HoldKind.CHECK: ("second_person",),
    HoldKind.MEASUREMENT: ("nominal", "tolerance"),
}


class RecordKind(StrEnum):
    """What may be recorded on reaching a stage."""

    MEASUREMENT = "measurement"
    CHECK = "check"
    PHOTO = "photo"
    CURE = "cure"


@dataclass(frozen=True, slots=True)
class Hold:
    """A hold on a stage; only the fields that its kind needs or takes are filled (see `NEEDS`, `TAKES`)."""

    kind: HoldKind
    stages: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    place: str = ""
    check: str = ""
    second_person: bool = False
    name: str = ""
    nominal: Quantity | None = None
    tolerance: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Record:
    """Something to record on reaching a stage; the name of a `cure` is its place."""

    kind: RecordKind
    name: str


@dataclass(frozen=True, slots=True)
class Stage:
    """A named point a build can reach.

    `draws` says what the rod's drawing gains, `figures` which of the rod's figures are shown. `uses`
    says what of the rod's parts it uses up; from when it can begin, a wish about those comes too late.
    `tells_customer` is whether reaching it is told by mail.
    """

    name: str
    customer_words: str = ""
    attended_minutes: int = 0
    holds: tuple[Hold, ...] = ()
    records: tuple[Record, ...] = ()
    draws: tuple[str, ...] = ()
    figures: tuple[str, ...] = ()
    uses: tuple[str, ...] = ()
    tells_customer: bool = False
    # Asked for every stage in every decision about a coat, so it is worked out once.
    _places: tuple[str, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        places = tuple(record.name for record in self.records if record.kind is RecordKind.CURE)
        object.__setattr__(self, "_places", places)

    def cure_places(self) -> tuple[str, ...]:
        """The places where a joint is closed or a coat laid on reaching this stage."""
        return self._places


@dataclass(frozen=True, slots=True)
class Sequence:
    """The shop's own ordered list of stages for a kind of rod."""

    name: str
    rod_kind: str
    stages: tuple[Stage, ...]

    def stage(self, name: str) -> Stage | None:
        """The stage of that name, or none."""
        return next((stage for stage in self.stages if stage.name == name), None)


def needs_of(hold: Hold) -> dict[str, Any]:
    """What a hold needs, as it is kept: lists for names, maps of dimension and amount for figures."""
    said = {
        "stages": list(hold.stages),
        "places": list(hold.places),
        "place": hold.place,
        "check": hold.check,
        "second_person": hold.second_person,
        "name": hold.name,
        "nominal": _kept(hold.nominal),
        "tolerance": _kept(hold.tolerance),
    }
    return {name: value for name, value in said.items() if value}


def hold_from(kind: str, needs: Mapping[str, Any]) -> Hold:
    """A hold from what was kept of it; the reverse of `needs_of`."""
    return Hold(
        HoldKind(kind),
        stages=tuple(needs.get("stages", ())),
        places=tuple(needs.get("places", ())),
        place=needs.get("place", ""),
        check=needs.get("check", ""),
        second_person=needs.get("second_person", False),
        name=needs.get("name", ""),
        nominal=_figure(needs.get("nominal")),
        tolerance=_figure(needs.get("tolerance")),
    )


def _kept(quantity: Quantity | None) -> dict[str, Any] | None:
    return None if quantity is None else {"dimension": quantity.dimension.value, "amount": quantity.amount}


def _figure(kept: Mapping[str, Any] | None) -> Quantity | None:
    return None if kept is None else Quantity(Dimension(kept["dimension"]), kept["amount"])


def faults_of_name(sequence: Sequence) -> dict[str, str]:
    """What is wrong with the name and the kind of rod of a sequence, by field."""
    faults = {}
    if not sequence.name.strip():
        faults["name"] = "The sequence needs a name."
    elif len(sequence.name) > MOST_NAME:
        faults["name"] = f"The name of the sequence is longer than {MOST_NAME} characters."
    if sequence.rod_kind not in ROD_KINDS:
        kinds = ", ".join(ROD_KINDS)
        faults["rod_kind"] = f"“{sequence.rod_kind}” is not a kind of rod; say one of {kinds}."
    return faults


def faults_of_stages(sequence: Sequence) -> list[str]:
    """What is wrong with the stages of a sequence and with their holds."""
    faults = []
    if not 1 <= len(sequence.stages) <= MOST_STAGES:
        faults.append(f"A sequence has 1 to {MOST_STAGES} stages; this one has {len(sequence.stages)}.")
    names = [stage.name for stage in sequence.stages]
    for position, stage in enumerate(sequence.stages):
        if not stage.name.strip():
            faults.append(f"Stage {position + 1} has no name.")
        if stage.name in names[:position]:
            faults.append(f"Two stages are called “{stage.name}”; each needs a name of its own.")
        faults.extend(_faults_of_stage(stage))
        for hold in stage.holds:
            faults.extend(_faults_of_hold(hold, stage.name, names, position))
    return faults


def _faults_of_stage(stage: Stage) -> list[str]:
    """What keeps one stage, looked at by itself, from making sense."""
    faults = []
    if len(stage.name) > MOST_NAME:
        faults.append(f"The name “{stage.name[:20]}…” is longer than {MOST_NAME} characters.")
    if len(stage.customer_words) > MOST_WORDS:
        faults.append(f"The customer's words on “{stage.name}” are longer than {MOST_WORDS} characters.")
    if stage.attended_minutes < 0:
        faults.append(f"“{stage.name}” cannot take fewer than 0 minutes.")
    for position, record in enumerate(stage.records):
        if not record.name.strip():
            faults.append(f"What “{stage.name}” records as {record.kind} needs a name.")
        if record in stage.records[:position]:
            faults.append(f"“{stage.name}” records the {record.kind} “{record.name}” twice.")
    unknown = [item for item in stage.draws if item not in DRAWABLE]
    if unknown:
        faults.append(
            f"“{stage.name}” draws “{unknown[0]}”, which no drawing has; use {', '.join(DRAWABLE)}."
        )
    unused = [item for item in stage.uses if item not in USES]
    if unused:
        faults.append(f"“{stage.name}” uses “{unused[0]}”, which no rod has; use {', '.join(USES)}.")
    strange = [item for item in stage.figures if item not in FIGURES]
    if strange:
        faults.append(
            f"“{stage.name}” shows “{strange[0]}”, which no bench ticket has; use {', '.join(FIGURES)}."
        )
    return faults


def _faults_of_hold(hold: Hold, stage: str, names: list[str], position: int) -> list[str]:
    where = f"The {hold.kind} hold on “{stage}”"
    faults = [f"{where} needs {need}." for need in NEEDS[hold.kind] if not getattr(hold, need)]
    if not all(name.strip() for name in (*hold.stages, *hold.places)):
        faults.append(f"{where} has an empty name among its stages or places.")
    for other in hold.stages:
        if other not in names:
            faults.append(f"{where} names “{other}”, which is not a stage of this sequence.")
        elif names.index(other) >= position:
            faults.append(f"{where} waits for “{other}”, which does not come before it.")
    if hold.kind is HoldKind.MEASUREMENT and (hold.nominal is None) != (hold.tolerance is None):
        missing = "nominal" if hold.nominal is None else "tolerance"
        faults.append(f"{where} needs {missing} too, or neither of the two.")
    if hold.nominal and hold.tolerance:
        if hold.nominal.dimension is not hold.tolerance.dimension:
            faults.append(f"{where} has a tolerance of another kind of quantity than its figure.")
        elif hold.tolerance.amount < 0:
            faults.append(f"{where} has a tolerance below nothing.")
    return faults


def doubts_of(sequence: Sequence) -> list[str]:
    """What may be meant but would surprise a shop, as sentences: holds on joints that no stage closes.

    Such a hold opens only where somebody logs a joint there unasked, and nobody can release it.
    """
    closed: set[str] = set()
    doubts: list[str] = []
    for stage in sequence.stages:
        for hold in stage.holds:
            if hold.kind not in (HoldKind.SET, HoldKind.FULL_CURE, HoldKind.RECOAT):
                continue
            doubts.extend(
                f"“{stage.name}” waits for the {place}, but no stage before it closes anything there."
                for place in (*hold.places, *((hold.place,) if hold.place else ()))
                if place not in closed
            )
        closed.update(stage.cure_places())
    return doubts
