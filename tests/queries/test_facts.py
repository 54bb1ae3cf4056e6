"""What is gathered from the record for a decision: cures, puddles, suspicions, passes, corrections.

The small shop of the API's tests: at its 20 °C a bond sets 10 h and is hard 24 h after closing.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy.orm import Session

from shop.queries.builds import build_view
from shop.queries.cure_clock import CureClock
from shop.queries.facts import facts_of_build, facts_of_open_builds, seen_from, surroundings
from shop.queries.kept_records import KeptRecords
from shop.queries.kept_sequences import KeptSequences
from shop.queries.shop import shop_record
from shop.rules.facts import Facts, Tick
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.services.bench import Bench
from shop.services.builds import take_on_build
from shop.services.corrections import CureAnew, EventAnew, correct_cure, correct_event
from shop.services.cures import close_cure
from shop.services.events import Logged, advance, note_down, send_back
from shop.services.mixes import judge_mix, make_mix, suspect_mix, touch_puddle
from shop.services.zones import add_reading
from shop.web.deps import Hub
from tests.api.filled import BOND, CUSTOMER, SEQUENCE, ZONE, fill
from tests.conftest import START, Hands


class Floor:
    """The bench of a test: verbs at the instant of its clock, and the facts that follow."""

    def __init__(self, session: Session, hands: Hands) -> None:
        self.session = session
        self.hands = hands
        self.cure_clock = CureClock()
        self.sequences = KeptSequences()
        self.number = take_on_build(
            session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft",
            rod_kind="casting", sequence_id=SEQUENCE,
        ).number  # fmt: skip

    @property
    def bench(self) -> Bench:
        warmth = self.cure_clock.warmth(self.session)
        around = surroundings(warmth, "", self.hands.wall_at.timestamp())
        owner = Actor("Nell", ROLE_RIGHTS[Role.OWNER])
        return Bench(self.hands.wall_at, owner, warmth, around, self.sequences)

    def facts(self) -> Facts:
        """The facts by the way of one rod; the way of all open rods must give the same."""
        bench = self.bench
        build = build_view(self.session, self.number)
        facts = facts_of_build(self.session, build.id, build.pass_number, bench.warmth, bench.around)
        every = facts_of_open_builds(self.session, KeptRecords(), bench.warmth)
        assert seen_from(every.get(build.id, Facts()), bench.around) == facts
        return facts

    def mix(self) -> int:
        return make_mix(self.session, self.bench, adhesive_id=BOND, zone_id=ZONE, mixed_at=None).id

    def glue(self, place: str = "rear grip", mix: int = 0, closed_at: datetime | None = None) -> int:
        mix = mix or self.mix()
        bench = self.bench
        return close_cure(self.session, bench, mix, build=self.number, place=place, closed_at=closed_at).id


@pytest.fixture
def floor(hub: Hub, hands: Hands) -> Iterator[Floor]:
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
        yield Floor(session, hands)


def test_of_a_new_build_nothing_is_known_but_the_warmth(floor: Floor) -> None:
    facts = floor.facts()
    assert facts.mixing_zone is not None
    assert (facts.mixing_zone.name, facts.mixing_zone.celsius) == ("bench", 20.0)
    assert (facts.reached, facts.cures, facts.ticks, facts.suspects) == ({}, (), (), ())


def test_a_cure_comes_with_its_instants(floor: Floor) -> None:
    floor.glue()
    (cure,) = floor.facts().cures
    assert (cure.place, cure.adhesive, cure.closed_at) == ("rear grip", "Riverbed", START)
    assert cure.set_at == START + timedelta(hours=10)
    assert cure.full_at == START + timedelta(hours=24)
    assert cure.pot_life_ends_at == START + timedelta(minutes=30)
    assert (cure.recoat_from, cure.recoat_until, cure.has_recoat_window) == (None, None, False)
    assert (cure.zone, cure.mixing_c, cure.coldest_c) == ("bench", 20.0, 13.0)
    assert (cure.tacky, cure.failed) == (False, False)


@pytest.mark.parametrize(
    ("touches", "tacky"),
    [
        ([(9.999, "tacky")], False),
        ([(10, "tacky")], True),
        ([(12, "tacky")], True),
        ([(10, "firm")], False),
        ([(12, "tacky"), (13, "firm")], False),
        ([(12, "firm"), (13, "tacky")], True),
        # The last touch counts, not the last one written down.
        ([(13, "firm"), (12, "tacky")], False),
        ([(13, "tacky"), (12, "firm")], True),
        ([(12, "tacky"), (12, "firm")], False),
    ],
)
def test_a_puddle_is_tacky_from_when_it_should_have_set(
    floor: Floor, touches: list[tuple[float, str]], tacky: bool
) -> None:
    mix = floor.mix()
    floor.glue(mix=mix)
    floor.hands.forward(hours=20)
    for hours, state in touches:
        at = START + timedelta(hours=hours)
        touch_puddle(floor.session, floor.bench, mix, state=state, at=at)
    (cure,) = floor.facts().cures
    assert cure.tacky is tacky


@pytest.mark.parametrize("celsius", [16.0, 5.0])
def test_a_cold_reading_that_comes_late_takes_back_no_doubt(floor: Floor, celsius: float) -> None:
    mix = floor.mix()
    floor.glue(mix=mix)
    touched = floor.hands.forward(hours=10)
    touch_puddle(floor.session, floor.bench, mix, state="tacky", at=None)
    now = floor.hands.forward(hours=1)
    for at in (START + timedelta(hours=count) for count in range(11)):
        add_reading(floor.session, ZONE, now=now, at=at, celsius=celsius)
    (cure,) = floor.facts().cures
    assert cure.set_at is None or cure.set_at > touched
    assert cure.tacky
    touch_puddle(floor.session, floor.bench, mix, state="firm", at=None)
    assert not floor.facts().cures[0].tacky


@pytest.mark.parametrize(("touched_after", "tacky"), [(4.999, False), (5, True)])
def test_nor_where_warmth_counts_for_more(floor: Floor, touched_after: float, tacky: bool) -> None:
    """A cold reading may move the set time anywhere beyond the soonest that full credit gives: 5 h of 10."""
    mix = floor.mix()
    floor.glue(mix=mix)
    shop_record(floor.session).credit_cap = 2.0
    floor.hands.forward(hours=touched_after)
    touch_puddle(floor.session, floor.bench, mix, state="tacky", at=None)
    assert [cure.tacky for cure in floor.facts().cures] == [tacky]


def test_a_tacky_puddle_speaks_for_every_cure_of_its_mix_and_no_other(floor: Floor) -> None:
    mix = floor.mix()
    floor.glue("rear grip", mix)
    floor.glue("fore grip", mix)
    floor.glue("reel seat")
    floor.hands.forward(hours=11)
    touch_puddle(floor.session, floor.bench, mix, state="tacky", at=None)
    assert {cure.place: cure.tacky for cure in floor.facts().cures} == {
        "rear grip": True, "fore grip": True, "reel seat": False,
    }  # fmt: skip


def test_a_corrected_cure_is_known_by_its_correction_alone(floor: Floor) -> None:
    mix = floor.mix()
    floor.hands.forward(minutes=20)
    wrong = floor.glue(mix=mix)
    right_at = START + timedelta(minutes=5)
    anew = CureAnew(closed_at=right_at)
    correct_cure(floor.session, floor.bench, wrong, anew=anew, reason="It was earlier.")
    (cure,) = floor.facts().cures
    assert cure.id != wrong
    assert (cure.closed_at, cure.set_at) == (right_at, right_at + timedelta(hours=10))


def test_a_failed_cure_stays_and_says_so(floor: Floor) -> None:
    cure = floor.glue()
    correct_cure(floor.session, floor.bench, cure, anew=CureAnew(failed=True), reason="It came loose.")
    assert [fact.failed for fact in floor.facts().cures] == [True]


def test_a_suspicion_stands_until_the_verdict(floor: Floor) -> None:
    mix = floor.mix()
    floor.glue(mix=mix)
    suspect_mix(floor.session, floor.bench, mix, reason="Two parts A.")
    (suspect,) = floor.facts().suspects
    assert (suspect.mix_id, suspect.adhesive, suspect.reason) == (mix, "Riverbed", "Two parts A.")
    judge_mix(floor.session, floor.bench, mix, verdict="good", reason="The puddle is hard.")
    facts = floor.facts()
    assert facts.suspects == ()
    assert [cure.failed for cure in facts.cures] == [False]


def test_a_verdict_to_redo_ends_every_cure_of_the_mix_as_failed(floor: Floor) -> None:
    mix = floor.mix()
    floor.glue("rear grip", mix)
    floor.glue("fore grip", mix)
    suspect_mix(floor.session, floor.bench, mix, reason="Two parts A.")
    judge_mix(floor.session, floor.bench, mix, verdict="redo", reason="It stays rubbery.")
    facts = floor.facts()
    assert [cure.failed for cure in facts.cures] == [True, True]
    assert facts.suspects == ()


def test_sent_back_a_new_pass_knows_nothing_but_the_stages_that_still_stand(floor: Floor) -> None:
    ticks = (Tick("orientation", "Ott"),)
    advance(floor.session, floor.number, floor.bench, Logged("agreed", ticks=ticks))
    note_down(floor.session, floor.number, floor.bench, Logged("fitted", ticks=(Tick("dry fit", "Ott"),)))
    floor.glue()
    before = floor.facts()
    assert (len(before.cures), len(before.ticks)) == (1, 2)
    floor.hands.forward(hours=1)
    send_back(floor.session, floor.number, floor.bench, to="agreed", reason="The grip turns.")
    facts = floor.facts()
    assert (facts.cures, facts.ticks, facts.measured, facts.releases) == ((), (), {}, frozenset())
    assert facts.reached == before.reached


def test_a_tick_remembers_the_stage_it_was_made_for(floor: Floor) -> None:
    advance(floor.session, floor.number, floor.bench, Logged("agreed", ticks=(Tick("prep", "Ott"),)))
    note_down(floor.session, floor.number, floor.bench, Logged("second coat", ticks=(Tick("prep", ""),)))
    assert floor.facts().ticks == (Tick("prep", "Ott", "agreed"), Tick("prep", "Nell", "second coat"))


def test_an_entry_that_was_undone_is_not_known_any_more(floor: Floor) -> None:
    advance(floor.session, floor.number, floor.bench, Logged("agreed", ticks=(Tick("orientation", "Ott"),)))
    correct_event(floor.session, floor.bench, 1, anew=EventAnew(undone=True), reason="A wrong tap.")
    facts = floor.facts()
    assert (facts.reached, facts.ticks) == ({}, ())
