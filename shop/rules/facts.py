"""What is known of one build when a decision is asked for.

Frozen values only. Who gathers them from the record is `shop.queries.facts`; what follows from them is
`shop.rules.decide`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from shop.craft.quantities import Quantity
from shop.rules.sequences import HoldKind


@dataclass(frozen=True, slots=True)
class Reached:
    """A stage reached in the present pass: when, and who logged it."""

    at: datetime
    by: str


@dataclass(frozen=True, slots=True)
class CureFact:
    """One cure of the present pass that has not been superseded by a correction.

    The instants are none where the cure is stalled or the sheet is silent; until `turned_at` a coat must
    be kept turning. `tacky` means that its mix (`mix_id`, a root id) is in doubt by its puddle
    (`shop.rules.puddles`). `zone` is where it was mixed and `mixing_c` what that was at then; `lies_in` is
    the zone that the cure lies in now, after every move. `lot_fault` says what was wrong with the lots it
    was mixed from, empty where nothing was, nobody named them, or an owner released the rule for that cup.
    `sheet_mark` says what the figures of its mix lacked when that was made, empty where they were a sheet's.
    """

    id: int
    place: str
    adhesive: str
    closed_at: datetime
    set_at: datetime | None
    full_at: datetime | None
    recoat_from: datetime | None
    recoat_until: datetime | None
    has_recoat_window: bool
    pot_life_ends_at: datetime
    tacky: bool = False
    failed: bool = False
    zone: str = ""
    mixing_c: float = 20.0
    coldest_c: float = 13.0
    lot_fault: str = ""
    mix_id: int = 0
    turned_at: datetime | None = None
    lies_in: str = ""
    sheet_mark: str = ""


@dataclass(frozen=True, slots=True)
class Tick:
    """A check that was ticked, and by whom; `stage` is empty while it is being said."""

    name: str
    by: str
    stage: str = ""


@dataclass(frozen=True, slots=True)
class Suspect:
    """A mix used on this build that is under suspicion; `recheck_at` where an owner said to wait."""

    mix_id: int
    adhesive: str
    reason: str
    recheck_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class ZoneFact:
    """What a zone is at now, and the coldest it may be for mixing there."""

    name: str
    celsius: float
    coldest_c: float


@dataclass(frozen=True, slots=True)
class Recheck:
    """A check ticked at `stage` that relied on the joint at `place`, which has failed or was done anew.

    `since` is when that was, where it is known.
    """

    name: str
    stage: str
    place: str
    since: datetime | None = None

    def is_cleared_by(self, ticked_at: datetime) -> bool:
        """Whether a tick at an instant can be one of the new joint."""
        return self.since is None or ticked_at >= self.since


@dataclass(frozen=True, slots=True)
class TurnerFact:
    """The places of every turner together: how many, how many are free, and when the next may be free."""

    places: int
    free: int
    free_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Meant:
    """What a measured figure is meant to be, and by how much it may differ, both of one dimension."""

    nominal: Quantity
    tolerance: Quantity


@dataclass(frozen=True, slots=True)
class PartFact:
    """How many of one part a build takes, and how many are set aside for it or used already.

    `group` is the kind of part that a stage names (`shop.rules.sequences.USES`). `on_shelf` is what lies
    there for anybody, none where the shop does not count that part: then nothing is held for it.
    `is_confirmed` says that somebody held it against the rod.
    """

    group: str
    name: str
    needed: int
    set_aside: int = 0
    used: int = 0
    on_shelf: int | None = None
    is_confirmed: bool = False

    @property
    def missing(self) -> int:
        """How many are neither set aside nor used; nothing where the part is not counted."""
        return 0 if self.on_shelf is None else max(0, self.needed - self.set_aside - self.used)


@dataclass(frozen=True, slots=True)
class MoneyFact:
    """What was agreed to be paid for a build, and what has been paid, in whole cents of `currency`.

    `total_cents` and `deposit_cents` are those of the newest quote with a yes, none before there is one.
    """

    currency: str
    total_cents: int | None
    deposit_cents: int | None
    paid_cents: int = 0


@dataclass(frozen=True, slots=True)
class ApprovalFact:
    """The newest revision of a build's spec, and the ones that the newest quote and the newest yes are for.

    Revision 0 is a build without a spec. None for a quote or a yes that has never been.
    """

    revision: int = 0
    quoted: int | None = None
    agreed: int | None = None


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything that a decision about one build rests on, for its present pass.

    `who` is the name of the person who is logging, or none when nobody is yet. `releases` holds pairs of
    a stage's name and a kind of hold that an owner has released for it. `meant` holds what the make-up of
    the build means its figures to be, by name. `turner` is none where the shop has none on file.
    `inspections` says of each coat that stood still on a turner, and that nobody has inspected since, when
    and where that was. `redone` holds the places where a joint failed, to be glued anew or glued so.
    `parts` are those of the newest make-up. `money` and `approval` are none for a build that was taken on
    without a spec and without a quote: nobody was asked anything.
    """

    reached: Mapping[str, Reached] = field(default_factory=dict)
    cures: tuple[CureFact, ...] = ()
    ticks: tuple[Tick, ...] = ()
    measured: Mapping[str, Quantity] = field(default_factory=dict)
    meant: Mapping[str, Meant] = field(default_factory=dict)
    releases: frozenset[tuple[str, HoldKind]] = frozenset()
    suspects: tuple[Suspect, ...] = ()
    clock_doubt: str = ""
    mixing_zone: ZoneFact | None = None
    rechecks: tuple[Recheck, ...] = ()
    turner: TurnerFact | None = None
    is_on_turner: bool = False
    inspections: tuple[str, ...] = ()
    redone: frozenset[str] = frozenset()
    parts: tuple[PartFact, ...] = ()
    money: MoneyFact | None = None
    approval: ApprovalFact | None = None
    who: str | None = None
