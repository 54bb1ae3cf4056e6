"""The API of specs and orders: revisions in and out, enquiries taken on, closed and reopened, refusals."""

from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from shop.rules.orders import REASONS
from shop.rules.people import Scope
from shop.rules.spec import HANDLE_PLACES, HANDS, SIDES
from shop.web.api.orders import DeclineIn
from shop.web.api.specs import HandleIn, SpecIn
from shop.web.deps import Hub
from tests.api.conftest import Program, new_key
from tests.conftest import Hands
from tests.spec_shop import BLANK, CUSTOMER, ENQUIRY, ORDER, open_desk

SPECS = f"/builds/{ENQUIRY}/specs"


@pytest.fixture
def keyed_for(hub: Hub, hands: Hands, client: TestClient) -> Callable[[Scope], Program]:
    with hub.database.writing(hands.wall_at) as session:
        open_desk(hub, session, hands.wall_at)
    return lambda scope: Program(client, new_key(hub, hands, scope))


@pytest.fixture
def program(keyed_for: Callable[[Scope], Program]) -> Program:
    return keyed_for(Scope.DESK)


def test_a_spec_comes_back_as_it_was_sent(program: Program) -> None:
    sent = {
        "title": "7 ft 2 in casting", "blank_words": "a stiff one", "length_words": "7 ft 2 in",
        "handle": [{"place": "rear grip", "said": "cork", "length": "9 1/2 in"},
                   {"place": "gimbal", "said": "steel"}],
        "winding_side": "right", "inscription": "Tight lines", "inscription_again": "Tight lines",
        "trim_colour": "#b08d2e", "trim_name": "gold", "guide_count": 9, "wishes": "A short\nboot.",
    }  # fmt: skip
    made = program.post(SPECS, **sent, revision=1, reason="rang", asked_by="shop")
    assert {name: made[name] for name in sent if name != "handle"} == {
        name: value for name, value in sent.items() if name != "handle"
    }
    assert made["handle"] == [
        {"place": "rear grip", "said": "cork", "length": {"mm": 241.3, "in": "9 1/2"}},
        {"place": "gimbal", "said": "steel", "length": None},
    ]
    # What was left out is the build's.
    assert (made["rod_kind"], made["blank_id"], made["thread_colour"]) == ("casting", BLANK, "#1f4e7a")
    assert (made["revision"], made["by"], made["reason"], made["asked_by"], made["rework"]) == (
        2, "desk key", "rang", "shop", [],
    )  # fmt: skip
    assert program.get(f"/builds/{ENQUIRY}")["title"] == "7 ft 2 in casting"


def test_enquiries_are_listed_with_what_each_waits_for(program: Program) -> None:
    listed = program.get("/enquiries")
    assert listed["next"] is None
    (item,) = listed["items"]
    assert (item["build"], item["customer_id"], item["created_at"]) == (
        ENQUIRY, CUSTOMER, program.get(f"/builds/{ENQUIRY}")["created_at"],
    )  # fmt: skip
    assert (item["waits_for"], item["says"]) == ("quote", "A quote.")


def test_revisions_are_listed_in_order_and_by_page(program: Program) -> None:
    program.post(SPECS, power="heavy")
    assert program.post(SPECS, power="heavy")["revision"] == 2
    program.post(SPECS, power="light", blank_id=None)
    assert [item["revision"] for item in program.get(SPECS)["items"]] == [1, 2, 3]
    page = program.get(SPECS, limit=2)
    assert ([item["power"] for item in page["items"]], page["next"]) == (["", "heavy"], "2")
    assert [item["blank_id"] for item in program.get(SPECS, after=2)["items"]] == [None]
    assert program.get(f"/builds/{ORDER}/specs") == {"items": [], "next": None}


@pytest.mark.parametrize(
    ("body", "field", "words"),
    [
        ({"title": " "}, "title", "goes by that title"),
        ({"guide_count": 31}, "guide_count", "less than or equal to 30"),
        ({"guide_count": "9"}, "guide_count", "Must be a number"),
        ({"handle": [{"place": "rear grip"}]}, "handle.1.said", "how long it is"),
        ({"handle": [{"place": "keel", "said": "x"}]}, "handle.0.place", "should be"),
        ({"handle": [{"place": "arbor", "length": "9"}]}, "handle.0.length", "no unit"),
        ({"inscription": "a", "inscription_again": "b"}, "inscription_again", "differ"),
        ({"trim_colour": "gold"}, "trim_colour", "pattern"),
        ({"blank_id": 99}, "blank_id", "choose another"),
        ({"rod_kind": "boat"}, "rod_kind", "No sequence"),
        ({"hope": "x"}, "hope", "no such field"),
    ],
)
def test_bad_input_names_the_field(program: Program, body: dict[str, Any], field: str, words: str) -> None:
    problem = program.assert_refused(422, SPECS, **body)
    assert [error["field"] for error in problem["errors"]] == [field]
    assert words in problem["errors"][0]["detail"]


def test_a_revision_that_was_overtaken_is_refused(program: Program) -> None:
    program.post(SPECS, power="heavy", revision=1)
    assert "revision 2" in program.assert_refused(409, SPECS, power="light", revision=1)["detail"]
    program.assert_refused(404, "/builds/26-099/specs", power="light")
    program.assert_refused(404, "/builds/26-099/specs", method="GET")


def test_an_enquiry_is_made_taken_on_declined_and_reopened(program: Program) -> None:
    plan = {"customer_id": CUSTOMER, "title": "9 ft fly", "rod_kind": "fly", "is_enquiry": True}
    number = program.post("/builds", **plan)["number"]
    assert number not in str(program.get("/bench"))
    here = f"/builds/{number}"
    closed = program.post(f"{here}/decline", reason="the price", note="too dear")
    assert (closed["closed_as"], closed["is_enquiry"]) == ("declined", True)
    assert program.get(f"{here}/next") == {"stage": None, "allowed": False, "ready_at": None, "holds": []}
    assert program.get(f"{here}/events")["items"][-1]["note"] == "Declined: the price."
    again = program.post(f"{here}/reopen")
    assert (again["closed_at"], again["closed_as"], again["is_enquiry"]) == (None, "", True)
    assert program.post(f"{here}/take-on")["is_enquiry"] is False
    assert number in str(program.get("/bench"))
    assert program.kinds(number) == []
    assert program.post(f"{here}/decline", reason="changed their mind")["closed_as"] == "cancelled"
    assert "reopen it first" in program.assert_refused(409, f"{here}/advance", to="agreed")["detail"]


def test_orders_are_refused_with_the_reason(program: Program) -> None:
    assert "already" in program.assert_refused(409, f"/builds/{ORDER}/take-on")["detail"]
    assert "is open" in program.assert_refused(409, f"/builds/{ORDER}/reopen")["detail"]
    program.assert_refused(422, f"/builds/{ORDER}/decline", reason="a whim")
    program.assert_refused(404, "/builds/26-099/decline", reason="the price")
    problem = program.assert_refused(422, f"/builds/{ENQUIRY}", method="PATCH", title="another")
    assert "follows the spec" in problem["errors"][0]["detail"]


def test_a_key_that_may_only_look_cannot_write(keyed_for: Callable[[Scope], Program]) -> None:
    looking = keyed_for(Scope.READ)
    assert len(looking.get(SPECS)["items"]) == 1
    for path in (SPECS, f"/builds/{ENQUIRY}/take-on", f"/builds/{ORDER}/reopen"):
        looking.assert_refused(403, path)


def test_the_words_of_the_api_are_those_of_the_rules() -> None:
    def choices(model: Any, field: str) -> list[str]:
        schema = model.model_json_schema()["properties"][field]
        return [word for word in schema["enum"] if word]

    assert choices(DeclineIn, "reason") == list(REASONS)
    assert choices(HandleIn, "place") == ["butt cap", "gimbal", *list(HANDLE_PLACES)[2:]]
    assert choices(SpecIn, "winding_side") == list(HANDS)
    assert choices(SpecIn, "inscription_side") == list(SIDES)
