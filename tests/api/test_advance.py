"""Logging stages and sending back, as a program does it."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import httpx
import pytest

from shop.rules.people import Scope
from shop.web.deps import Hub
from tests.api.conftest import API, Program, new_key
from tests.conftest import Hands

BORE = {"rear bore": "12 mm"}


def advance(number: str) -> str:
    return f"/builds/{number}/advance"


def up_to(desk: Program, hands: Hands, stage: str) -> str:
    """A build that has reached a stage, with all that belongs to it, ten hours after its last joint."""
    number = desk.build()
    steps: list[tuple[str, dict[str, Any], str]] = [
        ("agreed", {}, ""),
        ("fitted", {"measurements": BORE}, ""),
        ("grip glued", {}, "rear grip"),
        ("seat glued", {"checks": [{"name": "orientation", "by": "Ott"}]}, "reel seat"),
    ]
    for name, said, place in steps:
        if place:
            desk.glue(number, place)
        desk.post(advance(number), to=name, **said)
        if place:
            hands.forward(hours=10)
        if name == stage:
            return number
    raise LookupError(stage)


def test_only_the_stage_is_needed(desk: Program) -> None:
    number = desk.build()
    build = desk.post(advance(number), to="agreed")
    assert (build["stage"], build["pass"]) == ("agreed", 1)
    event = desk.get(f"/builds/{number}/events")["items"][0]
    assert (event["kind"], event["stage"], event["by"]) == ("stage", "agreed", "desk key")
    assert event["at"] == event["entered_at"] == "2026-03-02T09:00:00Z"


def test_the_next_stage_and_what_it_waits_for(desk: Program, hands: Hands) -> None:
    number = desk.build()
    path = f"/builds/{number}/next"
    assert desk.get(path) == {"stage": "agreed", "allowed": True, "ready_at": None, "holds": []}
    number = up_to(desk, hands, "fitted")
    cure = desk.glue(number, "rear grip")
    desk.post(advance(number), to="grip glued")
    assert desk.get(f"/builds/{number}/next") == {
        "stage": "seat glued",
        "allowed": False,
        "ready_at": None,
        "holds": [
            {
                "kind": "set", "reason": "The Riverbed at the rear grip has not set.",
                "clears_at": cure["set_at"], "cleared_by": "time", "waivable": False,
            },
            {
                "kind": "check",
                "reason": "The check “orientation” has not been ticked; a second person must tick it.",
                "clears_at": None, "cleared_by": "person", "waivable": True,
            },
        ],
    }  # fmt: skip


def test_a_stage_that_is_held_is_refused_with_every_hold(desk: Program) -> None:
    number = desk.build()
    problem = desk.assert_refused(409, advance(number), to="seat glued")
    assert problem["title"] == "Held"
    assert [hold["kind"] for hold in problem["holds"]] == ["order", "set", "check"]
    assert set(problem["holds"][0]) == {"kind", "reason", "clears_at", "cleared_by", "waivable"}
    assert desk.get(f"/builds/{number}")["stage"] is None


def test_the_joint_holds_to_the_minute(desk: Program, hands: Hands) -> None:
    number = up_to(desk, hands, "fitted")
    desk.glue(number, "rear grip")
    desk.post(advance(number), to="grip glued")
    said: dict[str, Any] = {"to": "seat glued", "checks": [{"name": "orientation", "by": "Ott"}]}
    hands.forward(hours=9, minutes=59)
    assert (
        desk.assert_refused(409, advance(number), **said)["holds"][0]["clears_at"] == "2026-03-02T19:00:00Z"
    )
    hands.forward(minutes=1)
    assert desk.post(advance(number), **said)["stage"] == "seat glued"


@pytest.mark.parametrize(
    ("checks", "by", "allowed"),
    [
        ([{"name": "orientation", "by": "Ott"}], "Nell", True),
        (["orientation", {"name": "orientation", "by": "Ott"}], "Nell", True),
        ([{"name": "orientation", "by": "Ott"}], "", True),
        (["orientation"], "Nell", False),
        ([{"name": "orientation"}], "Nell", False),
        ([{"name": "orientation", "by": "Nell"}], "Nell", False),
        (["something else"], "Nell", False),
        ([], "Nell", False),
    ],
)
def test_checks_are_texts_or_say_who_ticked(
    desk: Program, hands: Hands, checks: list[Any], by: str, allowed: bool
) -> None:
    number = up_to(desk, hands, "grip glued")
    said: dict[str, Any] = {"to": "seat glued", "checks": checks, "by": by}
    if allowed:
        assert desk.post(advance(number), **said)["stage"] == "seat glued"
    else:
        assert [hold["kind"] for hold in desk.assert_refused(409, advance(number), **said)["holds"]] == [
            "check"
        ]


@pytest.mark.parametrize(
    ("figure", "allowed"),
    [
        ("12 mm", True), ({"mm": 12}, True), ({"mm": 12.5}, True), ("11.5 mm", True), ("15/32 in", True),
        ("12.500001 mm", False), ({"mm": 11.499999}, False), ("1/2 in", False), ("-12 mm", False),
    ],
)  # fmt: skip
def test_a_figure_holds_to_its_tolerance(desk: Program, figure: Any, allowed: bool) -> None:
    number = desk.build()
    desk.post(advance(number), to="agreed")
    said: dict[str, Any] = {"to": "fitted", "measurements": {"rear bore": figure}}
    if allowed:
        assert desk.post(advance(number), **said)["stage"] == "fitted"
    else:
        hold = desk.assert_refused(409, advance(number), **said)["holds"][0]
        assert (hold["kind"], hold["cleared_by"], hold["waivable"]) == ("measurement", "owner", True)


@pytest.mark.parametrize("figure", ["62 g", "3°", "9"])
def test_a_figure_of_another_kind_is_refused_and_breaks_nothing(desk: Program, figure: str) -> None:
    number = desk.build()
    desk.post(advance(number), to="agreed", measurements={"rear bore": figure})
    assert desk.kinds(number) == ["measurement"]
    hold = desk.assert_refused(409, advance(number), to="fitted", measurements={"rear bore": figure})[
        "holds"
    ][0]
    assert (hold["kind"], hold["cleared_by"]) == ("measurement", "work")
    assert "it should be 15/32 in (12 mm) ±" in hold["reason"]
    desk.post(advance(number), to="fitted", measurements=BORE)


def test_a_figure_comes_back_in_both_units(desk: Program) -> None:
    number = desk.build()
    desk.post(advance(number), to="agreed", measurements={"rear bore": "15/32 in", "blank": "62 g"})
    details = desk.get(f"/builds/{number}/events")["items"][0]["details"]
    assert details["measurements"] == {"rear bore": {"mm": 11.90625, "in": "15/32"}, "blank": "62 g"}


def test_a_house_rule_is_released_by_a_desk_key_with_a_reason(desk: Program) -> None:
    number = desk.build()
    release = [{"kind": "order", "reason": "The grips were fitted before the order was written."}]
    desk.post(advance(number), to="fitted", release=release, measurements=BORE)
    details = desk.get(f"/builds/{number}/events")["items"][0]["details"]
    assert details["releases"] == release


def test_a_bench_key_releases_nothing(desk: Program, bench: Program) -> None:
    number = desk.build()
    release = [{"kind": "order", "reason": "In a hurry."}]
    bench.assert_refused(403, advance(number), to="fitted", release=release, measurements=BORE)
    assert desk.get(f"/builds/{number}/events")["items"] == []


@pytest.mark.parametrize("kind", ["set", "full_cure", "recoat", "pot_life", "suspect", "clock"])
def test_chemistry_is_released_by_nobody(desk: Program, kind: str) -> None:
    number = desk.build()
    release = [{"kind": kind, "reason": "It feels hard to me."}]
    problem = desk.assert_refused(422, advance(number), to="agreed", release=release)
    assert "not a house rule" in problem["detail"]


@pytest.mark.parametrize("release", [{"kind": "order", "reason": "  "}, {"kind": "order"}, {"kind": "luck"}])
def test_a_release_needs_a_kind_and_a_reason(desk: Program, release: dict[str, str]) -> None:
    desk.assert_refused(422, advance(desk.build()), to="fitted", release=[release], measurements=BORE)


def test_an_unknown_stage_is_refused(desk: Program) -> None:
    problem = desk.assert_refused(422, advance(desk.build()), to="grip polished")
    assert problem["errors"][0]["field"] == "to"


def test_work_may_be_logged_late_but_not_ahead(desk: Program, hands: Hands) -> None:
    number = desk.build()
    hands.forward(hours=3)
    desk.post(advance(number), to="agreed", at="2026-03-02T11:30:00+01:00", by="Nell", note="by telephone")
    event = desk.get(f"/builds/{number}/events")["items"][0]
    assert (event["at"], event["entered_at"]) == ("2026-03-02T10:30:00Z", "2026-03-02T12:00:00Z")
    assert (event["by"], event["note"]) == ("Nell", "by telephone")
    ahead = desk.assert_refused(
        422, advance(number), to="fitted", at="2026-03-02T12:00:01Z", measurements=BORE
    )
    assert ahead["errors"][0]["field"] == "at"
    early = desk.assert_refused(
        422, advance(number), to="fitted", at="2026-03-02T10:29:59Z", measurements=BORE
    )
    assert "before this build's last event" in early["detail"]
    desk.post(advance(number), to="fitted", at="2026-03-02T10:30:00Z", measurements=BORE)


def test_holds_are_judged_at_the_time_that_is_said(desk: Program, hands: Hands) -> None:
    number = up_to(desk, hands, "fitted")
    desk.glue(number, "rear grip")
    desk.post(advance(number), to="grip glued")
    hands.forward(hours=20)
    said: dict[str, Any] = {"to": "seat glued", "checks": [{"name": "orientation", "by": "Ott"}]}
    problem = desk.assert_refused(409, advance(number), at="2026-03-02T18:59:00Z", **said)
    assert [hold["kind"] for hold in problem["holds"]] == ["set"]
    desk.post(advance(number), at="2026-03-02T19:00:00Z", **said)


def test_a_stage_is_logged_once_and_the_second_hears_who_was_first(desk: Program, bench: Program) -> None:
    number = desk.build()
    desk.post(advance(number), to="agreed", by="Nell")
    problem = bench.assert_refused(409, advance(number), to="agreed")
    assert "Nell has already logged “agreed”" in problem["detail"]
    assert problem["holds"][0]["cleared_by"] == "never"
    assert problem["holds"][0]["waivable"] is False
    assert len(desk.get(f"/builds/{number}/events")["items"]) == 1


def test_a_build_is_closed_at_its_last_stage(desk: Program, hands: Hands) -> None:
    number = up_to(desk, hands, "seat glued")
    hands.forward(days=2)
    desk.post(advance(number), to="hard")
    desk.glue(number, "guide wraps", adhesive=2)
    desk.post(advance(number), to="first coat")
    hands.forward(hours=6)
    desk.glue(number, "guide wraps", adhesive=2)
    desk.post(advance(number), to="second coat")
    build = desk.post(advance(number), to="handed over")
    assert build["closed_at"] is not None
    assert desk.get(f"/builds/{number}/next") == {
        "stage": None, "allowed": False, "ready_at": None, "holds": [],
    }  # fmt: skip
    assert all(rows == [] for rows in desk.get("/bench").values())


def test_sent_back_a_build_begins_a_new_pass(desk: Program, hands: Hands) -> None:
    number = up_to(desk, hands, "seat glued")
    build = desk.post(f"/builds/{number}/send-back", to="fitted", reason="The grip turns.", by="Nell")
    assert (build["pass"], build["stage"]) == (2, "fitted")
    event = desk.get(f"/builds/{number}/events")["items"][-1]
    assert (event["kind"], event["pass"], event["by"], event["note"]) == (
        "send_back",
        2,
        "Nell",
        "The grip turns.",
    )
    assert desk.get(f"/builds/{number}/next")["stage"] == "grip glued"


def test_a_second_tap_on_sending_back_changes_nothing(desk: Program, hands: Hands) -> None:
    number = up_to(desk, hands, "seat glued")
    path, said = f"/builds/{number}/send-back", {"to": "fitted", "reason": "The grip turns."}
    desk.post(path, **said)
    assert "nothing has happened since" in desk.assert_refused(409, path, **said)["detail"]
    desk.glue(number, "rear grip")
    assert desk.post(path, **said)["pass"] == 3


def test_cures_of_an_earlier_pass_do_not_count(desk: Program, hands: Hands) -> None:
    number = up_to(desk, hands, "seat glued")
    desk.post(f"/builds/{number}/send-back", to="fitted", reason="The grip turns.")
    desk.post(advance(number), to="grip glued")
    holds = desk.get(f"/builds/{number}/next")["holds"]
    assert [(hold["kind"], hold["cleared_by"]) for hold in holds] == [("set", "work"), ("check", "person")]
    assert "in this pass" in holds[0]["reason"]


def test_a_joint_of_before_the_sending_back_is_not_slipped_in(desk: Program, hands: Hands) -> None:
    number = up_to(desk, hands, "fitted")
    mix = desk.post("/mixes", adhesive_id=1, zone_id=1)
    hands.forward(minutes=10)
    desk.post(f"/builds/{number}/send-back", to="agreed", reason="The bore is too wide.")
    cures = f"/mixes/{mix['id']}/cures"
    problem = desk.assert_refused(
        422, cures, build=number, place="rear grip", closed_at="2026-03-02T09:09:59Z"
    )
    assert problem["errors"][0]["field"] == "closed_at"
    desk.post(cures, build=number, place="rear grip", closed_at="2026-03-02T09:10:00Z")


@pytest.mark.parametrize(
    ("status", "body"),
    [
        (422, {"to": "fitted", "reason": "  "}),
        (422, {"to": "fitted"}),
        (422, {"to": "polished", "reason": "It turns."}),
        (409, {"to": "hard", "reason": "It turns."}),
    ],
)
def test_a_sending_back_that_cannot_be(
    desk: Program, hands: Hands, status: int, body: dict[str, str]
) -> None:
    number = up_to(desk, hands, "seat glued")
    desk.assert_refused(status, f"/builds/{number}/send-back", **body)
    assert desk.get(f"/builds/{number}")["pass"] == 1


def test_a_reading_key_moves_nothing(program: Callable[..., Program], desk: Program) -> None:
    number = desk.build()
    reader = program(Scope.READ)
    reader.assert_refused(403, advance(number), to="agreed")
    reader.assert_refused(403, f"/builds/{number}/send-back", to="agreed", reason="It turns.")
    reader.get(f"/builds/{number}/next")


def test_of_two_at_once_one_is_first_and_the_other_hears_who(filled: Hub, hands: Hands, server: str) -> None:
    keys = [new_key(filled, hands, Scope.DESK, name) for name in ("one", "other")]
    heads = [{"authorization": f"Bearer {key}"} for key in keys]
    together = Barrier(2)
    with httpx.Client(base_url=server + API, headers=heads[0], timeout=60) as client:
        plan = {"customer_id": 1, "title": "7 ft", "sequence_id": 1}
        numbers = [client.post("/builds", json=plan).json()["number"] for _ in range(10)]

        def race(head: dict[str, str]) -> list[httpx.Response]:
            answers = []
            with httpx.Client(base_url=server + API, headers=head, timeout=60) as racer:
                for number in numbers:
                    together.wait(30)
                    answers.append(racer.post(advance(number), json={"to": "agreed"}))
            return answers

        with ThreadPoolExecutor(2) as threads:
            for number, *pair in zip(numbers, *threads.map(race, heads), strict=True):
                assert sorted(answer.status_code for answer in pair) == [200, 409]
                loser = pair[0].status_code == 200
                winner = "one" if loser else "other"
                assert f"{winner} has already logged" in pair[loser].json()["detail"]
                assert len(client.get(f"/builds/{number}/events").json()["items"]) == 1
