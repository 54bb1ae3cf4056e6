"""Bodies are read strictly: what is not meant is refused with a sentence, and nothing breaks the server."""

import json
from typing import Any

import pytest

from shop.rules.people import Scope
from shop.web.api.json_bodies import read_json
from tests.api.conftest import Program

JSON = {"content-type": "application/json"}
LENGTH = "measurements.bore"


def assert_raw_refused(
    desk: Program, body: bytes, path: str = "/customers", headers: dict[str, str] = JSON
) -> Any:
    """The problem that a body as bytes is refused with."""
    response = desk.send("POST", path, content=body, headers=headers)
    assert response.status_code == 422, response.text
    assert response.headers["content-type"] == "application/problem+json"
    return response.json()


@pytest.mark.parametrize(
    ("body", "why"),
    [
        (b"{", "JSON"),
        (b"", "body: This is needed."),
        (b"null", "body: This must be a JSON object."),
        (b'{"name": "Bo",}', "JSON"),
        (b"\xff\xfe", "UTF-8"),
        (b'{"name": "\xc3\x28"}', "UTF-8"),
        (b'{"name": "Bo\x00"}', "JSON"),
        (b'{"name": "Bo\\u0000"}', "cannot be kept"),
        (b'{"name": "Bo \\ud83d"}', "cannot be kept"),
        (b'{"\\ud83d": 1}', "cannot be kept"),
        (b'{"name": ["Bo", {"a": "\\udc00"}]}', "cannot be kept"),
        (b'{"name": NaN}', "NaN is not a JSON number"),
        (b'{"name": Infinity}', "Infinity is not a JSON number"),
        (b'{"name": -Infinity}', "-Infinity is not a JSON number"),
        (b'{"name": 1e999}', "too large"),
        (b'{"name": ' + b"9" * 5000 + b"}", "too large"),
        (b'{"name": 9223372036854775808}', "too large"),
        (b'{"name":' + b"[" * 200_000 + b"]" * 200_000 + b"}", "nested too deeply"),
    ],
)
def test_what_is_not_json_is_refused(desk: Program, body: bytes, why: str) -> None:
    assert why in assert_raw_refused(desk, body)["detail"]


@pytest.mark.parametrize(
    ("body", "name"),
    [
        (b'{"name": "Bo", "email": "bo@example.org", "name": "Ann"}', "name"),
        (b'{"name": "Bo", "name": "Bo"}', "name"),
        (b'{"name": "Bo", "\\u006eame": "Ann"}', "name"),
        (b'{"name": "Bo", "emial": 1, "emial": 2}', "emial"),
        (b'{"name": [[{"deep": 1, "deep": 2}]]}', "deep"),
        (b'{"' + b"n" * 5000 + b'": 1, "' + b"n" * 5000 + b'": 2}', "n" * 60),
    ],
)
def test_a_name_given_twice_is_refused_by_its_name(desk: Program, body: bytes, name: str) -> None:
    problem = assert_raw_refused(desk, body)
    assert problem["errors"] == [
        {"field": name, "detail": f"“{name}” is given more than once; give it once."}
    ]
    assert [kept["name"] for kept in desk.get("/customers")["items"]] == ["Ada Thorn"]


def test_a_name_given_twice_that_cannot_be_kept_is_not_said_back(desk: Program) -> None:
    problem = assert_raw_refused(desk, b'{"\\ud83d": 1, "\\ud83d": 2}')
    assert "cannot be kept" in problem["detail"]


def test_the_same_name_in_two_objects_is_no_repetition() -> None:
    assert read_json(b'{"rows": [{"at": 1, "od": 2}, {"at": 3, "od": {"od": 4}}]}') == {
        "rows": [{"at": 1, "od": 2}, {"at": 3, "od": {"od": 4}}]
    }


def test_a_parameter_given_twice_is_refused_by_its_name(desk: Program) -> None:
    response = desk.send("GET", "/customers?limit=1&limit=2")
    assert response.status_code == 422
    assert response.json()["errors"] == [
        {"field": "limit", "detail": "“limit” is given more than once; give it once."}
    ]


def test_a_whole_surrogate_pair_is_a_letter_like_any_other(desk: Program) -> None:
    response = desk.send("POST", "/customers", content=b'{"name": "Bo \\ud83d\\ude00"}', headers=JSON)
    assert response.json()["name"] == "Bo 😀"


@pytest.mark.parametrize(
    "kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""]
)
def test_a_body_of_another_content_type_is_refused(desk: Program, kind: str) -> None:
    problem = assert_raw_refused(desk, b'{"name": "Bo"}', headers={"content-type": kind})
    assert problem["errors"] == [
        {"field": "body", "detail": "Send the body as JSON, with Content-Type: application/json."}
    ]


def test_a_content_type_with_a_charset_is_json(desk: Program) -> None:
    headers = {"content-type": "application/json; charset=utf-8"}
    assert desk.send("POST", "/customers", content=b'{"name": "Bo"}', headers=headers).status_code == 201


@pytest.mark.parametrize("body", ["[]", "5", '"text"', "true"])
def test_a_body_that_is_no_record_is_refused(desk: Program, body: str) -> None:
    assert_raw_refused(desk, body.encode())


def test_an_unknown_field_is_refused_by_name(desk: Program) -> None:
    problem = desk.assert_refused(422, "/customers", name="Bo", emial="bo@example.org")
    assert problem["errors"] == [{"field": "emial", "detail": "There is no such field in this call."}]


def test_a_body_of_nothing_but_mistakes_gets_a_short_answer(desk: Program) -> None:
    body: dict[str, Any] = {f"field{number}": 1 for number in range(5000)}
    problem = desk.assert_refused(422, "/customers", **body)
    assert len(problem["errors"]) == 20


@pytest.mark.parametrize("value", [True, False, "1", 1.5, [1], {}, 0, -1, 2**31, 2**63 - 1, None])
@pytest.mark.parametrize("field", ["adhesive_id", "zone_id"])
def test_a_number_is_a_number(desk: Program, field: str, value: object) -> None:
    body: dict[str, Any] = {"adhesive_id": 1, "zone_id": 1, field: value}
    assert desk.assert_refused(422, "/mixes", **body)["errors"][0]["field"] == field


def test_a_whole_number_may_be_written_with_a_point(desk: Program) -> None:
    response = desk.send("POST", "/mixes", content=b'{"adhesive_id": 1.0, "zone_id": 1}', headers=JSON)
    assert response.status_code == 201


@pytest.mark.parametrize("value", [0, 1, "true", "on", "yes", None])
def test_a_truth_is_true_or_false(desk: Program, value: object) -> None:
    number = desk.build()
    desk.post(f"/builds/{number}/advance", to="agreed")
    problem = desk.assert_refused(422, "/events/1/correct", undone=value, reason="It was another rod.")
    assert problem["errors"] == [{"field": "undone", "detail": "Must be true or false."}]


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("/customers", {"name": "a" * 121}),
        ("/customers", {"name": "a", "email": "a" * 255}),
        ("/customers", {"name": "a", "notes": "a" * 4001}),
        ("/builds", {"customer_id": 1, "sequence_id": 1, "title": "a" * 121}),
        ("/builds/26-001/advance", {"to": "a" * 81}),
        ("/builds/26-001/advance", {"to": "agreed", "by": "a" * 81}),
        ("/builds/26-001/advance", {"to": "agreed", "note": "a" * 1001}),
        ("/builds/26-001/advance", {"to": "agreed", "checks": ["a" * 81]}),
        ("/builds/26-001/advance", {"to": "agreed", "checks": ["a"] * 51}),
        ("/builds/26-001/advance", {"to": "agreed", "measurements": {"a" * 81: "1 mm"}}),
        ("/builds/26-001/send-back", {"to": "agreed", "reason": "a" * 501}),
        ("/mixes/1/suspect", {"reason": "a" * 501}),
    ],
)
def test_a_text_that_is_too_long_is_refused(desk: Program, path: str, body: dict[str, Any]) -> None:
    desk.build()
    desk.post("/mixes", adhesive_id=1, zone_id=1)
    desk.assert_refused(422, path, **body)


@pytest.mark.parametrize("name", ["", "   ", "\t\n"])
def test_a_name_of_nothing_is_refused(desk: Program, name: str) -> None:
    assert desk.assert_refused(422, "/customers", name=name)["errors"][0]["field"] == "name"


@pytest.mark.parametrize(
    "figure",
    [
        True, None, 5, 5.5, [], {}, "", "12 furlongs", "twelve", {"mm": "12"}, {"mm": True}, {"mm": None},
        {"mm": 12, "in": "1/2"}, {"in": "1/2"}, {"mm": 1e300}, {"mm": 2**62}, "1/0 in", "9" * 70 + " mm",
    ],
)  # fmt: skip
def test_a_figure_that_cannot_be_is_refused(desk: Program, figure: object) -> None:
    number = desk.build()
    problem = desk.assert_refused(
        422, f"/builds/{number}/advance", to="agreed", measurements={"bore": figure}
    )
    assert problem["errors"][0]["field"] == LENGTH


def test_the_answer_to_a_write_is_the_record_as_it_is_kept(desk: Program) -> None:
    made = desk.post("/customers", name="  Bo Lind ", notes="Äpfel 😀 \n<b>")
    assert made == desk.get(f"/customers/{made['id']}")
    assert (made["name"], made["notes"]) == ("Bo Lind", "Äpfel 😀 \n<b>")


def test_a_malformed_body_without_a_key_does_no_harm(program: Any) -> None:
    stranger: Program = program(Scope.DESK)
    stranger.headers = {}
    response = stranger.send(
        "POST", "/customers", content=json.dumps({"name": "Bo"}).encode()[:-1], headers=JSON
    )
    assert response.status_code in (401, 422)
