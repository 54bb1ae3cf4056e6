"""The OpenAPI document says what is so, and the page for people shows all of it."""

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any, get_args

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from pydantic import BaseModel

from shop.app import create_app
from shop.rules.people import SCOPE_RIGHTS
from shop.rules.sequences import ROD_KINDS
from shop.web.api.builds import RodKind
from shop.web.deps import Hub, writing_session
from shop.web.openapi import calls_of, document_of, right_of
from tests.conftest import House

PROBLEM = "application/problem+json"
WRITES = {"post", "patch", "delete", "put"}
# Numbers that count or name something and so have no unit.
PLAIN_NUMBERS = re.compile(
    r"(^|_)(id|ids|pass|version|pieces|count|builds|status|corrects|corrected_by|accepted|repeated)$"
)


@pytest.fixture(scope="module")
def app(house: House) -> FastAPI:
    """The app, for what its routes say; no test here adds to them."""
    return house.app


@pytest.fixture(scope="module")
def document(app: FastAPI) -> dict[str, Any]:
    return document_of(app)


def calls(document: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Method, path and description of every call."""
    for path, methods in document["paths"].items():
        for method, call in methods.items():
            yield method, path, call


def writes(method: str, call: dict[str, Any]) -> bool:
    """Whether a call changes something, and so may be overtaken and may carry a key for its retries."""
    return method in WRITES and "x-writes-nothing" not in call


def test_only_what_has_no_session_to_write_with_may_say_that_it_writes_nothing(app: FastAPI) -> None:
    marked = [route for route in calls_of(app.routes) if "x-writes-nothing" in (route.openapi_extra or {})]
    assert [route.path for route in marked] == ["/api/v1/mixes/plan", "/api/v1/sums/{name}"]
    for route in marked:
        assert route.dependant is not None
        assert writing_session not in {inner.call for inner in route.dependant.dependencies}


def followed(document: dict[str, Any], part: dict[str, Any]) -> dict[str, Any]:
    """What a reference leads to."""
    while "$ref" in part:
        found: Any = document
        for step in part["$ref"].removeprefix("#/").split("/"):
            found = found[step]
        part = found
    return part


def test_it_is_public_and_the_same_for_everybody(client: TestClient, hub: Hub) -> None:
    answer = client.get("/api/openapi.json")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/json")
    assert answer.json() == document_of(create_app(hub))


def test_it_describes_every_call_and_nothing_else(app: FastAPI, document: dict[str, Any]) -> None:
    routes = {
        (method.lower(), route.path) for route in calls_of(app.routes) for method in route.methods or ()
    }
    assert routes == {(method, path) for method, path, _ in calls(document)}
    assert len(routes) > 40
    assert all(path.startswith("/api/v1/") for path in document["paths"])


def test_references_lead_somewhere_and_every_schema_is_used(document: dict[str, Any]) -> None:
    named = set(re.findall(r"'#/components/schemas/(\w+)'", repr(document)))
    assert named == set(document["components"]["schemas"])
    for name in re.findall(r"'#/components/responses/(\w+)'", repr(document)):
        assert name in document["components"]["responses"]


def test_operation_ids_are_the_handlers_names_and_unique(document: dict[str, Any]) -> None:
    ids = [call["operationId"] for _, _, call in calls(document)]
    assert len(set(ids)) == len(ids)
    assert {"list_builds", "post_build", "post_advance", "get_bench", "post_send_back"} <= set(ids)
    assert all(re.fullmatch(r"(get|list|post|patch|delete|put)_[a-z_]+", name) for name in ids)


def test_every_call_has_one_noun_and_says_what_it_does(document: dict[str, Any]) -> None:
    for method, path, call in calls(document):
        assert len(call["tags"]) == 1, (method, path)
        assert call["summary"]
        assert not call["summary"].endswith(".")
    assert [tag["name"] for tag in document["tags"]] == sorted(
        {call["tags"][0] for _, _, call in calls(document)}
    )


def test_every_call_takes_a_key_and_names_its_scopes(app: FastAPI, document: dict[str, Any]) -> None:
    assert document["components"]["securitySchemes"]["key"]["scheme"] == "bearer"
    for route in calls_of(app.routes):
        assert route.dependant is not None
        assert route.path is not None
        for method in route.methods or ():
            call = document["paths"][route.path][method.lower()]
            right = right_of(route.dependant)
            scopes = sorted(scope.value for scope, rights in SCOPE_RIGHTS.items() if right in rights)
            assert (call["security"], call["x-scopes"]) == ([{"key": []}], scopes)
            assert f"scope {' or '.join(scopes)}." in call["description"]


def test_refusals_are_problems(document: dict[str, Any]) -> None:
    for method, path, call in calls(document):
        refusals = {status for status in call["responses"] if not status.startswith("2")}
        assert {"401", "403", "503"} <= refusals, (method, path)
        assert ("409" in refusals) == writes(method, call), (method, path)
        assert ("413" in refusals) == ("requestBody" in call), (method, path)
        assert "404" in refusals or "{" not in path, (method, path)
        for status in refusals:
            content = followed(document, call["responses"][status])["content"]
            schema = content[PROBLEM]["schema"]
            for kind in schema.get("anyOf", [schema]):
                needed = set(followed(document, kind)["required"])
                assert {"type", "title", "status", "detail"} <= needed


def test_what_can_be_held_says_holds(document: dict[str, Any]) -> None:
    held = {
        path
        for _, path, call in calls(document)
        if call["responses"].get("409", {}).get("$ref") == "#/components/responses/Held"
    }
    assert held == {
        "/api/v1/builds/{number}/advance",
        "/api/v1/mixes",
        "/api/v1/mixes/{mix_id}/closings",
        "/api/v1/mixes/{mix_id}/cures",
        "/api/v1/cures/{cure_id}/correct",
        "/api/v1/stays/{stay_id}/off",
        "/api/v1/stops/{stop_id}/rods",
    }


def test_every_write_may_carry_a_key_of_its_own(document: dict[str, Any]) -> None:
    for method, path, call in calls(document):
        heads = [given for given in call.get("parameters", []) if given["in"] == "header"]
        assert bool(heads) == writes(method, call), (method, path)
        for head in heads:
            assert (head["name"], head["required"]) == ("Idempotency-Key", False)
            assert head["schema"]["maxLength"] == 200


def shapes(document: dict[str, Any], schema: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """A schema and every one below it."""
    schema = followed(document, schema)
    yield schema
    for inner in [*schema.get("anyOf", []), *schema.get("oneOf", [])]:
        yield from shapes(document, inner)
    for inner in schema.get("properties", {}).values():
        yield from shapes(document, inner)
    for name in ("items", "additionalProperties", "propertyNames"):
        if isinstance(schema.get(name), dict):
            yield from shapes(document, schema[name])


def test_what_is_taken_has_bounds(document: dict[str, Any]) -> None:
    for _, path, call in calls(document):
        bodies = [body["schema"] for body in call.get("requestBody", {}).get("content", {}).values()]
        queries = [given["schema"] for given in call.get("parameters", []) if given["in"] == "query"]
        for schema in [inner for whole in bodies + queries for inner in shapes(document, whole)]:
            kind = schema.get("type")
            free = (
                (kind == "string" and not {"maxLength", "format", "enum", "const", "pattern"} & set(schema))
                or (kind == "integer" and not {"minimum", "exclusiveMinimum"} & set(schema))
                or (kind == "integer" and "maximum" not in schema)
                or (kind == "array" and "maxItems" not in schema)
                or (kind == "object" and schema.get("additionalProperties", True) is True)
            )
            assert not free, (path, schema)


def test_figures_say_their_unit(document: dict[str, Any]) -> None:
    for name, shape in document["components"]["schemas"].items():
        for field, schema in shape.get("properties", {}).items():
            kinds = {schema.get("type"), *(inner.get("type") for inner in schema.get("anyOf", []))}
            if kinds & {"integer", "number"} and not PLAIN_NUMBERS.search(field):
                assert schema.get("description"), f"{name}.{field}"


def test_times_are_times(document: dict[str, Any]) -> None:
    for name, shape in document["components"]["schemas"].items():
        for field, schema in shape.get("properties", {}).items():
            if field == "at" or field.endswith(("_at", "_from_at", "recoat_from", "recoat_until")):
                kinds = [schema, *schema.get("anyOf", [])]
                assert any(kind.get("format") == "date-time" for kind in kinds), f"{name}.{field}"


def test_every_example_is_taken_by_its_own_model(app: FastAPI, document: dict[str, Any]) -> None:
    tried = 0
    for route in calls_of(app.routes):
        for method in route.methods or ():
            assert route.path is not None
            content = document["paths"][route.path][method.lower()].get("requestBody", {}).get("content", {})
            if "application/json" not in content:
                continue
            assert route.body_field is not None
            model = route.body_field.field_info.annotation
            assert isinstance(model, type)
            assert issubclass(model, BaseModel)
            model.model_validate(content["application/json"]["example"])
            tried += 1
    assert tried > 15


def test_the_kinds_of_rod_are_those_of_the_rules() -> None:
    assert get_args(RodKind) == ROD_KINDS


class Reader(HTMLParser):
    """What a page loads, the ids on it, where its links lead, and its text."""

    def __init__(self) -> None:
        super().__init__()
        self.loads: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if "id" in given:
            self.ids.append(given["id"])
        if tag == "a":
            self.links.append(given["href"])
        elif tag in ("link", "script", "img", "use"):
            self.loads.append(given.get("href") or given.get("src", ""))

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.fixture
def page(client: TestClient) -> Reader:
    answer = client.get("/api")
    assert answer.status_code == 200
    reader = Reader()
    reader.feed(answer.text)
    return reader


def test_the_page_loads_nothing_from_elsewhere_and_no_script(page: Reader) -> None:
    assert page.loads
    assert all(address.startswith(("/static/", "#")) and ".js" not in address for address in page.loads)


def test_the_page_shows_every_call_with_its_scopes(page: Reader, document: dict[str, Any]) -> None:
    words = " ".join(page.text.split())
    for method, path, call in calls(document):
        shown = f"{method.upper()} {path} {call['summary']}."
        assert f"{shown} Takes a key of scope {' or '.join(call['x-scopes'])}." in words


def test_every_link_on_the_page_leads_somewhere(page: Reader, client: TestClient) -> None:
    assert len(set(page.ids)) == len(page.ids)
    for link in set(page.links):
        if link.startswith("#"):
            assert link[1:] in page.ids, link
        else:
            assert client.get(link).status_code == 200, link


@pytest.mark.parametrize(
    "words",
    ["Authorization: Bearer", "RFC 9457", "RFC 3339", "8 3/16 in", '"next"', "Idempotency-Key", "curl"],
)
def test_the_page_says_the_conventions(page: Reader, words: str) -> None:
    assert words in page.text
