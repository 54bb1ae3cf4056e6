"""Specs and enquiries as they are written: revisions, what follows, what comes too late, what is refused."""

from dataclasses import replace
from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.queries.builds import build_view, enquiries, open_builds
from shop.queries.events import events_of_build
from shop.queries.specs import latest_spec, revisions_of_build, specs_of
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.rules.spec import HandleRow, Spec
from shop.services.bench import Bench, Signer
from shop.services.builds import change_build
from shop.services.enquiries import take_down_enquiry
from shop.services.specs import revise_spec
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.spec_shop import BLANK, CUSTOMER, ENQUIRY, ORDER, OTHER_BLANK, SPEC, UTC, log, open_desk

GREEN = replace(SPEC, thread_colour="#2f6b3a", thread_name="forest green, size A")


@pytest.fixture
def bench(hub: Hub, hands: Hands, session: Session) -> Bench:
    return open_desk(hub, session, hands.wall_at)


def revise(session: Session, bench: Bench, spec: Spec, number: str = ENQUIRY, **more: Any) -> int:
    return revise_spec(session, number, bench, spec, **{"revision": None, **more})


@pytest.mark.usefixtures("bench")
def test_an_enquiry_is_a_build_with_its_number_that_the_bench_does_not_see(session: Session) -> None:
    view = build_view(session, ENQUIRY)
    assert (view.is_enquiry, view.title, view.blank_id, view.thread_colour) == (
        True, "7 ft casting", BLANK, "#1f4e7a",
    )  # fmt: skip
    assert [build.number for build in enquiries(session)] == [ENQUIRY]
    assert [build.number for build in open_builds(session)] == [ORDER]
    spec = latest_spec(session, view.id)
    assert spec is not None
    assert (spec.revision, spec.value, spec.rework) == (1, SPEC, ())


def test_a_first_spec_that_cannot_be_takes_nothing_down(session: Session, bench: Bench) -> None:
    with pytest.raises(BadInput) as bad:
        take_down_enquiry(
            session, bench, zone=UTC, customer_id=CUSTOMER, spec=replace(SPEC, title="", blank_id=99)
        )
    assert set(bad.value.errors) == {"title", "blank_id"}
    with pytest.raises(NotOnFile):
        take_down_enquiry(session, bench, zone=UTC, customer_id=99, spec=SPEC)
    assert len(enquiries(session)) == 1


def test_the_build_follows_its_newest_spec(session: Session, bench: Bench) -> None:
    assert revise(session, bench, replace(GREEN, title="7 ft 2 in", blank_id=OTHER_BLANK), revision=1) == 2
    view = build_view(session, ENQUIRY)
    assert (view.title, view.blank_id, view.thread_colour) == ("7 ft 2 in", OTHER_BLANK, "#2f6b3a")
    assert [view.revision for view in specs_of(session, view.id)] == [2, 1]
    assert revisions_of_build(session, view.id) == (0, 2)


def test_the_same_again_keeps_nothing(session: Session, bench: Bench) -> None:
    assert revise(session, bench, SPEC, revision=1) == 1
    assert len(events_of_build(session, build_view(session, ENQUIRY).id)) == 1


def test_of_two_who_write_at_once_neither_silently_wins(session: Session, bench: Bench) -> None:
    revise(session, bench, GREEN, revision=1)
    with pytest.raises(Overtaken, match="revision 2 of this spec meanwhile"):
        revise(session, bench, replace(SPEC, power="heavy"), revision=1)
    assert revise(session, bench, replace(SPEC, power="heavy"), revision=None) == 3


def test_the_record_names_what_changed_and_never_the_words(session: Session, bench: Bench) -> None:
    words = replace(GREEN, inscription="For Ada", wishes="Ada's own")
    revise(session, bench, words, reason="Ada rang", asked_by="shop")
    event = events_of_build(session, build_view(session, ENQUIRY).id)[-1]
    assert event.note == (
        "Revision 2 of the spec: colour of the thread, thread, inscription, wishes."
    )  # fmt: skip
    assert event.details["fields"] == ["thread_colour", "thread_name", "inscription", "wishes"]
    assert "Ada" not in f"{event.note}{event.details}"
    latest = latest_spec(session, build_view(session, ENQUIRY).id)
    assert latest is not None
    assert (latest.reason, latest.asked_by) == ("Ada rang", "shop")


def test_a_change_that_comes_too_late_is_a_rework_and_needs_a_reason(session: Session, bench: Bench) -> None:
    revise(session, bench, replace(SPEC, title="8 ft casting"), ORDER)
    log(session, bench, ORDER, "agreed", "parts in hand", "blank checked")
    green = replace(GREEN, title="8 ft casting")
    assert revise(session, bench, green, ORDER) == 2
    log(session, bench, ORDER, "laid out")
    red = replace(green, thread_name="red, size A", title="8 ft")
    with pytest.raises(BadInput) as bad:
        revise(session, bench, red, ORDER)
    assert "has begun (thread), so this is a rework" in bad.value.errors["reason"]
    assert revise(session, bench, red, ORDER, reason="he likes red after all") == 3
    view = build_view(session, ORDER)
    assert [spec.rework for spec in specs_of(session, view.id)] == [("thread_name",), (), ()]
    assert "thread (rework), what it is" in events_of_build(session, view.id)[-1].note


def test_a_first_spec_changes_nothing_however_late_it_comes(session: Session, bench: Bench) -> None:
    log(session, bench, ORDER, "agreed", "parts in hand", "blank checked", "laid out")
    assert revise(session, bench, replace(SPEC, title="8 ft casting"), ORDER) == 1
    latest = latest_spec(session, build_view(session, ORDER).id)
    assert latest is not None
    assert latest.rework == ()


def test_another_kind_of_rod_takes_its_own_sequence_until_work_begins(session: Session, bench: Bench) -> None:
    before = build_view(session, ENQUIRY)
    revise(session, bench, replace(SPEC, rod_kind="fly"))
    after = build_view(session, ENQUIRY)
    assert (after.rod_kind, after.sequence_id) == ("fly", before.sequence_id + 1)
    with pytest.raises(BadInput) as none:
        revise(session, bench, replace(SPEC, rod_kind="boat"))
    assert "No sequence for boat rods" in none.value.errors["rod_kind"]
    log(session, bench, ENQUIRY, "agreed")
    with pytest.raises(BadInput) as late:
        revise(session, bench, SPEC)
    assert "Work on it has begun as a fly rod" in late.value.errors["rod_kind"]


@pytest.mark.parametrize(
    ("more", "field"),
    [({"asked_by": "nobody"}, "asked_by"), ({"reason": "x" * 501}, "reason")],
)
def test_what_is_said_of_a_change_has_its_limits(
    session: Session, bench: Bench, more: dict[str, Any], field: str
) -> None:
    with pytest.raises(BadInput) as bad:
        revise(session, bench, GREEN, **more)
    assert list(bad.value.errors) == [field]


def test_faults_of_a_spec_are_told_all_at_once(session: Session, bench: Bench) -> None:
    with pytest.raises(BadInput) as bad:
        revise(session, bench, replace(SPEC, title="", blank_id=99, handle=(HandleRow("x", "y"),)))
    assert set(bad.value.errors) == {"title", "blank_id", "handle.1.place"}
    with pytest.raises(NotOnFile):
        revise(session, bench, SPEC, "26-099")


def test_a_rod_that_was_handed_over_keeps_its_spec(session: Session, bench: Bench) -> None:
    log(session, bench, ORDER, *("agreed", "parts in hand", "blank checked", "laid out", "wrapped"))
    log(session, bench, ORDER, "handed over")
    with pytest.raises(Overtaken, match="is handed over; its spec stays"):
        revise(session, bench, SPEC, ORDER)


def test_a_plan_does_not_go_round_the_spec(session: Session, bench: Bench) -> None:
    by = Signer(bench.now, bench.actor)
    with pytest.raises(BadInput) as bad:
        change_build(session, ENQUIRY, by, title="8 ft", thread_colour="#1f4e7a", blank_id=None, notes="x")
    assert set(bad.value.errors) == {"title", "blank_id"}
    assert "follows the spec" in bad.value.errors["title"]
    change_build(session, ENQUIRY, by, title="7 ft casting", blank_id=BLANK, notes="kept")
    assert build_view(session, ENQUIRY).notes == "kept"
    change_build(session, ORDER, by, title="9 ft", thread_colour="#000000")
    assert build_view(session, ORDER).title == "9 ft"
