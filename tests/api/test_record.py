"""The record of a build: its events, and corrections that point at what was wrong."""

from typing import Any

import pytest

from tests.api.conftest import Program
from tests.conftest import Hands

WHY = "The clock on the wall was an hour fast."


def agreed(desk: Program, **said: Any) -> tuple[str, int]:
    """A build whose first stage is logged, and the id of that event."""
    number = desk.build()
    desk.post(f"/builds/{number}/advance", to="agreed", **said)
    return number, record(desk, number)[0]["id"]


def record(desk: Program, number: str) -> list[Any]:
    page = desk.get(f"/builds/{number}/events")
    assert page["next"] is None
    items: list[Any] = page["items"]
    return items


def test_a_correction_is_a_further_event_that_points_at_the_first(desk: Program, hands: Hands) -> None:
    hands.forward(hours=2)
    number, event = agreed(desk, note="by telephone")
    before = record(desk, number)
    hands.forward(hours=1)
    made = desk.post(f"/events/{event}/correct", at="2026-03-02T10:00:00Z", by="Nell", reason=WHY)
    assert (made["kind"], made["corrects"], made["note"], made["by"]) == (
        "correction",
        event,
        WHY,
        "desk key",
    )
    assert made["entered_at"] == "2026-03-02T12:00:00Z"
    assert made["details"] == {"at": "2026-03-02T10:00:00+00:00", "by": "Nell"}
    assert record(desk, number) == [*before, made]


def test_what_follows_goes_by_the_corrected_time(desk: Program, hands: Hands) -> None:
    hands.forward(hours=2)
    number, event = agreed(desk)
    late: dict[str, Any] = {
        "to": "fitted",
        "measurements": {"rear bore": "12 mm"},
        "at": "2026-03-02T10:30:00Z",
    }
    desk.assert_refused(422, f"/builds/{number}/advance", **late)
    desk.post(f"/events/{event}/correct", at="2026-03-02T10:00:00Z", reason=WHY)
    assert desk.post(f"/builds/{number}/advance", **late)["stage"] == "fitted"


def test_a_stage_that_did_not_happen_is_undone(desk: Program) -> None:
    number, event = agreed(desk)
    desk.post(f"/events/{event}/correct", undone=True, reason="It was another rod.")
    assert desk.get(f"/builds/{number}")["stage"] is None
    assert desk.get(f"/builds/{number}/next")["stage"] == "agreed"
    assert [event["kind"] for event in record(desk, number)] == ["stage", "correction"]
    assert desk.post(f"/builds/{number}/advance", to="agreed")["stage"] == "agreed"


def test_a_correction_may_be_corrected(desk: Program) -> None:
    number, event = agreed(desk)
    made = desk.post(f"/events/{event}/correct", undone=True, reason="It was another rod.")
    again = desk.post(f"/events/{made['id']}/correct", by="Nell", reason="It was this rod after all.")
    assert again["corrects"] == made["id"]
    assert desk.get(f"/builds/{number}")["stage"] == "agreed"
    problem = desk.assert_refused(409, f"/builds/{number}/advance", to="agreed")
    assert problem["detail"].startswith("Nell has already logged")


def test_a_wrong_figure_and_a_wrong_check_are_put_right(desk: Program) -> None:
    number, event = agreed(desk, checks=["orientation"], measurements={"rear bore": "13 mm"})
    desk.assert_refused(409, f"/builds/{number}/advance", to="fitted")
    made = desk.post(
        f"/events/{event}/correct", reason="Read from the wrong scale.",
        measurements={"rear bore": {"mm": 12.25}}, checks=["orientation", {"name": "length", "by": "Ott"}],
    )  # fmt: skip
    assert made["details"]["measurements"] == {"rear bore": {"mm": 12.25, "in": "31/64"}}
    assert made["details"]["checks"] == [["orientation", "desk key"], ["length", "Ott"]]
    assert desk.post(f"/builds/{number}/advance", to="fitted")["stage"] == "fitted"


@pytest.mark.parametrize(
    "body",
    [
        {"reason": WHY}, {"reason": "  ", "undone": True}, {"undone": True},
        {"reason": WHY, "at": "2026-03-02T09:00:01Z"}, {"reason": WHY, "undone": False},
        {"reason": WHY, "stage": "fitted"},
    ],
)  # fmt: skip
def test_a_correction_that_cannot_be(desk: Program, body: dict[str, Any]) -> None:
    number, event = agreed(desk)
    desk.assert_refused(422, f"/events/{event}/correct", **body)
    assert len(record(desk, number)) == 1


def test_there_is_nothing_to_correct_where_there_is_no_event(desk: Program) -> None:
    desk.assert_refused(404, "/events/99/correct", undone=True, reason=WHY)


def test_an_entry_of_an_earlier_pass_is_left_alone(desk: Program) -> None:
    number, event = agreed(desk)
    desk.post(f"/builds/{number}/send-back", to="agreed", reason="Another blank.")
    desk.assert_refused(409, f"/events/{event}/correct", undone=True, reason=WHY)


def test_an_entry_about_a_joint_is_put_right_on_the_joint(desk: Program) -> None:
    number = desk.build()
    desk.glue(number, "rear grip")
    problem = desk.assert_refused(
        422, f"/events/{record(desk, number)[0]['id']}/correct", undone=True, reason=WHY
    )
    assert "mix or cure" in problem["detail"]


def test_the_record_holds_everything_that_happened(desk: Program) -> None:
    number, event = agreed(desk)
    cure = desk.glue(number, "rear grip")
    mix = cure["mix_id"]
    desk.post(f"/mixes/{mix}/puddle", state="tacky")
    desk.post(f"/mixes/{mix}/suspect", reason="Poured by eye.")
    desk.post(f"/mixes/{mix}/verdict", verdict="good", reason="Hard in the morning.")
    desk.post(f"/cures/{cure['id']}/correct", place="reel seat", reason="It was the seat.")
    desk.post(f"/mixes/{mix}/correct", mixed_at="2026-03-02T08:55:00Z", reason=WHY)
    desk.post(f"/events/{event}/correct", by="Nell", reason="It was Nell.")
    desk.post(f"/builds/{number}/send-back", to="agreed", reason="Another blank.")
    assert [entry["kind"] for entry in record(desk, number)] == [
        "stage", "cure", "puddle", "suspicion", "verdict", "correction", "correction", "correction",
        "send_back",
    ]  # fmt: skip
    assert record(desk, number)[1]["details"] == {"cure_id": cure["id"]}
    assert record(desk, number)[5]["details"]["corrected_cure_id"] == cure["id"]
