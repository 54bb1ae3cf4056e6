"""Doubts about a mix as verbs: who may settle one, what a verdict leaves alone, what fits on file."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy.orm import Session

from shop.db.cures import Cure
from shop.queries.cure_clock import CureClock
from shop.queries.cures import cure_record
from shop.queries.facts import surroundings
from shop.queries.kept_sequences import KeptSequences
from shop.queries.mixes import open_suspicion
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.rules.refusals import BadInput, NotAllowed, NotOnFile, Overtaken
from shop.services.bench import Bench
from shop.services.builds import take_on_build
from shop.services.corrections import CureAnew, correct_cure
from shop.services.cures import close_cure
from shop.services.mixes import judge_mix, make_mix, suspect_mix, touch_puddle
from tests.api.filled import BOND, CUSTOMER, SEQUENCE, ZONE, fill
from tests.conftest import START

NUMBER = "26-001"
LATER = START + timedelta(hours=6)
LONG = "x" * 500


@pytest.fixture
def shop(session: Session) -> Session:
    """One rod, and one cup of bond with which its grip and its seat were closed."""
    fill(session, START)
    take_on_build(
        session, now=START, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft", rod_kind="casting",
        sequence_id=SEQUENCE,
    )  # fmt: skip
    mix = make_mix(session, at(session), adhesive_id=BOND, zone_id=ZONE, mixed_at=None)
    for place in ("rear grip", "reel seat"):
        close_cure(session, at(session), mix.id, build=NUMBER, place=place, closed_at=None)
    return session


def at(session: Session, now: datetime = START, role: Role = Role.OWNER) -> Bench:
    warmth = CureClock().warmth(session)
    around = surroundings(warmth, "", now.timestamp())
    return Bench(now, Actor("Nell", ROLE_RIGHTS[role]), warmth, around, KeptSequences())


def failed(session: Session, cure_id: int) -> str:
    return cure_record(session, cure_id).failed_reason


def test_only_an_owner_gives_a_verdict_or_says_to_wait(shop: Session) -> None:
    suspect_mix(shop, at(shop), 1, reason="old bottle")
    builder = at(shop, role=Role.BUILDER)
    for verdict, until in (("good", None), ("redo", None), ("wait", LATER)):
        with pytest.raises(NotAllowed):
            judge_mix(shop, builder, 1, verdict=verdict, reason="x", recheck_at=until)
    assert open_suspicion(shop, 1) is not None


def test_to_wait_leaves_the_suspicion_open(shop: Session) -> None:
    suspect_mix(shop, at(shop), 1, reason="old bottle")
    judge_mix(shop, at(shop), 1, verdict="wait", reason="cold", recheck_at=LATER)
    doubt = open_suspicion(shop, 1)
    assert doubt is not None
    assert (doubt.verdict, doubt.recheck_at, doubt.reason) == (None, LATER, "old bottle")
    with pytest.raises(Overtaken):
        suspect_mix(shop, at(shop), 1, reason="again")
    judge_mix(shop, at(shop, LATER), 1, verdict="good", reason="hard")
    assert open_suspicion(shop, 1) is None
    assert [failed(shop, number) for number in (1, 2)] == ["", ""]


def test_a_verdict_keeps_why_a_joint_had_failed_before(shop: Session) -> None:
    loose = correct_cure(shop, at(shop), 1, anew=CureAnew(failed=True), reason="It came loose.")
    suspect_mix(shop, at(shop), 1, reason="old bottle")
    judge_mix(shop, at(shop), 1, verdict="redo", reason="rubber")
    assert failed(shop, loose.id) == "It came loose."
    assert failed(shop, 2) == "Verdict on the mix: rubber"


def test_the_longest_reason_still_fits_beside_the_joint(shop: Session) -> None:
    most = Cure.__table__.c.failed_reason.type.length  # type: ignore[attr-defined]
    mix = make_mix(shop, at(shop), adhesive_id=BOND, zone_id=ZONE, mixed_at=None)
    close_cure(
        shop, at(shop), mix.id, build=NUMBER, place="reel seat", closed_at=None, again=True, again_reason=LONG
    )
    suspect_mix(shop, at(shop), 1, reason=LONG)
    judge_mix(shop, at(shop), 1, verdict="redo", reason=LONG)
    kept = [failed(shop, number) for number in (1, 2)]
    assert [len(reason) for reason in kept] == [most, most]
    assert kept[0].startswith("Verdict on the mix: x")
    assert kept[1].startswith("Done anew: x")


@pytest.mark.parametrize(
    ("state", "touched_at", "field"),
    [
        ("hard", None, "state"),
        ("", None, "state"),
        ("firm", LATER, "at"),
        ("firm", START - timedelta(1), "at"),
    ],
)
def test_a_touch_that_cannot_be(shop: Session, state: str, touched_at: datetime | None, field: str) -> None:
    with pytest.raises(BadInput) as refused:
        touch_puddle(shop, at(shop), 1, state=state, at=touched_at)
    assert set(refused.value.errors) == {field}


def test_there_is_no_such_mix(shop: Session) -> None:
    with pytest.raises(NotOnFile):
        touch_puddle(shop, at(shop), 99, state="firm", at=None)
    with pytest.raises(NotOnFile):
        suspect_mix(shop, at(shop), 99, reason="old bottle")
    with pytest.raises(NotOnFile):
        judge_mix(shop, at(shop), 99, verdict="good", reason="hard")
