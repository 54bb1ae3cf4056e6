"""A mix in doubt: its puddle, an owner who says to wait, joints done anew and ticks asked for again."""

from itertools import permutations
from typing import Any

import pytest

from tests.api.conftest import Program
from tests.conftest import Hands

WAIT = {"verdict": "wait", "reason": "Cold night."}


def ready(desk: Program) -> str:
    """A build whose next stage is to glue the rear grip."""
    number = desk.build()
    desk.post(f"/builds/{number}/advance", to="agreed")
    desk.post(f"/builds/{number}/advance", to="fitted", measurements={"rear bore": "12 mm"})
    return number


def glued(desk: Program) -> tuple[str, Any]:
    """A build whose rear grip is glued and logged, and the grip's cure."""
    number = ready(desk)
    cure = desk.glue(number, "rear grip")
    desk.post(f"/builds/{number}/advance", to="grip glued")
    return number, cure


def seated(desk: Program, hands: Hands) -> tuple[str, Any]:
    """The same with the seat glued as well, ten hours later, and its orientation checked; the seat's cure."""
    number, _ = glued(desk)
    hands.forward(hours=10)
    cure = desk.glue(number, "reel seat")
    checks = [{"name": "orientation", "by": "Ott"}]
    desk.post(f"/builds/{number}/advance", to="seat glued", checks=checks)
    return number, cure


def holds(desk: Program, number: str) -> list[tuple[str, str]]:
    found = desk.get(f"/builds/{number}/next")["holds"]
    return [(hold["kind"], hold["reason"]) for hold in found]


def story(desk: Program, number: str) -> list[tuple[str, str]]:
    """The record as it reads: kind and note of every entry about a cup or a joint."""
    record = desk.get(f"/builds/{number}/events")["items"]
    return [(event["kind"], event["note"]) for event in record if event["kind"] not in ("stage", "check")]


def test_every_cure_of_a_mix_is_in_doubt_once_the_first_should_have_set(desk: Program, hands: Hands) -> None:
    first, second = ready(desk), ready(desk)
    mix = desk.post("/mixes", adhesive_id=1, zone_id=1)["id"]
    desk.post(f"/mixes/{mix}/cures", build=first, place="rear grip")
    hands.forward(minutes=20)
    desk.post(f"/mixes/{mix}/cures", build=second, place="rear grip")
    for number in (first, second):
        desk.post(f"/builds/{number}/advance", to="grip glued", checks=[{"name": "orientation", "by": "O"}])
    hands.forward(hours=9, minutes=39, seconds=59)
    desk.post(f"/mixes/{mix}/puddle", state="tacky")
    hands.forward(minutes=30)
    assert [desk.kinds(number) for number in (first, second)] == [[], []], "tacky a second early is no doubt"
    desk.post(f"/mixes/{mix}/puddle", state="tacky", at="2026-03-02T19:00:00Z")
    assert [desk.kinds(number) for number in (first, second)] == [["set"], ["set"]]
    hands.forward(days=9)
    assert "is tacky: it must be found firm" in holds(desk, second)[0][1]
    desk.post(f"/mixes/{mix}/puddle", state="firm")
    assert [desk.kinds(number) for number in (first, second)] == [[], []]


TOUCHES = [
    ("tacky", "2026-03-02T12:00:00Z"), ("firm", "2026-03-02T18:59:59Z"), ("tacky", "2026-03-02T19:30:00Z"),
]  # fmt: skip


@pytest.mark.parametrize("entered", list(permutations(TOUCHES)))
def test_no_order_of_entries_opens_a_joint_whose_puddle_was_last_tacky(
    desk: Program, hands: Hands, entered: tuple[tuple[str, str], ...]
) -> None:
    number, cure = glued(desk)
    hands.forward(hours=20)
    for state, at in entered:
        desk.post(f"/mixes/{cure['mix_id']}/puddle", state=state, at=at)
    assert "set" in desk.kinds(number)
    desk.post(f"/mixes/{cure['mix_id']}/puddle", state="firm", at="2026-03-02T19:30:00Z")
    assert "set" not in desk.kinds(number)


def test_a_suspicion_lists_what_it_holds(desk: Program, bench: Program) -> None:
    numbers = [desk.build(), desk.build()]
    mix = desk.post("/mixes", adhesive_id=1, zone_id=1)["id"]
    first = desk.post(f"/mixes/{mix}/cures", build=numbers[0], place="rear grip")
    desk.post(f"/mixes/{mix}/cures", build=numbers[1], place="rear grip")
    desk.post(f"/mixes/{mix}/cures", build=numbers[1], place="reel seat")
    desk.post(f"/cures/{first['id']}/correct", place="butt cap", reason="It was the cap.")
    suspect = bench.post(f"/mixes/{mix}/suspect", reason="measured wrong")
    assert suspect["held"] == [
        {"build": numbers[1], "place": "rear grip"}, {"build": numbers[1], "place": "reel seat"},
        {"build": numbers[0], "place": "butt cap"},
    ]  # fmt: skip
    assert (suspect["suspect"], suspect["recheck_at"]) == ("measured wrong", None)


def test_to_wait_leaves_the_rods_held_and_says_until_when(desk: Program, hands: Hands) -> None:
    number, cure = glued(desk)
    path = f"/mixes/{cure['mix_id']}"
    hands.forward(hours=11)
    desk.post(f"{path}/suspect", reason="tacky puddle")
    waiting = desk.post(f"{path}/verdict", recheck_at="2026-03-03T03:00:00+01:00", **WAIT)
    assert (waiting["suspect"], waiting["recheck_at"]) == ("tacky puddle", "2026-03-03T02:00:00Z")
    assert desk.get(path) == waiting
    assert holds(desk, number)[0] == (
        "suspect",
        "The mix of Riverbed used on this rod is under suspicion: tacky puddle. The verdict so far is to "
        "wait; look again at 2026-03-03 02:00 UTC.",
    )
    hands.forward(hours=12)
    assert "suspect" in desk.kinds(number), "time alone does not settle it"
    desk.post(f"{path}/verdict", recheck_at="2026-03-04T08:00:00Z", **WAIT)
    assert "look again at 2026-03-04 08:00 UTC" in holds(desk, number)[0][1]
    settled = desk.post(f"{path}/verdict", verdict="good", reason="Nail leaves no mark")
    assert (settled["suspect"], settled["recheck_at"]) == ("", None)
    assert "suspect" not in desk.kinds(number)
    verdicts = [
        event for event in desk.get(f"/builds/{number}/events")["items"] if event["kind"] == "verdict"
    ]
    assert [event["note"] for event in verdicts] == [
        "The mix of Riverbed stays under suspicion; wait, then look again: Cold night.",
        "The mix of Riverbed stays under suspicion; wait, then look again: Cold night.",
        "The mix of Riverbed is judged good: Nail leaves no mark.",
    ]
    assert verdicts[0]["details"] == {"mix_id": cure["mix_id"], "recheck_at": "2026-03-03T02:00:00+00:00"}


@pytest.mark.parametrize(
    ("said", "status", "says"),
    [
        (WAIT, 422, "Say when to look again."),
        ({**WAIT, "recheck_at": "2026-03-02T09:00:00Z"}, 422, "a time to come"),
        ({**WAIT, "recheck_at": "2026-05-01T09:00:01Z"}, 422, "within 60 days"),
        ({**WAIT, "recheck_at": "9999-12-31T23:59:59Z"}, 422, "within 60 days"),
        ({**WAIT, "recheck_at": "tomorrow"}, 422, "a time with its offset"),
        ({**WAIT, "reason": " ", "recheck_at": "2026-03-03T09:00:00Z"}, 422, "needs a reason"),
        ({"verdict": "good", "reason": "x", "recheck_at": "2026-03-03T09:00:00Z"}, 422, "to wait alone"),
    ],
)
def test_a_wait_that_cannot_be(desk: Program, said: dict[str, str], status: int, says: str) -> None:
    cure = desk.glue(desk.build(), "rear grip")
    desk.post(f"/mixes/{cure['mix_id']}/suspect", reason="Poured by eye.")
    problem = desk.assert_refused(status, f"/mixes/{cure['mix_id']}/verdict", **said)
    assert says in str(problem)


def test_there_is_nothing_to_wait_for_without_a_suspicion(desk: Program, bench: Program) -> None:
    cure = desk.glue(desk.build(), "rear grip")
    said = {**WAIT, "recheck_at": "2026-03-03T09:00:00Z"}
    desk.assert_refused(409, f"/mixes/{cure['mix_id']}/verdict", **said)
    desk.post(f"/mixes/{cure['mix_id']}/suspect", reason="Poured by eye.")
    bench.assert_refused(403, f"/mixes/{cure['mix_id']}/verdict", **said)


def test_a_joint_done_anew_is_one_story_and_asks_for_its_ticks_again(desk: Program, hands: Hands) -> None:
    number, old = seated(desk, hands)
    hands.forward(hours=1)
    mix = desk.post("/mixes", adhesive_id=1, zone_id=1)["id"]
    anew = {"build": number, "place": "reel seat", "again": True, "reason": "Turned two degrees"}
    new = desk.post(f"/mixes/{mix}/cures", **anew)
    assert (new["failed"], new["set_at"]) == ("", "2026-03-03T06:00:00Z")
    assert desk.get(f"/cures/{old['id']}")["failed"] == "Done anew: Turned two degrees"
    assert story(desk, number)[-1] == (
        "cure",
        "Riverbed closed at the reel seat anew; the joint before it (Riverbed) has failed: Turned two "
        "degrees. To be checked again: “orientation”.",
    )
    last = desk.get(f"/builds/{number}/events")["items"][-1]["details"]
    assert (last["cure_id"], last["failed"]) == (new["id"], [old["id"]])
    assert last["rechecks"] == [
        {"name": "orientation", "stage": "seat glued", "place": "reel seat",
         "since": "2026-03-02T20:00:00+00:00"}
    ]  # fmt: skip
    assert desk.get(f"/builds/{number}")["stage"] == "seat glued", "the stages reached stay reached"
    hands.forward(hours=30)
    assert holds(desk, number) == [
        ("check", "“orientation” was ticked at “seat glued” on a joint at the reel seat that has failed "
         "since: check it again on the new one.")
    ]  # fmt: skip
    problem = desk.assert_refused(409, f"/builds/{number}/advance", to="hard")
    assert [hold["kind"] for hold in problem["holds"]] == ["check"]
    late: dict[str, Any] = {"to": "hard", "at": "2026-03-02T19:59:59Z", "checks": ["orientation"]}
    refused = desk.assert_refused(409, f"/builds/{number}/advance", **late)
    assert "check" in [hold["kind"] for hold in refused["holds"]], "it was given before the joint was made"
    desk.post(f"/builds/{number}/advance", to="hard", checks=["orientation"])
    assert desk.kinds(number) == []


def test_a_rod_does_not_go_on_upon_a_joint_that_is_soft_again(desk: Program, hands: Hands) -> None:
    number, _ = seated(desk, hands)
    hands.forward(hours=14)
    desk.post(f"/builds/{number}/advance", to="hard")
    old = desk.get("/cures/1")
    assert (old["place"], desk.kinds(number)) == ("rear grip", [])
    desk.post(f"/mixes/{old['mix_id']}/suspect", reason="old bottle")
    desk.post(f"/mixes/{old['mix_id']}/verdict", verdict="redo", reason="Rubber.")
    found = desk.get(f"/builds/{number}/next")
    assert [(hold["kind"], hold["cleared_by"]) for hold in found["holds"]] == [
        ("check", "person"), ("full_cure", "work"),
    ]  # fmt: skip
    desk.glue(number, "rear grip")
    found = desk.get(f"/builds/{number}/next")
    assert (found["stage"], found["holds"][1]["clears_at"]) == ("first coat", "2026-03-04T09:00:00Z")
    hands.forward(hours=24)
    desk.post(f"/builds/{number}/advance", to="first coat", checks=["orientation"])


def test_a_tick_that_was_undone_is_not_asked_for_again(desk: Program, hands: Hands) -> None:
    number, _ = glued(desk)
    ahead = {"to": "seat glued", "checks": ["orientation"]}
    hands.forward(hours=10)
    desk.glue(number, "reel seat")
    desk.post(f"/builds/{number}/advance", **{**ahead, "checks": [{"name": "orientation", "by": "Ott"}]})
    event = desk.get(f"/builds/{number}/events")["items"][-1]["id"]
    mix = desk.post("/mixes", adhesive_id=1, zone_id=1)["id"]
    desk.post(f"/mixes/{mix}/cures", build=number, place="reel seat", again=True, reason="Turned.")
    assert "check" in desk.kinds(number)
    desk.post(f"/events/{event}/correct", undone=True, reason="It was the next rod.")
    found = desk.get(f"/builds/{number}/next")
    assert found["stage"] == "seat glued"
    assert [hold["reason"] for hold in found["holds"]] == [
        "The check “orientation” has not been ticked; a second person must tick it."
    ]
    desk.post(f"/builds/{number}/advance", **{**ahead, "checks": [{"name": "orientation", "by": "Ott"}]})
    assert "check" not in desk.kinds(number)


def test_a_rod_sent_back_still_owes_the_checks_of_the_stages_that_stand(desk: Program, hands: Hands) -> None:
    number, _ = seated(desk, hands)
    mix = desk.post("/mixes", adhesive_id=1, zone_id=1)["id"]
    desk.post(f"/mixes/{mix}/cures", build=number, place="reel seat", again=True, reason="Turned.")
    desk.post(f"/builds/{number}/send-back", to="seat glued", reason="Another finish.")
    assert "check" in desk.kinds(number)
    desk.post(f"/builds/{number}/send-back", to="fitted", reason="Another handle.")
    assert "check" not in desk.kinds(number), "the stage it was ticked at is to be done again"


@pytest.mark.parametrize(
    ("status", "said", "says"),
    [
        (422, {"again": True}, "Say why it is done anew"),
        (422, {"again": True, "reason": "  "}, "Say why it is done anew"),
        (422, {"reason": "Turned."}, "done anew"),
        (422, {"again": "yes", "reason": "Turned."}, ""),
        (422, {"again": True, "reason": "x" * 501}, ""),
        (409, {"again": True, "reason": "Turned.", "place": "butt cap"}, "none to do anew"),
        (422, {"again": True, "reason": "Turned.", "closed_at": "2026-03-02T18:59:59Z"}, "closed later"),
    ],
)
def test_a_joint_that_cannot_be_done_anew(
    desk: Program, hands: Hands, status: int, said: dict[str, Any], says: str
) -> None:
    number, old = seated(desk, hands)
    mix = desk.post("/mixes", adhesive_id=1, zone_id=1, mixed_at="2026-03-02T18:55:00Z")["id"]
    body = {"build": number, "place": "reel seat", **said}
    assert says in str(desk.assert_refused(status, f"/mixes/{mix}/cures", **body))
    assert desk.get(f"/cures/{old['id']}")["failed"] == ""


def test_the_same_cup_does_not_do_its_own_joint_anew(desk: Program) -> None:
    number, cure = glued(desk)
    said: dict[str, Any] = {"build": number, "place": "rear grip", "again": True, "reason": "Wiped off."}
    problem = desk.assert_refused(409, f"/mixes/{cure['mix_id']}/cures", **said)
    assert problem["detail"] == "The joint that counts at the rear grip was closed with this very mix."


def test_done_anew_once_however_often_it_is_sent(desk: Program, hands: Hands) -> None:
    number, _ = seated(desk, hands)
    mix = desk.post("/mixes", adhesive_id=1, zone_id=1)["id"]
    said = {"build": number, "place": "reel seat", "again": True, "reason": "Turned."}
    answers = [
        desk.send("POST", f"/mixes/{mix}/cures", json=said, headers={"idempotency-key": "once"})
        for _ in range(2)
    ]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    assert [kind for kind, _ in story(desk, number)].count("cure") == 3
    wait = {**WAIT, "recheck_at": "2026-03-03T09:00:00Z"}
    desk.post(f"/mixes/{mix}/suspect", reason="Poured by eye.")
    for _ in range(2):
        desk.send("POST", f"/mixes/{mix}/verdict", json=wait, headers={"idempotency-key": "wait"})
    assert [kind for kind, _ in story(desk, number)].count("verdict") == 1


def test_a_second_cup_into_the_same_joint_is_no_joint_done_anew(desk: Program, hands: Hands) -> None:
    number, cure = glued(desk)
    hands.forward(minutes=5)
    desk.glue(number, "rear grip")
    assert desk.get(f"/cures/{cure['id']}")["failed"] == ""
    both = desk.post("/mixes", adhesive_id=1, zone_id=1)["id"]
    desk.post(f"/mixes/{both}/cures", build=number, place="rear grip", again=True, reason="Starved.")
    assert [desk.get(f"/cures/{number}")["failed"] for number in (1, 2, 3)] == [
        "Done anew: Starved.", "Done anew: Starved.", "",
    ]  # fmt: skip


def test_from_a_tacky_puddle_to_an_open_rod_the_record_reads_as_it_was(desk: Program, hands: Hands) -> None:
    number, cure = seated(desk, hands)
    path = f"/mixes/{cure['mix_id']}"
    hands.forward(hours=10)
    desk.post(f"{path}/puddle", state="tacky")
    desk.post(f"{path}/suspect", reason="tacky puddle")
    desk.post(f"{path}/verdict", verdict="wait", reason="Cold night.", recheck_at="2026-03-03T11:00:00Z")
    hands.forward(hours=6)
    desk.post(f"{path}/puddle", state="tacky")
    desk.post(f"{path}/verdict", verdict="redo", reason="Still rubber.")
    assert [kind for kind, _ in holds(desk, number)] == ["check"]
    desk.post(f"/builds/{number}/advance", to="hard", checks=["orientation"])
    assert desk.kinds(number) == [], "the new joint is not yet made: its tick is owed again below"
    desk.glue(number, "reel seat")
    assert desk.kinds(number) == ["check", "full_cure"], "no stage to come asks for the seat any more"
    hands.forward(hours=24)
    desk.post(f"/builds/{number}/advance", to="first coat", checks=["orientation"])
    assert desk.get(f"/builds/{number}")["stage"] == "first coat"
    assert story(desk, number)[1:] == [
        ("cure", "Riverbed closed at the reel seat."),
        ("puddle", "The puddle of the Riverbed was found tacky."),
        ("suspicion", "The mix of Riverbed is under suspicion: tacky puddle."),
        ("verdict", "The mix of Riverbed stays under suspicion; wait, then look again: Cold night."),
        ("puddle", "The puddle of the Riverbed was found tacky."),
        ("verdict", "The mix of Riverbed is to be done again; what it closed has failed (reel seat): Still "
         "rubber. To be checked again: “orientation”."),
        ("cure", "Riverbed closed at the reel seat. To be checked again: “orientation”."),
    ]  # fmt: skip
