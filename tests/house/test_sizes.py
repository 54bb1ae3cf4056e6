"""Small pieces, each saying what it is for; nothing left to do written into the code."""

import ast
import re

import pytest

from tests.house import tree

CODE = tree.modules("shop", "seed_demo", "tests")
MODULE_LINES = 400
FUNCTION_LINES = 40
TEMPLATE_LINES = 150
HANDLER_LINES = 25
ROUTES = {"get", "post", "put", "patch", "delete", "head", "api_route", "route"}
# In pieces, so that this file does not find itself.
LEFT_TO_DO = re.compile(r"\b(" + "|".join(["TO" + "DO", "FIX" + "ME", "XX" + "X", "HA" + "CK"]) + r")\b")


def test_modules_are_short() -> None:
    long = {str(m.path): lines for m in CODE if (lines := m.source.count("\n")) > MODULE_LINES}
    assert long == {}


def test_functions_are_short() -> None:
    long = {
        f"{module.path}:{node.lineno} {node.name}": tree.length(node)
        for module in CODE
        for node in tree.functions(module)
        if tree.length(node) > FUNCTION_LINES
    }
    assert long == {}


def test_templates_are_short() -> None:
    lines = {path: (tree.ROOT / "templates" / path).read_text().count("\n") for path in tree.templates()}
    assert lines
    assert {path: count for path, count in lines.items() if count > TEMPLATE_LINES} == {}


def handlers() -> list[tuple[tree.Module, tree.FunctionNode]]:
    """Functions of `shop/web` that a router hands requests to."""
    return [
        (module, node)
        for module in tree.modules("shop")
        if module.name.startswith("shop.web")
        for node in tree.functions(module)
        for decorator in node.decorator_list
        if isinstance(decorator, ast.Call) and tree.dotted(decorator.func).rsplit(".", 1)[-1] in ROUTES
    ]


def test_handlers_are_three_moves() -> None:
    found = handlers()
    assert found
    long = {
        f"{module.path}:{node.lineno} {node.name}": tree.length(node)
        for module, node in found
        if tree.length(node) > HANDLER_LINES
    }
    assert long == {}


@pytest.mark.parametrize(
    "module",
    [m for m in tree.modules("shop", "seed_demo", "migrations", "tests") if m.source.strip()],
    ids=lambda module: str(module.path),
)
def test_a_module_says_what_it_is_for(module: tree.Module) -> None:
    words = ast.get_docstring(module.tree)
    assert words, f"{module.path} opens without a docstring"
    assert len(words) >= 20, f"{module.path} says too little: {words}"


def test_nothing_is_left_to_do_in_the_files() -> None:
    left = [
        f"{path}:{number}"
        for path, text in tree.texts()
        if "vendor" not in path.parts
        for number, line in enumerate(text.split("\n"), 1)
        if LEFT_TO_DO.search(line)
    ]
    assert left == []
