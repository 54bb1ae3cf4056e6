"""The wall clock is read in `shop/clock.py` and nowhere else; the rest is told what time it is."""

import ast

import pytest

from tests.house import tree

CLOCK = "shop/clock.py"
# The last two parts of a name that reads a clock, whether it is called or handed on.
OF_DATES = {f"{cls}.{verb}" for cls in ("datetime", "date", "dt") for verb in ("now", "utcnow", "today")}
OF_TIME = {
    "time", "time_ns", "monotonic", "monotonic_ns", "perf_counter", "perf_counter_ns", "localtime", "gmtime",
    "process_time", "strftime", "ctime", "clock_gettime", "clock_gettime_ns",
}  # fmt: skip
OF_THE_DATABASE = {"func.now", "func.current_timestamp", "func.current_date", "func.localtimestamp"}
IN_SQL = ("current_timestamp", "current_date", "now()", "'now'", "localtimestamp")


def clock_reads(syntax: ast.AST) -> list[int]:
    """Lines of a syntax tree that read a clock, directly or in the database."""
    lines = []
    for node in ast.walk(syntax):
        match node:
            case ast.Attribute():
                tail = ".".join(tree.dotted(node).split(".")[-2:])
                of_time = tail.startswith("time.") and node.attr in OF_TIME
                if tail in OF_DATES | OF_THE_DATABASE or of_time:
                    lines.append(node.lineno)
            case ast.ImportFrom(module="time"):
                lines += [node.lineno for alias in node.names if alias.name in OF_TIME]
            case ast.Constant(value=str(text)) if any(word in text.lower() for word in IN_SQL):
                lines.append(node.lineno)
    return lines


@pytest.mark.parametrize(
    "source",
    [
        "datetime.now(UTC)",
        "datetime.datetime.utcnow()",
        "field(default_factory=date.today)",
        "time.monotonic()",
        "from time import perf_counter",
        "mapped_column(server_default=func.now())",
        "text('UPDATE shop SET last_at = CURRENT_TIMESTAMP')",
    ],
)
def test_each_way_to_read_a_clock_is_noticed(source: str) -> None:
    assert clock_reads(ast.parse(source)) == [1]


@pytest.mark.parametrize(
    "source", ["time.sleep(1)", "clock.now()", "from datetime import datetime", "row.time"]
)
def test_what_reads_no_clock_is_let_be(source: str) -> None:
    assert clock_reads(ast.parse(source)) == []


def test_the_clock_is_read_in_one_place() -> None:
    readers = {
        str(module.path): lines
        for module in tree.modules("shop", "seed_demo", "migrations")
        if (lines := clock_reads(module.tree))
    }
    assert list(readers) == [CLOCK], readers
