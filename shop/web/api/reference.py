"""The API described: the OpenAPI document for programs, and the same as a page for people.

The page is drawn from the document by our own template and loads nothing from elsewhere.
"""

import json
import re
import shlex
from typing import Any, NamedTuple

from fastapi import APIRouter, FastAPI, Request
from starlette.responses import JSONResponse, Response

from shop.web.api.examples import Schemas, alternatives, resolved
from shop.web.openapi import PROBLEM, document_of
from shop.web.templating import Page

router = APIRouter(include_in_schema=False)

PLAIN = {"integer": "whole number", "number": "number", "boolean": "true or false", "null": "null"}
FORMATS = {"date-time": "time", "date": "day", "binary": "a file"}
EXAMPLE_NUMBER = "26-014"
JSON = "application/json"
MULTIPART = "multipart/form-data"
Cell = str | dict[str, str]


class Call(NamedTuple):
    """One call as the page shows it. `takes` and `parameters` are rows for a table."""

    anchor: str
    method: str
    path: str
    summary: str
    scopes: str
    parameters: list[tuple[Cell, ...]]
    takes: list[tuple[Cell, ...]]
    answers: list[tuple[str, Cell]]
    curl: str


class Noun(NamedTuple):
    """The calls of one noun."""

    anchor: str
    name: str
    calls: list[Call]


class Shape(NamedTuple):
    """A record that calls take or give."""

    name: str
    about: str
    fields: list[tuple[Cell, ...]]


class Reference(NamedTuple):
    """Everything that the page shows."""

    nouns: list[Noun]
    shapes: list[Shape]


@router.get("/api/openapi.json")
async def get_document(request: Request) -> Response:
    """The OpenAPI document."""
    return JSONResponse(document_of(request.app))


@router.get("/api")
async def get_reference(request: Request, page: Page) -> Response:
    """The reference page."""
    return page.show("pages/api.html", reference=_reference(request.app))


def _reference(app: FastAPI) -> Reference:
    """What the page shows of the app, made when it is first asked for."""
    if not hasattr(app.state, "reference"):
        app.state.reference = reference_of(document_of(app))
    reference: Reference = app.state.reference
    return reference


def reference_of(document: dict[str, Any]) -> Reference:
    """An OpenAPI document as the page shows it."""
    parts = document["components"]
    calls = [
        (call["tags"][0], _call(method, path, call, parts))
        for path, methods in document["paths"].items()
        for method, call in methods.items()
    ]
    nouns = [
        Noun(
            tag["name"].replace(" ", "-"), tag["name"], [call for name, call in calls if name == tag["name"]]
        )
        for tag in document["tags"]
    ]
    shapes = [
        Shape(name, shape.get("description", ""), _fields(shape, parts["schemas"]))
        for name, shape in sorted(parts["schemas"].items())
        if shape.get("properties")
    ]
    return Reference(nouns, shapes)


def _call(method: str, path: str, call: dict[str, Any], parts: dict[str, Any]) -> Call:
    bodies: dict[str, dict[str, Any]] = call.get("requestBody", {}).get("content", {})
    kind = next(iter(bodies), "")
    body = bodies.get(kind, {})
    schemas: Schemas = parts["schemas"]
    return Call(
        anchor=call["operationId"],
        method=method.upper(),
        path=path,
        summary=call["summary"],
        scopes=" or ".join(call["x-scopes"]),
        parameters=[
            _row(given["name"], given["schema"], given["required"], given.get("description", ""), schemas)
            for given in call.get("parameters", [])
        ],
        takes=_fields(resolved(body["schema"], schemas), schemas) if body else [],
        answers=[_answer(status, answer, parts) for status, answer in sorted(call["responses"].items())],
        curl=_curl(method.upper(), path, call, kind, body.get("example")),
    )


def _fields(shape: dict[str, Any], schemas: Schemas) -> list[tuple[Cell, ...]]:
    needed = shape.get("required", [])
    return [
        _row(name, inner, name in needed, inner.get("description", ""), schemas)
        for name, inner in shape.get("properties", {}).items()
    ]


def _row(name: str, schema: dict[str, Any], needed: bool, says: str, schemas: Schemas) -> tuple[Cell, ...]:
    return name, kind_of(schema, schemas), "yes" if needed else "no", says or "–"


def kind_of(schema: dict[str, Any], schemas: Schemas) -> Cell:
    """What a schema takes, in words; a link where it is or holds a record of its own."""
    text = _words(schema, schemas)
    named = re.search(r"#/components/schemas/(\w+)", json.dumps(schema))
    if named is None or not schemas[named[1]].get("properties"):
        return text
    return {"text": text, "href": f"#shape-{named[1]}"}


def _words(schema: dict[str, Any], schemas: Schemas) -> str:
    shape = resolved(schema, schemas)
    if "$ref" in schema and shape.get("properties"):
        return str(schema["$ref"].rsplit("/", 1)[1])
    if "const" in shape or "enum" in shape:
        return " or ".join(f"“{word}”" for word in shape.get("enum", [shape.get("const")]))
    kinds = alternatives(shape)
    if kinds:
        empty = [" or null"] if len(kinds) < len(shape.get("anyOf", [])) else []
        return " or ".join(_words(kind, schemas) for kind in kinds) + "".join(empty)
    kind = shape.get("type")
    if kind == "array":
        return f"list of {_words(shape['items'], schemas)}"
    if kind == "object":
        return _words_of_object(shape, schemas)
    if kind == "string":
        most = f" ({shape['maxLength']} characters at most)" if "maxLength" in shape else ""
        return FORMATS.get(shape.get("format", ""), f"text{most}")
    return PLAIN.get(str(kind), "anything")


def _words_of_object(shape: dict[str, Any], schemas: Schemas) -> str:
    if "properties" in shape:
        inner = ", ".join(f'"{name}": {_words(part, schemas)}' for name, part in shape["properties"].items())
        return "{" + inner + "}"
    held = shape.get("additionalProperties")
    return f"names, each with {_words(held, schemas)}" if isinstance(held, dict) else "names and values"


def _answer(status: str, answer: dict[str, Any], parts: dict[str, Any]) -> tuple[str, Cell]:
    if "$ref" in answer:
        answer = parts["responses"][answer["$ref"].rsplit("/", 1)[1]]
    content = answer.get("content", {})
    schema = content.get(JSON, content.get(PROBLEM, {})).get("schema")
    said = f"{status}: {answer['description']}"
    if schema is None:
        return said, ""
    cell = kind_of(schema, parts["schemas"])
    return said, cell


def _curl(method: str, path: str, call: dict[str, Any], kind: str, example: Any) -> str:
    address = path.replace("{number}", EXAMPLE_NUMBER)
    for given in call.get("parameters", []):
        for word in given["schema"].get("examples", []):
            address = address.replace(f"{{{given['name']}}}", word)
    address = re.sub(r"\{\w+\}", "1", address)
    lines = [f'curl "$SHOP{address}" -H "Authorization: Bearer $KEY"']
    if method != "GET":
        lines[0] = lines[0].replace("curl ", f"curl -X {method} ", 1)
        if "x-writes-nothing" not in call:
            lines.append('-H "Idempotency-Key: $(uuidgen)"')
    if kind == MULTIPART:
        lines += [f"-F {shlex.quote(f'{name}={value}')}" for name, value in (example or {}).items()]
    elif example is not None:
        body = example if isinstance(example, str) else json.dumps(example, ensure_ascii=False)
        lines.append(f'-H "Content-Type: {kind}"')
        lines.append(f"{'-d' if kind == JSON else '--data-binary'} {shlex.quote(body)}")
    return " \\\n  ".join(lines)
