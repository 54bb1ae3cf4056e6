"""What goes on a rod and where, measured from the butt: the make-up from which every bench figure follows.

Frozen values that carry a copy of what is said of the blank, the parts and the adhesives, so that a revision
stays true whatever changes on the shelf. What may not be is in `make_up_faults`; the figures that follow are
in `bench_figures`. Lengths are whole nanometres, masses and loads whole milligrams.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from shop.craft.lengths import NM_PER_INCH

GRIP, SEAT, ARBOR, CAP = "grip", "reel seat", "arbor", "butt cap"
GUIDE, TIP_TOP = "guide", "tip-top"
# What is never a part of the handle; guides and tip-top have rows of their own.
NOT_ON_THE_HANDLE = frozenset({GUIDE, TIP_TOP, "thread"})
# Parts that go on over the butt, and those that slide on from the tip.
FROM_BUTT_END = frozenset({"butt cap", "gimbal"})
FROM_THE_TIP = frozenset({"grip", "reel seat", "arbor", "winding check", "trim ring"})


def _inch(numerator: int, denominator: int = 1) -> int:
    return NM_PER_INCH * numerator // denominator


@dataclass(frozen=True, slots=True)
class Bare:
    """The blank as it was on file: `stations` and `joints` are pairs from butt to tip.

    A station is a distance from the butt and an outside diameter, a joint a distance and an insertion.
    """

    name: str
    length_nm: int
    pieces: int = 1
    mass_mg: int | None = None
    stations: tuple[tuple[int, int], ...] = ()
    joints: tuple[tuple[int, int], ...] = ()
    wall_butt_nm: int | None = None
    wall_tip_nm: int | None = None
    test_load_mg: int | None = None
    test_sag_nm: int | None = None
    most_load_mg: int | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the handle: its place (`rear grip`), its kind, and where it begins and ends from the butt.

    `sizes` are the dimensions of the component by name (see `shop.rules.components`).
    """

    place: str
    kind: str
    name: str
    from_butt_nm: int
    to_butt_nm: int
    component_id: int | None = None
    sizes: Mapping[str, int] = field(default_factory=dict)
    mass_mg: int | None = None
    material: str = ""

    @property
    def visible_nm(self) -> int:
        """The length that is seen on the rod."""
        return self.to_butt_nm - self.from_butt_nm


@dataclass(frozen=True, slots=True)
class GuideSpot:
    """A guide, or the tip-top at 0, by the distance of its ring from the tip."""

    from_tip_nm: int
    name: str
    component_id: int | None = None
    sizes: Mapping[str, int] = field(default_factory=dict)
    feet: int = 1
    mass_mg: int | None = None

    @property
    def is_tip_top(self) -> bool:
        """Whether it is the ring at the tip itself, which is neither counted nor wrapped as a guide is."""
        return self.from_tip_nm == 0


@dataclass(frozen=True, slots=True)
class Sheet:
    """What the sums need of an adhesive: its parts by volume, its densities in g/mL, its pot life."""

    adhesive_id: int
    name: str
    parts_a: float
    parts_b: float
    density_a: float | None
    density_b: float | None
    pot_life_minutes: float


@dataclass(frozen=True, slots=True)
class Ways:
    """The shop's own measures for this rod. The figures to begin with are common practice, no source."""

    clearance_nm: int = _inch(3, 1000)
    facing_nm: int = _inch(1, 32)
    hood_gap_nm: int = _inch(5, 1000)
    recess_relief_nm: int = _inch(1, 32)
    ream_limit_nm: int = _inch(1, 8)
    tape_nm: int = _inch(55, 10_000)
    allowance_percent: float = 30.0
    thread_nm: int = _inch(6, 1000)
    wrap_nm: int = _inch(3, 4)
    minutes_a_wrap: float = 1.2
    light_load_mg: int = 50_000
    middle_load_mg: int = 150_000
    heavy_load_mg: int = 300_000
    reel_mg: int | None = None
    reel_from_butt_nm: int | None = None


@dataclass(frozen=True, slots=True)
class MakeUp:
    """One revision of what goes on a rod; `bond` and `finish` are none where none was chosen."""

    revision: int
    rod_kind: str
    blank: Bare | None = None
    parts: tuple[Part, ...] = ()
    guides: tuple[GuideSpot, ...] = ()
    bond: Sheet | None = None
    finish: Sheet | None = None
    ways: Ways = field(default_factory=Ways)

    @property
    def train(self) -> tuple[GuideSpot, ...]:
        """The guides without the tip-top, from tip to butt; guide 1 is the one next to the tip."""
        return tuple(guide for guide in self.guides if not guide.is_tip_top)

    @property
    def tip_top(self) -> GuideSpot | None:
        """The tip-top, where one is chosen."""
        return next((guide for guide in self.guides if guide.is_tip_top), None)

    def part_at(self, place: str) -> Part | None:
        """The part at a place, or none."""
        return next((part for part in self.parts if part.place == place), None)

    def under(self, part: Part, kind: str) -> Part | None:
        """The part of a kind that lies where another does, as an arbor under its seat; or none."""
        lying = (other for other in self.parts if other.kind == kind)
        shared = (
            other
            for other in lying
            if other.from_butt_nm < part.to_butt_nm and part.from_butt_nm < other.to_butt_nm
        )
        return next(shared, None)

    def from_butt(self, guide: GuideSpot) -> int | None:
        """Where a guide's ring is from the butt, in nanometres; none without a blank."""
        return None if self.blank is None else self.blank.length_nm - guide.from_tip_nm


def document_of(make_up: MakeUp) -> dict[str, Any]:
    """A make-up as it is kept: maps, lists, numbers and words."""
    return asdict(make_up)


def make_up_from(document: Mapping[str, Any]) -> MakeUp:
    """A make-up from what was kept of it; the reverse of `document_of`."""
    blank, bond, finish = document["blank"], document["bond"], document["finish"]
    return MakeUp(
        revision=document["revision"],
        rod_kind=document["rod_kind"],
        blank=None if blank is None else Bare(**{**blank, **_pairs(blank, "stations", "joints")}),
        parts=tuple(Part(**part) for part in document["parts"]),
        guides=tuple(GuideSpot(**guide) for guide in document["guides"]),
        bond=None if bond is None else Sheet(**bond),
        finish=None if finish is None else Sheet(**finish),
        ways=Ways(**document["ways"]),
    )


def _pairs(kept: Mapping[str, Any], *names: str) -> dict[str, tuple[tuple[int, int], ...]]:
    return {name: tuple((first, second) for first, second in kept[name]) for name in names}
