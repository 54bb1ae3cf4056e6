"""`craft` and `rules` are deaf and blind: no clock, no chance, no input or output."""

import ast

import pytest

from tests.house import tree

# Modules of the standard library that only compute. Anything that could read a clock, a file, the
# surroundings or chance is missing on purpose; a new name here is a decision.
THAT_ONLY_COMPUTE = {
    "abc", "array", "bisect", "collections", "copy", "dataclasses", "datetime", "decimal", "enum",
    "fractions", "functools", "graphlib", "heapq", "html", "itertools", "math", "numbers", "operator", "re",
    "statistics", "string", "types", "typing", "unicodedata",
}  # fmt: skip
# Parts of a package whose other parts read a clock or chance: `email.utils` makes dates and ids.
PARTS_THAT_ONLY_COMPUTE = {"email.errors", "email.headerregistry"}
CALLS_THAT_REACH_OUT = {"open", "print", "input", "exec", "eval", "compile", "breakpoint", "__import__"}
PURE = [module for module in tree.modules("shop") if module.name.startswith(("shop.craft", "shop.rules"))]


def test_the_pure_rooms_are_there() -> None:
    assert {module.name for module in PURE} >= {"shop.craft", "shop.rules"}


@pytest.mark.parametrize("module", PURE, ids=lambda module: str(module.path))
def test_a_pure_module_imports_only_what_computes(module: tree.Module) -> None:
    allowed = THAT_ONLY_COMPUTE | {"shop"} | ({"numpy", "scipy"} if "craft" in module.name else set())
    outside = {i.module for i in tree.imports(module) if i.module.split(".")[0] not in allowed}
    assert outside - PARTS_THAT_ONLY_COMPUTE == set()
    assert not {i.module for i in tree.imports(module) if i.module.startswith(("numpy.random", "scipy.io"))}


@pytest.mark.parametrize("module", PURE, ids=lambda module: str(module.path))
def test_a_pure_module_reaches_nothing_outside(module: tree.Module) -> None:
    calls = {tree.dotted(node.func) for node in ast.walk(module.tree) if isinstance(node, ast.Call)}
    assert calls & CALLS_THAT_REACH_OUT == set()
    assert {call for call in calls if ".random" in call} == set()


@pytest.mark.parametrize("module", PURE, ids=lambda module: str(module.path))
def test_a_pure_module_keeps_nothing_between_calls(module: tree.Module) -> None:
    assert [node.lineno for node in ast.walk(module.tree) if isinstance(node, ast.Global)] == []
