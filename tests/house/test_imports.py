"""Rooms import only what the import table lets them, nothing imports in a circle or inside a function."""

import ast
import enum
import importlib
import sys
import tomllib
from graphlib import CycleError, TopologicalSorter

import pytest

from tests.house import tree
from tests.house.import_table import MAY_IMPORT, ROOMS, SHARED_TOP, THIRD_PARTY

SHOP = tree.modules("shop")
NAMES = {module.name for module in SHOP}
# Where an import name differs from the name it is declared by in pyproject.toml.
DECLARED_AS = {
    "argon2": "argon2-cffi",
    "PIL": "pillow",
    "paho": "paho-mqtt",
    "psycopg": "psycopg",
    "pydantic": "fastapi",
    "python_multipart": "python-multipart",
    "pydantic_settings": "pydantic-settings",
    "starlette": "fastapi",
    "markupsafe": "jinja2",
    "click": "typer",
}


def room_of(name: str) -> str | None:
    """The room a dotted name lies in, or None for the modules at the top of `shop`."""
    parts = name.split(".")
    return parts[1] if len(parts) > 1 and parts[0] == "shop" and parts[1] in ROOMS else None


def target(imported: tree.Import) -> str:
    """The module an import reaches: `from shop.db import builds` reaches `shop.db.builds`."""
    inner = f"{imported.module}.{imported.name}"
    return inner if inner in NAMES else imported.module


def is_narrow_enough(word: str, imported: tree.Import) -> bool:
    """Whether an import keeps to a permission such as "enums" or "session only"."""
    if word == "session only":
        return target(imported) == "shop.db.sessions"
    if word == "yes":
        return True
    value = getattr(importlib.import_module(imported.module), imported.name or "", None)
    return isinstance(value, type) and (word == "value types" or issubclass(value, enum.Enum))


def is_the_session(room: str, imported: tree.Import) -> bool:
    """Whether a room that hands sessions on imports their type, and nothing else of SQLAlchemy."""
    handed_on = MAY_IMPORT[room].get("db") == "session only"
    return handed_on and (imported.module, imported.name) == ("sqlalchemy.orm", "Session")


def complaints(module: tree.Module, room: str) -> list[str]:
    """What a module of a room imports from elsewhere in `shop` without permission."""
    found = []
    for imported in tree.imports(module):
        reached = target(imported)
        if reached.split(".")[0] != "shop":
            continue
        other = room_of(reached)
        if other is None:
            allowed = reached == "shop" or room in SHARED_TOP.get(reached, ())
        else:
            word = MAY_IMPORT[room].get(other)
            allowed = word is not None and (other == room or is_narrow_enough(word, imported))
        if not allowed:
            found.append(f"{module.path}:{imported.line} imports {reached} ({imported.name})")
    return found


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_imports_only_what_the_table_allows(room: str) -> None:
    inside = [module for module in SHOP if room_of(module.name) == room]
    assert inside, f"shop/{room} is empty"
    assert [line for module in inside for line in complaints(module, room)] == []


def test_the_formulas_of_the_craft_know_nothing_of_the_calculators_over_them() -> None:
    upwards = [
        f"{module.path}:{imported.line} imports {target(imported)}"
        for module in SHOP
        if room_of(module.name) == "craft" and not module.name.startswith("shop.craft.sums")
        for imported in tree.imports(module)
        if target(imported).startswith("shop.craft.sums")
    ]
    assert upwards == []


@pytest.mark.parametrize("room", [room for room in ROOMS if THIRD_PARTY[room] is not None])
def test_a_room_uses_only_the_libraries_it_is_given(room: str) -> None:
    allowed = (THIRD_PARTY[room] or frozenset()) | sys.stdlib_module_names | {"shop"}
    strangers = [
        f"{module.path}:{imported.line} imports {imported.module}"
        for module in SHOP
        if room_of(module.name) == room
        for imported in tree.imports(module)
        if imported.module.split(".")[0] not in allowed and not is_the_session(room, imported)
    ]
    assert strangers == []


def test_every_library_is_a_declared_dependency() -> None:
    project = tomllib.loads((tree.ROOT / "pyproject.toml").read_text())["project"]
    extras = [*project["optional-dependencies"]["postgres"], *project["optional-dependencies"]["mqtt"]]
    declared = {
        requirement.split(";")[0].split("[")[0].split(">")[0].strip()
        for requirement in [*project["dependencies"], *extras]
    }
    used = {
        imported.module.split(".")[0]
        for module in tree.modules("shop", "seed_demo", "migrations")
        for imported in tree.imports(module)
    } - (sys.stdlib_module_names | {"shop", "seed_demo"})
    assert {name for name in used if DECLARED_AS.get(name, name) not in declared} == set()


def test_only_the_web_and_the_wiring_speak_http() -> None:
    speakers = {
        str(module.path)
        for module in tree.modules("shop", "seed_demo", "migrations")
        for imported in tree.imports(module)
        if imported.module.split(".")[0] in {"fastapi", "starlette", "uvicorn"}
        and room_of(module.name) != "web"
    }
    assert speakers <= {"shop/app.py", "shop/commands/serve.py"}


def circle_in(graph: dict[str, set[str]]) -> list[str]:
    """The modules of one circle in the order they import, or none."""
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as circle:
        return list(circle.args[1])
    return []


def test_a_circle_is_found() -> None:
    graph = {"first": {"second"}, "second": {"first"}, "third": {"first"}}
    assert set(circle_in(graph)) == {"first", "second"}


def test_modules_do_not_import_in_a_circle() -> None:
    graph = {
        module.name: {
            target(imported)
            for imported in tree.imports(module)
            if target(imported) in NAMES and target(imported) != module.name and not imported.for_types_only
        }
        for module in SHOP
    }
    assert circle_in(graph) == []


def test_nothing_is_imported_inside_a_function() -> None:
    hidden = [
        f"{module.path}:{node.lineno}"
        for module in tree.modules("shop", "seed_demo", "migrations", "tests")
        for function in tree.functions(module)
        for node in ast.walk(function)
        if isinstance(node, ast.Import | ast.ImportFrom)
    ]
    assert hidden == []
