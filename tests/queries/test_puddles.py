"""The puddles of the mixes that open rods carry: which are due, when, in how many statements."""

import re
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from shop.db.sessions import Session
from shop.queries.facts import surroundings
from shop.queries.puddles import Puddle, open_puddles, puddles_due
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.rules.puddles import Why
from shop.services.bench import Bench
from shop.services.builds import take_on_build
from shop.services.cures import close_cure
from shop.services.mixes import judge_mix, make_mix, suspect_mix, touch_puddle
from shop.web.deps import Hub
from tests.api.filled import BOND, CUSTOMER, SEQUENCE, ZONE, fill
from tests.conftest import START, Hands
from tests.queries.test_plans import HISTORY, asked

HOUR = timedelta(hours=1)
OWNER = Actor("Ruth", ROLE_RIGHTS[Role.OWNER])


@pytest.fixture
def filled(hub: Hub, hands: Hands) -> Hub:
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
    return hub


def bench_at(hub: Hub, session: Session, now: datetime) -> Bench:
    warmth = hub.cure_clock.warmth(session)
    return Bench(now, OWNER, warmth, surroundings(warmth, "", now.timestamp()), hub.sequences)


def glue(hub: Hub, now: datetime, *places: str, rods: int = 1) -> tuple[int, list[str]]:
    """One cup of bond, and these places of some new rods closed with it: the mix and the rods' numbers."""
    with hub.database.writing(now) as session:
        bench = bench_at(hub, session, now)
        mix_id = make_mix(session, bench, adhesive_id=BOND, zone_id=ZONE, mixed_at=None).id
        numbers = []
        for _ in range(rods):
            build = take_on_build(
                session, now=now, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft",
                rod_kind="casting", sequence_id=SEQUENCE,
            )  # fmt: skip
            numbers.append(build.number)
            for place in places:
                close_cure(session, bench, mix_id, build=build.number, place=place, closed_at=now)
        return mix_id, numbers


def due_at(hub: Hub, now: datetime) -> list[Puddle]:
    with hub.database.reading() as session:
        return puddles_due(session, hub.cure_clock.warmth(session), now)


def test_a_puddle_says_what_waits_for_it_and_when_it_is_due(filled: Hub) -> None:
    mix_id, numbers = glue(filled, START, "rear grip", "reel seat", rods=2)
    set_at = START + 10 * HOUR
    (puddle,) = due_at(filled, set_at - timedelta(seconds=1))
    expected = Puddle(
        mix_id, "Riverbed", tuple(numbers), ("rear grip", "reel seat"), set_at, Why.SET, "", None, False
    )
    assert puddle == expected
    assert due_at(filled, set_at) == [expected._replace(overdue=True)]


def touch(hub: Hub, mix_id: int, state: str, now: datetime) -> None:
    with hub.database.writing(now) as session:
        touch_puddle(session, bench_at(hub, session, now), mix_id, state=state, at=None)


def test_those_due_first_come_first_and_those_that_cannot_set_last(filled: Hub) -> None:
    first, _ = glue(filled, START, "rear grip")
    second, _ = glue(filled, START + HOUR, "rear grip")
    third, _ = glue(filled, START + 2 * HOUR, "rear grip")
    touch(filled, first, "tacky", START + 10 * HOUR)
    found = due_at(filled, START + 10 * HOUR)
    assert [(item.mix_id, item.why) for item in found] == [
        (second, Why.SET), (third, Why.SET), (first, Why.TACKY),
    ]  # fmt: skip
    assert found[2].due_at == START + 12.5 * HOUR
    assert (found[2].state, found[2].touched_at) == ("tacky", START + 10 * HOUR)
    touch(filled, second, "firm", START + 11 * HOUR)
    assert [item.mix_id for item in due_at(filled, START + 11 * HOUR)] == [third, first]
    with filled.database.reading() as session:
        kept = open_puddles(session, filled.cure_clock.warmth(session))
    assert {item.mix_id: item.why for item in kept}[second] is Why.FIRM


def test_an_owner_who_waits_says_when_and_a_failed_mix_is_not_asked_about(filled: Hub) -> None:
    mix_id, _ = glue(filled, START, "rear grip")
    now, later = START + 10 * HOUR, START + 30 * HOUR
    with filled.database.writing(now) as session:
        bench = bench_at(filled, session, now)
        suspect_mix(session, bench, mix_id, reason="old bottle")
        judge_mix(session, bench, mix_id, verdict="wait", reason="cold", recheck_at=later)
    (waiting,) = due_at(filled, now)
    assert (waiting.due_at, waiting.why, waiting.overdue) == (later, Why.RECHECK, False)
    with filled.database.writing(later) as session:
        judge_mix(session, bench_at(filled, session, later), mix_id, verdict="redo", reason="rubber")
    assert due_at(filled, later) == []


def test_a_finished_rod_waits_for_nothing(filled: Hub) -> None:
    glue(filled, START, "rear grip")
    with filled.database.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE builds SET closed_at = created_at")
    assert due_at(filled, START + 10 * HOUR) == []


def test_more_mixes_ask_for_no_more_statements_and_none_walks_the_history(filled: Hub, hands: Hands) -> None:
    counts = []
    for rods in (1, 6):
        for hour in range(rods):
            mix_id, _ = glue(filled, START + hour * HOUR, "rear grip", "reel seat", rods=2)
            touch(filled, mix_id, "tacky", START + 40 * HOUR)
        due_at(filled, hands.wall_at)
        with asked(filled) as statements:
            assert due_at(filled, hands.wall_at)
        counts.append(len(statements))
    assert counts[0] == counts[1] > 0
    with filled.database.engine.connect() as connection:
        for text, values in statements:
            if text.startswith("SELECT"):
                plan = connection.exec_driver_sql("EXPLAIN QUERY PLAN " + text, values)
                for step in plan:
                    assert not re.fullmatch(rf"SCAN ({'|'.join(HISTORY)})", str(step[3])), text
