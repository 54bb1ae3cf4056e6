"""The OpenAPI document of `/api/v1`, made from the routes and put right where the framework cannot know.

The framework describes bodies and answers. Here are added: stable operation ids, the key and which scopes
a call takes, every refusal as problem+json (RFC 9457), units, and an example of each body. The page that
shows it all to people is `shop.web.api.reference`.
"""

from collections.abc import Iterator, Sequence
from typing import Any

from fastapi import FastAPI
from fastapi.dependencies.models import Dependant
from fastapi.openapi.utils import get_openapi
from fastapi.routing import RouteContext, iter_route_contexts
from pydantic import BaseModel
from pydantic.json_schema import models_json_schema
from starlette.routing import BaseRoute

from shop.rules.people import SCOPE_RIGHTS, Right
from shop.web.api.examples import example_of
from shop.web.api.holds import HoldOut

PREFIX = "/api/v1"
PROBLEM = "application/problem+json"
REF = "#/components/schemas/{model}"
ABOUT = (
    "The job tracker of a rod shop. Send a key with every call: `Authorization: Bearer KEY`. Refusals are "
    "RFC 9457 problems; one that a hold is the reason of is 409 with every hold in `holds`. Times are "
    "RFC 3339, with an offset in, UTC out. Lists answer `items` and `next`."
)
NUMBER = "The build's printed number, such as 26-014."
# By the end of a field's name; only where the field says nothing of itself.
UNITS = {
    "_minutes": "Minutes.", "_c": "Degrees Celsius.", "celsius": "Degrees Celsius.", "_g": "Grams.",
    "_cents": "Whole cents of the shop's currency.", "mm": "Millimetres.", "_mm": "Millimetres.",
    "density_a": "Grams per millilitre.", "density_b": "Grams per millilitre.", "parts_a": "By volume.",
    "parts_b": "By volume.", "_days": "Days.", "_ml": "Millilitres.", "_percent": "Per cent.",
}  # fmt: skip


class Problem(BaseModel):
    """A refusal (RFC 9457). `detail` is one sentence for a person."""

    type: str
    title: str
    status: int
    detail: str


class FieldFault(BaseModel):
    """What is wrong with one field."""

    field: str
    detail: str


class BadInputProblem(Problem):
    """A body or parameter that cannot be, with a sentence for each field."""

    errors: list[FieldFault]


class HeldProblem(Problem):
    """A refusal by holds: every reason why not, and the instant that clears it if time alone does."""

    holds: list[HoldOut]


ANSWERS = {
    ("get", "200"): "What is on file.",
    ("post", "201"): "Written down; the record as it stands.",
    ("post", "200"): "Done; the record as it stands now.",
    ("patch", "200"): "Changed; the record as it stands now.",
}
COMPUTED = "Computed; nothing is written down."
REFUSALS: dict[str, tuple[str, str, type[Problem] | None]] = {
    "401": ("KeyNeeded", "No live key was sent.", Problem),
    "403": ("NotAllowed", "The key's scope may not do this.", Problem),
    "404": ("NotOnFile", "There is no such record.", Problem),
    "409": ("Overtaken", "Somebody else was first, or the record no longer is as was meant.", Problem),
    "409 held": ("Held", "Held: every shut hold is in `holds`; or overtaken by somebody else.", None),
    "413": ("TooLarge", "The body is larger than this server takes.", Problem),
    "422": ("BadInput", "A field or parameter cannot be; `errors` says which and why.", BadInputProblem),
    "503": ("Unavailable", "The database cannot be used just now; nothing was changed.", Problem),
}
HEADERS = {
    "401": {"WWW-Authenticate": {"required": True, "schema": {"type": "string", "const": "Bearer"}}},
    "503": {"Retry-After": {"required": True, "description": "Seconds.", "schema": {"type": "string"}}},
}


def document_of(app: FastAPI) -> dict[str, Any]:
    """The app's OpenAPI document, made when it is first asked for."""
    if app.openapi_schema is None:
        app.openapi_schema = make_document(app.routes)
    return app.openapi_schema


def calls_of(routes: Sequence[BaseRoute]) -> Iterator[RouteContext]:
    """Every route of the API."""
    return (route for route in iter_route_contexts(routes) if (route.path or "").startswith(f"{PREFIX}/"))


def make_document(routes: Sequence[BaseRoute]) -> dict[str, Any]:
    """The OpenAPI document of the API's routes."""
    document: dict[str, Any] = get_openapi(
        title="Tackfree", version="1", description=ABOUT, routes=routes, openapi_version="3.1.0"
    )
    document["paths"] = {
        path: calls for path, calls in document["paths"].items() if path.startswith(f"{PREFIX}/")
    }
    parts = document["components"]
    _add_problems(parts)
    parts["securitySchemes"] = {
        "key": {"type": "http", "scheme": "bearer", "description": "A key of the shop, given out under Ways."}
    }
    for schema in parts["schemas"].values():
        _add_units(schema)
    for route in calls_of(routes):
        for method in route.methods or ():
            _put_right(document["paths"][route.path][method.lower()], method.lower(), route, parts)
    document["tags"] = [{"name": name} for name in sorted(_tags(document))]
    return document


def right_of(dependant: Dependant) -> Right:
    """The right that the door of a call asks for. Raises `LookupError` for a call without a door."""
    for inner in dependant.dependencies:
        right = getattr(inner.call, "right", None)
        if isinstance(right, Right):
            return right
    raise LookupError(f"{dependant.call} has no door")


def scopes_with(right: Right) -> list[str]:
    """The scopes of keys that have a right, in order."""
    return sorted(scope.value for scope, rights in SCOPE_RIGHTS.items() if right in rights)


def _tags(document: dict[str, Any]) -> set[str]:
    return {tag for calls in document["paths"].values() for call in calls.values() for tag in call["tags"]}


def _add_problems(parts: dict[str, Any]) -> None:
    models = [(model, "serialization") for model in (Problem, BadInputProblem, HeldProblem)]
    _, shapes = models_json_schema(models, ref_template=REF)  # type: ignore[arg-type]
    parts["schemas"].pop("HTTPValidationError", None)
    parts["schemas"].pop("ValidationError", None)
    parts["schemas"].update(shapes["$defs"])
    held = {"anyOf": [{"$ref": REF.format(model=name)} for name in ("HeldProblem", "Problem")]}
    parts["responses"] = {
        name: {
            "description": words,
            "content": {
                PROBLEM: {"schema": {"$ref": REF.format(model=model.__name__)} if model is not None else held}
            },
            **({"headers": HEADERS[status]} if status in HEADERS else {}),
        }
        for status, (name, words, model) in REFUSALS.items()
    }


def _add_units(schema: dict[str, Any]) -> None:
    for name, shape in schema.get("properties", {}).items():
        if "description" not in shape and _is_number(shape):
            unit = next((words for end, words in UNITS.items() if name.endswith(end)), None)
            if unit is not None:
                shape["description"] = unit


def _is_number(shape: dict[str, Any]) -> bool:
    kinds = {shape.get("type"), *(inner.get("type") for inner in shape.get("anyOf", []))}
    return not kinds.isdisjoint({"number", "integer"})


def _put_right(call: dict[str, Any], method: str, route: RouteContext, parts: dict[str, Any]) -> None:
    """Add to one call what the framework cannot know."""
    assert route.dependant is not None
    scopes = scopes_with(right_of(route.dependant))
    call["operationId"] = route.name
    call["summary"] = call["description"].split("\n")[0].rstrip(".")
    call["description"] += f"\n\nTakes a key of scope {' or '.join(scopes)}."
    call["security"] = [{"key": []}]
    call["x-scopes"] = scopes
    for parameter in call.get("parameters", []):
        if parameter["in"] == "header":
            parameter["schema"] = parameter["schema"]["anyOf"][0]
        if parameter["in"] == "path" and "description" not in parameter:
            parameter["description"] = NUMBER if parameter["name"] == "number" else "The record's id."
    body = call.get("requestBody", {}).get("content", {}).get("application/json")
    if body is not None:
        body["example"] = example_of(body["schema"], parts["schemas"])
    for status, answer in call["responses"].items():
        done = COMPUTED if "x-writes-nothing" in call else ANSWERS.get((method, status), "Done.")
        answer["description"] = done
    call["responses"].pop("422", None)
    for status in _refusals_of(call, method, body, parts):
        call["responses"][status[:3]] = {"$ref": f"#/components/responses/{REFUSALS[status][0]}"}


def _refusals_of(
    call: dict[str, Any], method: str, body: dict[str, Any] | None, parts: dict[str, Any]
) -> list[str]:
    """The refusals that a call can answer with, as keys of `REFUSALS`."""
    found = ["401", "403"]
    fields = parts["schemas"][body["schema"]["$ref"].rsplit("/", 1)[1]].get("properties", {}) if body else {}
    in_path = any(parameter["in"] == "path" for parameter in call.get("parameters", []))
    if in_path or any(name.endswith("_id") or name == "build" for name in fields):
        found.append("404")
    if method != "get" and "x-writes-nothing" not in call:
        found.append("409 held" if call.get("x-can-be-held") else "409")
    if "requestBody" in call:
        found.append("413")
    return [*found, "422", "503"]
