"""A hand at the demo's bench: walks a rod through its sequence as a person would, waiting where it must.

It logs through the same services as the pages, at past instants, so that a rod of the demo obeys every
rule that a real one does.
"""

import random
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from seed_demo.shelf import Shelf
from shop.db.builds import Build
from shop.queries.bench import BenchRow, build_row
from shop.queries.builds import build_view
from shop.queries.cure_clock import CureClock
from shop.queries.facts import surroundings
from shop.queries.kept_sequences import KeptSequences
from shop.rules.facts import Tick
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.rules.sequences import PREP_CHECK, HoldKind, Stage
from shop.services.bench import Bench
from shop.services.cups import CupSaid
from shop.services.cures import close_cure
from shop.services.events import Logged, advance
from shop.services.mixes import make_mix, touch_puddle

FINISHED_PLACES = ("guide wraps", "underwrap", "ferrule wraps")
FAST_PLACES = ("tip-top", "butt cap")
# Before a stage with one of these, somebody touches the puddles of what was glued.
FELT_BEFORE = (HoldKind.SET, HoldKind.FULL_CURE, HoldKind.RECOAT)
MOST_STEPS = 60
# Of A and of B: every product of the demo is mixed one to one.
CUP_ML = 2.5


@dataclass
class Hand:
    """The bench of the demo at any past instant."""

    session: Session
    shelf: Shelf
    chance: random.Random
    cure_clock: CureClock
    sequences: KeptSequences
    untouched: dict[str, list[int]] = field(default_factory=dict)

    def bench(self, at: datetime, who: str = "Ottar") -> Bench:
        """The bench as it was at an instant, with somebody at it."""
        warmth = self.cure_clock.warmth(self.session)
        actor = Actor(who, ROLE_RIGHTS[Role.OWNER])
        return Bench(at, actor, warmth, surroundings(warmth, "", at.timestamp()), self.sequences)

    def row(self, build: Build, at: datetime) -> BenchRow:
        """A rod and its next stage as they stood at an instant."""
        bench = self.bench(at)
        view = build_view(self.session, build.number)
        return build_row(self.session, view, self.sequences, bench.warmth, bench.around, at)

    def walk(self, build: Build, until: str, begin: datetime, end: datetime) -> datetime:
        """Take a rod on to the stage `until`, from `begin` and not past `end`; gives when it got there."""
        at = begin
        for _ in range(MOST_STEPS):
            row = self.row(build, at)
            stage = row.decision.stage
            if stage is None or until in row.facts.reached:
                break
            ready = row.decision.time_clears_at
            if ready is not None and ready > at:
                at = ready + timedelta(minutes=self.chance.randint(5, 90))
                continue
            at += timedelta(minutes=stage.attended_minutes + self.chance.randint(2, 20))
            if at > end:
                break
            self.log(build, stage, at)
            at += timedelta(minutes=self.chance.randint(20, 240))
        return at

    def log(self, build: Build, stage: Stage, at: datetime, zone: str = "bench") -> None:
        """Log one stage at an instant: touch the puddles, close its joints, tick its checks."""
        if any(hold.kind in FELT_BEFORE for hold in stage.holds):
            for mix_id in self.untouched.pop(build.number, ()):
                felt = at - timedelta(minutes=9)
                touch_puddle(self.session, self.bench(felt), mix_id, state="firm", at=felt)
        for place in stage.cure_places():
            self.glue(build, place, at - timedelta(minutes=6), zone)
        ticks = tuple(
            Tick(hold.check, "Maren" if hold.second_person else "Ottar")
            for hold in stage.holds
            if hold.kind is HoldKind.CHECK
        )
        if any(hold.kind is HoldKind.RECOAT for hold in stage.holds):
            ticks += (Tick(PREP_CHECK, "Ottar"),)
        logged = Logged(stage.name, ticks=ticks)
        advance(self.session, build.number, self.bench(at), logged)

    def glue(self, build: Build, place: str, closed_at: datetime, zone: str = "bench") -> int:
        """Mix a cup at the bench, close one place with it and leave the rod in a zone; gives the mix's id."""
        kind = "finish" if place in FINISHED_PLACES else "fast" if place in FAST_PLACES else "slow"
        mixed_at = closed_at - timedelta(minutes=3)
        mix = make_mix(
            self.session, self.bench(mixed_at), adhesive_id=self.shelf.adhesives[kind],
            zone_id=self.shelf.zones["bench"], mixed_at=mixed_at,
            cup=CupSaid(*self.shelf.lots[kind], CUP_ML, CUP_ML),
        )  # fmt: skip
        close_cure(
            self.session, self.bench(closed_at), mix.id, build=build.number, place=place,
            closed_at=closed_at, zone_id=self.shelf.zones[zone],
        )  # fmt: skip
        self.untouched.setdefault(build.number, []).append(mix.id)
        return mix.id
