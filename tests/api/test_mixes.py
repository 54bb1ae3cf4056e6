"""Mixes and cures: times, pot life, puddles, suspicions, verdicts and corrections."""

from typing import Any

import pytest

from tests.api.conftest import Program
from tests.conftest import Hands


def mixed(desk: Program, adhesive: int = 1, **said: Any) -> Any:
    return desk.post("/mixes", adhesive_id=adhesive, zone_id=1, **said)


def closed(desk: Program, mix: int, number: str, place: str = "rear grip", **said: Any) -> Any:
    return desk.post(f"/mixes/{mix}/cures", build=number, place=place, **said)


def test_a_mix_says_until_when_it_may_be_used(desk: Program) -> None:
    mix = mixed(desk)
    assert (mix["mixed_at"], mix["pot_life_ends_at"]) == ("2026-03-02T09:00:00Z", "2026-03-02T09:30:00Z")
    assert (mix["adhesive"], mix["puddle"], mix["suspect"], mix["by"]) == ("Riverbed", "", "", "desk key")
    assert desk.get(f"/mixes/{mix['id']}") == mix


@pytest.mark.parametrize("said", [{"adhesive_id": 99}, {"zone_id": 99}])
def test_a_mix_of_what_is_not_on_file(desk: Program, said: dict[str, int]) -> None:
    body: dict[str, Any] = {"adhesive_id": 1, "zone_id": 1, **said}
    desk.assert_refused(404, "/mixes", **body)


def test_a_cure_says_its_times(desk: Program, hands: Hands) -> None:
    number, mix = desk.build(), mixed(desk)["id"]
    hands.forward(minutes=10)
    cure = closed(desk, mix, number, closed_at="2026-03-02T10:05:00+01:00", by="Nell")
    assert cure == {
        "id": 1, "build": number, "place": "rear grip", "mix_id": mix, "adhesive": "Riverbed",
        "zone": "bench", "pass": 1, "closed_at": "2026-03-02T09:05:00Z", "by": "Nell",
        "set_at": "2026-03-02T19:05:00Z",
        "full_at": "2026-03-03T09:05:00Z", "recoat_from": None, "recoat_until": None, "stalled": False,
        "failed": "", "corrects": None, "corrected_by": None, "turned_at": None, "closed_in": "bench",
        "moves": [], "sheet_mark": "", "warnings": [],
    }  # fmt: skip
    assert desk.get("/cures/1") == {name: said for name, said in cure.items() if name != "warnings"}
    coat = closed(desk, mixed(desk, adhesive=2)["id"], number, "guide wraps")
    assert (coat["recoat_from"], coat["recoat_until"]) == ("2026-03-02T15:10:00Z", "2026-03-03T05:10:00Z")


def test_a_cure_that_is_too_cold_is_stalled_and_has_no_times(desk: Program) -> None:
    cellar = desk.post("/zones", name="cellar", assumed_c=8)
    cure = closed(desk, mixed(desk)["id"], desk.build(), zone_id=cellar["id"])
    assert (cure["stalled"], cure["set_at"], cure["full_at"]) == (True, None, None)


@pytest.mark.parametrize(
    ("minutes", "allowed"), [(0, True), (30, True), (31, False)], ids=["at once", "at the end", "after it"]
)
def test_the_pot_life_is_not_waved_through(desk: Program, hands: Hands, minutes: int, allowed: bool) -> None:
    number, mix = desk.build(), mixed(desk)["id"]
    hands.forward(minutes=minutes)
    if allowed:
        closed(desk, mix, number)
    else:
        problem = desk.assert_refused(409, f"/mixes/{mix}/cures", build=number, place="rear grip")
        hold = problem["holds"][0]
        assert (hold["kind"], hold["cleared_by"], hold["waivable"]) == ("pot_life", "never", False)
        closed(desk, mix, number, closed_at="2026-03-02T09:30:00Z")


@pytest.mark.parametrize(
    ("status", "said"),
    [
        (422, {"closed_at": "2026-03-02T08:59:59Z"}), (422, {"closed_at": "2026-03-02T09:00:01Z"}),
        (422, {"place": "  "}), (422, {"place": "a" * 61}), (404, {"build": "99-999"}),
        (404, {"zone_id": 99}),
    ],
)  # fmt: skip
def test_a_cure_that_cannot_be(desk: Program, status: int, said: dict[str, Any]) -> None:
    body = {"build": desk.build(), "place": "rear grip", **said}
    desk.assert_refused(status, f"/mixes/{mixed(desk)['id']}/cures", **body)


def glued(desk: Program) -> tuple[str, Any]:
    """A build that waits for its rear grip alone, and the grip's cure."""
    number = desk.build()
    desk.post(f"/builds/{number}/advance", to="agreed")
    desk.post(f"/builds/{number}/advance", to="fitted", measurements={"rear bore": "12 mm"})
    cure = desk.glue(number, "rear grip")
    desk.post(f"/builds/{number}/advance", to="grip glued", checks=[{"name": "orientation", "by": "Ott"}])
    return number, cure


def test_a_tacky_puddle_keeps_the_joint_shut_until_it_is_firm(desk: Program, hands: Hands) -> None:
    number, cure = glued(desk)
    puddle = f"/mixes/{cure['mix_id']}/puddle"
    hands.forward(hours=5)
    assert desk.post(puddle, state="tacky")["puddle"] == "tacky"
    hands.forward(hours=5)
    assert desk.kinds(number) == [], "soft before its time says nothing"
    desk.post(puddle, state="tacky")
    hands.forward(hours=5)
    assert desk.kinds(number) == ["set"]
    assert desk.post(puddle, state="firm", by="Nell")["puddle"] == "firm"
    assert desk.kinds(number) == []


def test_the_last_touch_of_a_puddle_counts_whenever_it_is_entered(desk: Program, hands: Hands) -> None:
    number, cure = glued(desk)
    puddle = f"/mixes/{cure['mix_id']}/puddle"
    hands.forward(hours=12)
    desk.post(puddle, state="tacky")
    mix = desk.post(puddle, state="firm", at="2026-03-02T20:00:00Z")
    assert mix["puddle"] == "tacky"
    assert desk.kinds(number) == ["set"]


@pytest.mark.parametrize(
    "body",
    [{"state": "hard"}, {}, {"state": "firm", "at": "2026-03-02T08:59:59Z"},
     {"state": "firm", "at": "2026-03-02T09:00:01Z"}],
)  # fmt: skip
def test_a_touch_that_cannot_be(desk: Program, body: dict[str, str]) -> None:
    desk.assert_refused(422, f"/mixes/{mixed(desk)['id']}/puddle", **body)


def test_a_suspect_mix_holds_all_its_builds_until_the_verdict(desk: Program, bench: Program) -> None:
    mix = mixed(desk)["id"]
    numbers = [desk.build(), desk.build()]
    for number in numbers:
        closed(desk, mix, number)
    other = desk.build()
    assert bench.post(f"/mixes/{mix}/suspect", reason="Poured by eye.")["suspect"] == "Poured by eye."
    assert [desk.kinds(number) for number in [*numbers, other]] == [["suspect"], ["suspect"], []]
    verdict = {"verdict": "good", "reason": "Hard in the morning."}
    bench.assert_refused(403, f"/mixes/{mix}/verdict", **verdict)
    assert desk.post(f"/mixes/{mix}/verdict", **verdict)["suspect"] == ""
    assert [desk.kinds(number) for number in numbers] == [[], []]
    desk.assert_refused(409, f"/mixes/{mix}/verdict", **verdict)


def test_the_verdict_redo_fails_every_joint_of_the_mix(desk: Program, hands: Hands) -> None:
    number, cure = glued(desk)
    hands.forward(hours=10)
    assert desk.kinds(number) == []
    desk.post(f"/mixes/{cure['mix_id']}/suspect", reason="Poured by eye.")
    desk.post(f"/mixes/{cure['mix_id']}/verdict", verdict="redo", reason="Rubber.")
    assert desk.get(f"/cures/{cure['id']}")["failed"] == "Verdict on the mix: Rubber."
    holds = desk.get(f"/builds/{number}/next")["holds"]
    assert [(hold["kind"], hold["cleared_by"]) for hold in holds] == [("check", "person"), ("set", "work")]
    desk.glue(number, "rear grip")
    assert desk.get(f"/builds/{number}/next")["holds"][1]["clears_at"] == "2026-03-03T05:00:00Z"


def test_nothing_more_comes_of_a_mix_that_is_to_be_done_again(desk: Program, bench: Program) -> None:
    number, cure = glued(desk)
    mix = cure["mix_id"]
    desk.post(f"/mixes/{mix}/suspect", reason="Poured by eye.")
    desk.post(f"/mixes/{mix}/verdict", verdict="redo", reason="Rubber.")
    late = bench.assert_refused(409, f"/mixes/{mix}/cures", build=number, place="rear grip")
    again = bench.assert_refused(409, f"/cures/{cure['id']}/correct", failed=False, reason="Looks fine.")
    for problem in (late, again):
        assert [(hold["kind"], hold["cleared_by"]) for hold in problem["holds"]] == [("suspect", "never")]
    assert desk.kinds(number) == ["check", "set"]
    right = bench.post(
        f"/cures/{cure['id']}/correct", mix_id=mixed(desk)["id"], failed=False, reason="Other."
    )
    assert (right["failed"], right["closed_at"]) == ("", cure["closed_at"])


def test_a_mix_put_right_shuts_what_was_closed_with_it_too_late(desk: Program, hands: Hands) -> None:
    number, cure = glued(desk)
    hands.forward(hours=10)
    assert desk.kinds(number) == []
    desk.post(f"/mixes/{cure['mix_id']}/correct", mixed_at="2026-03-02T08:29:00Z", reason="Read wrong.")
    holds = desk.get(f"/builds/{number}/next")["holds"]
    assert [(hold["kind"], hold["cleared_by"]) for hold in holds] == [("pot_life", "never")]


@pytest.mark.parametrize("body", [{"verdict": "fine", "reason": "x"}, {"verdict": "good", "reason": " "}, {}])
def test_a_verdict_that_cannot_be(desk: Program, body: dict[str, str]) -> None:
    mix = mixed(desk)["id"]
    desk.post(f"/mixes/{mix}/suspect", reason="Poured by eye.")
    desk.assert_refused(422, f"/mixes/{mix}/verdict", **body)


def test_a_corrected_cure_stays_and_is_pointed_at(desk: Program, hands: Hands) -> None:
    number, cure = glued(desk)
    hands.forward(minutes=20)
    right = desk.post(f"/cures/{cure['id']}/correct", closed_at="2026-03-02T09:15:00Z", reason="Late.")
    assert (right["corrects"], right["closed_at"]) == (cure["id"], "2026-03-02T09:15:00Z")
    assert right["set_at"] == "2026-03-02T19:15:00Z"
    old = desk.get(f"/cures/{cure['id']}")
    assert (old["corrected_by"], old["closed_at"]) == (right["id"], "2026-03-02T09:00:00Z")
    assert desk.get(f"/builds/{number}/next")["holds"][0]["clears_at"] == "2026-03-02T19:15:00Z"
    problem = desk.assert_refused(409, f"/cures/{cure['id']}/correct", place="reel seat", reason="Again.")
    assert f"cure {right['id']}" in problem["detail"]


def test_a_joint_that_came_loose_counts_no_more(desk: Program, hands: Hands) -> None:
    number, cure = glued(desk)
    hands.forward(hours=10)
    right = desk.post(f"/cures/{cure['id']}/correct", failed=True, reason="It came loose.")
    assert right["failed"] == "It came loose."
    assert [hold["cleared_by"] for hold in desk.get(f"/builds/{number}/next")["holds"]] == ["work"]
    desk.post(f"/cures/{right['id']}/correct", failed=False, reason="It was the next rod's.")
    assert desk.kinds(number) == []


def test_a_joint_closed_too_late_may_still_be_failed_or_put_elsewhere(desk: Program, hands: Hands) -> None:
    number = desk.build()
    mix = mixed(desk)["id"]
    hands.forward(minutes=25)
    cure = closed(desk, mix, number)
    desk.post(f"/mixes/{mix}/correct", mixed_at="2026-03-02T08:30:00Z", reason="Mixed earlier.")
    path = f"/cures/{cure['id']}/correct"
    desk.assert_refused(409, path, closed_at="2026-03-02T09:20:00Z", reason="Earlier.")
    right = desk.post(path, place="reel seat", failed=True, reason="Too late.")
    assert (right["place"], right["failed"]) == ("reel seat", "Too late.")


@pytest.mark.parametrize(
    ("status", "said"),
    [
        (422, {}), (422, {"reason": " ", "failed": True}), (404, {"mix_id": 99}), (404, {"zone_id": 99}),
        (422, {"closed_at": "2026-03-02T08:00:00Z"}), (422, {"closed_at": "2026-03-02T09:00:01Z"}),
        (422, {"mix_id": 0}), (422, {"place": " "}),
    ],
)  # fmt: skip
def test_a_correction_of_a_cure_that_cannot_be(desk: Program, status: int, said: dict[str, Any]) -> None:
    cure = desk.glue(desk.build(), "rear grip")
    body = {"reason": "Wrong.", **said}
    desk.assert_refused(status, f"/cures/{cure['id']}/correct", **body)


def test_a_corrected_mix_moves_the_times_of_its_cures(desk: Program, hands: Hands) -> None:
    number = desk.build()
    mix = mixed(desk)["id"]
    hands.forward(minutes=10)
    cure = closed(desk, mix, number)
    assert cure["recoat_from"] is None
    right = desk.post(
        f"/mixes/{mix}/correct", adhesive_id=2, mixed_at="2026-03-02T09:05:00Z", reason="Label."
    )
    assert (right["id"], right["adhesive"]) == (mix, "Stillwater")
    assert right["pot_life_ends_at"] == "2026-03-02T09:35:00Z"
    assert desk.get(f"/cures/{cure['id']}")["recoat_from"] == "2026-03-02T15:10:00Z"
    assert [item["id"] for item in desk.get("/mixes")["items"]] == [mix]


@pytest.mark.parametrize(
    ("status", "said"),
    [
        (422, {}), (422, {"reason": " ", "zone_id": 1}), (404, {"adhesive_id": 99}), (404, {"zone_id": 99}),
        (422, {"mixed_at": "2026-03-02T09:00:01Z"}), (422, {"mixed_at": "2026-03-02T10:00:00Z"}),
    ],
)  # fmt: skip
def test_a_correction_of_a_mix_that_cannot_be(desk: Program, status: int, said: dict[str, Any]) -> None:
    cure = desk.glue(desk.build(), "rear grip")
    body = {"reason": "Wrong.", **said}
    desk.assert_refused(status, f"/mixes/{cure['mix_id']}/correct", **body)
