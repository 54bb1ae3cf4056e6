"""The API of make-ups: what goes in, what comes out, and every way it is refused."""

from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Scope
from shop.web.deps import Hub
from tests.api.conftest import Program, new_key
from tests.conftest import Hands
from tests.make_up_shop import NUMBER, fill_for_make_ups

PATH = f"/builds/{NUMBER}/make-up"


@pytest.fixture
def keyed_for(hub: Hub, hands: Hands, client: TestClient) -> Callable[[Scope], Program]:
    with hub.database.writing(hands.wall_at) as session:
        fill_for_make_ups(session, hands.wall_at)
    return lambda scope: Program(client, new_key(hub, hands, scope))


@pytest.fixture
def program(keyed_for: Callable[[Scope], Program]) -> Program:
    return keyed_for(Scope.DESK)


def whole(**changes: Any) -> dict[str, Any]:
    return {
        "parts": [
            {"place": "rear grip", "component_id": 1, "from_butt": "1/2 in", "to_butt": "9 1/2 in"},
            {"place": "reel seat", "component_id": 2, "from_butt": "9 1/2 in", "to_butt": {"mm": 355.6}},
        ],
        "guides": [{"from_tip": "4 in", "component_id": 4}, {"from_tip": "52 in"}],
        "bond_id": 1,
        **changes,
    }


def test_a_make_up_comes_back_with_the_figures_that_follow(program: Program) -> None:
    made = program.post(PATH, **whole())
    assert (made["revision"], made["by"], made["bond_id"], made["finish_id"]) == (1, "desk key", 1, None)
    assert made["parts"][1] == {
        "place": "reel seat", "kind": "reel seat", "name": "Casting seat", "component_id": 2,
        "from_butt": {"mm": 241.3, "in": "9 1/2"}, "to_butt": {"mm": 355.6, "in": "14"},
    }  # fmt: skip
    assert made["guides"][1]["from_butt"] == {"mm": 812.8, "in": "32"}
    figures = {figure["name"]: figure for figure in made["figures"]}
    length = figures["rear grip length"]
    assert length["meant"] == {"mm": 238.91875, "in": "9 13/32"}
    assert length["tolerance"] == {"mm": 0.79375, "in": "1/32"}
    assert length["sum"].startswith("/sums/cut-length?")
    bore = figures["rear grip bore, butt end"]
    assert bore["meant"] == {"mm": 15.1384, "in": "0.596"}
    assert bore["tolerance"] == {"mm": 0.0762, "in": "0.003"}
    assert figures["handle length"]["sum"] == ""
    assert any("arbor" in trouble for trouble in made["troubles"])
    assert program.get(PATH) == made


def test_an_earlier_revision_can_be_asked_for(program: Program) -> None:
    program.post(PATH, **whole())
    program.post(PATH, **whole(guides=[], revision=1, reason="no guides yet"))
    assert program.get(PATH)["revision"] == 2
    assert len(program.get(PATH, revision=1)["guides"]) == 2
    assert "revision 3" in program.assert_refused(404, f"{PATH}?revision=3", method="GET")["detail"]


def test_the_same_again_keeps_the_revision(program: Program) -> None:
    program.post(PATH, **whole())
    assert program.post(PATH, **whole())["revision"] == 1


def test_the_shops_measures_count(program: Program) -> None:
    made = program.post(PATH, **whole(ways={"clearance": "0.005 in", "light_load_g": 20, "reel_g": 200}))
    figures = {figure["name"]: figure for figure in made["figures"]}
    assert figures["rear grip bore, butt end"]["says"].startswith("0.600 in")


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"parts": [{"place": "rear grip", "component_id": 9, "from_butt": "1 in", "to_butt": "2 in"}]},
         "parts.1.component", "choose another"),
        ({"parts": [{"place": "rear grip", "component_id": 1, "from_butt": "9", "to_butt": "2 in"}]},
         "parts.0.from_butt", "no unit"),
        ({"guides": [{"from_tip": "9 in"}, {"from_tip": "4 in"}]}, "guides.2.from_tip", "out of order"),
        ({"guides": [{"from_tip": "83 in"}]}, "guides.1.from_tip", "on the handle"),
        ({"bond_id": 9}, "bond_id", "choose another"),
        ({"ways": {"light_load_g": 0}}, "ways.light_load_g", "greater than 0"),
        ({"ways": {"hope": "1 in"}}, "ways.hope", "no such field"),
    ],
)  # fmt: skip
def test_bad_input_names_the_field(program: Program, changes: dict[str, Any], field: str, words: str) -> None:
    problem = program.assert_refused(422, PATH, **whole(**changes))
    assert [error["field"] for error in problem["errors"]] == [field]
    assert words in problem["errors"][0]["detail"]


def test_a_revision_that_was_overtaken_is_refused(program: Program) -> None:
    program.post(PATH, **whole())
    assert "Somebody has saved" in program.assert_refused(409, PATH, **whole(revision=0))["detail"]


def test_nothing_is_on_file_before_the_first(program: Program) -> None:
    assert "no make-up" in program.assert_refused(404, PATH, method="GET")["detail"]
    program.assert_refused(404, "/builds/26-999/make-up", **whole())


def test_a_key_that_may_only_look_cannot_write(keyed_for: Callable[[Scope], Program]) -> None:
    looking = keyed_for(Scope.READ)
    looking.assert_refused(403, PATH, **whole())
    looking.assert_refused(404, PATH, method="GET")
