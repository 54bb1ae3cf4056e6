"""Examples of bodies, made from their JSON schemas: what a field says itself, or something of its kind."""

from typing import Any

Schemas = dict[str, dict[str, Any]]


def example_of(schema: dict[str, Any], schemas: Schemas) -> Any:
    """An example of a schema: a record with every field that is needed or has an example of its own."""
    shape = resolved(schema, schemas)
    if "examples" in shape:
        return shape["examples"][0]
    if "const" in shape:
        return shape["const"]
    if "enum" in shape:
        return shape["enum"][0]
    kinds = alternatives(shape)
    if kinds:
        return example_of(kinds[0], schemas)
    if shape.get("type") == "object":
        needed = shape.get("required", [])
        return {
            name: example_of(inner, schemas)
            for name, inner in shape.get("properties", {}).items()
            if name in needed or has_example(inner, schemas)
        }
    if shape.get("type") == "array":
        return [example_of(shape["items"], schemas)]
    return _plain(shape)


def _plain(shape: dict[str, Any]) -> Any:
    kind = shape.get("type", "string")
    if kind in ("integer", "number"):
        return max(1, shape.get("minimum", 1))
    return {"boolean": True}.get(kind, shape.get("default") or "text")


def resolved(schema: dict[str, Any], schemas: Schemas) -> dict[str, Any]:
    """A schema with its reference followed."""
    if "$ref" in schema:
        return resolved(schemas[schema["$ref"].rsplit("/", 1)[1]], schemas)
    return schema


def alternatives(shape: dict[str, Any]) -> list[dict[str, Any]]:
    """What a schema may be besides null; empty where it has no alternatives."""
    kinds = shape.get("anyOf") or shape.get("oneOf") or []
    return [kind for kind in kinds if kind.get("type") != "null"]


def has_example(schema: dict[str, Any], schemas: Schemas) -> bool:
    """Whether a schema or the first of its alternatives says an example itself."""
    shape = resolved(schema, schemas)
    if "examples" in shape:
        return True
    kinds = alternatives(shape)
    return bool(kinds) and has_example(kinds[0], schemas)
