"""Reading is in `queries`, committing in one function's module, and no relation loads behind our back."""

import ast

from sqlalchemy.orm import configure_mappers

from shop.db.tables import TABLES
from tests.house import tree

CODE = tree.modules("shop", "seed_demo")


def calls_of(module: tree.Module, *names: str) -> list[str]:
    """Where a module calls a function or method of one of these names."""
    return [
        f"{module.path}:{node.lineno}"
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call) and tree.dotted(node.func).rsplit(".", 1)[-1] in names
    ]


def test_select_is_written_only_in_queries() -> None:
    inside = [m for m in CODE if m.name.startswith("shop.queries")]
    outside = [m for m in CODE if not m.name.startswith("shop.queries")]
    assert any(calls_of(module, "select") for module in inside)
    assert [place for module in outside for place in calls_of(module, "select", "query")] == []


def test_sql_text_that_reads_is_written_only_in_queries() -> None:
    readers = [
        f"{module.path}:{node.lineno}"
        for module in CODE
        if not module.name.startswith("shop.queries")
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and node.value.lstrip().startswith(("SELECT ", "select "))
    ]
    assert readers == []


def test_one_module_commits() -> None:
    committers = {str(module.path) for module in CODE if calls_of(module, "commit")}
    assert committers == {"shop/db/sessions.py"}


def test_relations_raise_instead_of_loading() -> None:
    configure_mappers()
    relations = [relation for table in TABLES for relation in table.__mapper__.relationships]
    assert relations
    assert [str(relation) for relation in relations if relation.lazy != "raise"] == []


def test_every_mapped_class_is_in_the_list_of_tables() -> None:
    mapped = {mapper.class_ for table in TABLES for mapper in table.registry.mappers}
    assert mapped == set(TABLES)
