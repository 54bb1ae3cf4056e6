"""What is given to a calculator, typed or as JSON: read with its unit, or refused by the input's name."""

from datetime import date
from typing import Any

import pytest

from shop.craft.faults import SumFault
from shop.craft.lengths import parse_length
from shop.craft.sums.base import Input, Kind, Outcome, Sum
from shop.craft.sums.catalogue import SUMS
from shop.craft.sums.reading import MOST_ROWS, read_inputs


def asking(*inputs: Input) -> Sum:
    """A calculator that only reads."""
    return Sum("test", "Test", "Test", "", inputs, "", "", lambda _values: Outcome(()))


def read(item: Input, raw: Any) -> Any:
    return read_inputs(asking(item), {item.name: raw})[item.name]


def fault(item: Input, raw: Any) -> str:
    with pytest.raises(SumFault) as refused:
        read(item, raw)
    assert list(refused.value.errors) == [item.name]
    return refused.value.errors[item.name]


def one(kind: Kind, **more: Any) -> Input:
    return Input("x", "The figure", kind, **more)


@pytest.mark.parametrize(
    ("kind", "raw", "value"),
    [
        (Kind.LENGTH, "8 3/16 in", parse_length("8 3/16 in")),
        (Kind.LENGTH, {"mm": 207.9625}, 207_962_500),
        (Kind.FINE, " 0.865 in ", parse_length("0.865 in")),
        (Kind.MASS, "2.2 oz", 62.368951),  # NIST SP 811: 1 oz is 28.349523125 g
        (Kind.VOLUME, "3 mL", 3.0),
        (Kind.VOLUME, "2 cc", 2.0),
        (Kind.VOLUME, "+2 mL", 2.0),
        (Kind.VOLUME, "1 fl oz", 29.5735295625),  # NIST Handbook 44, appendix C
        (Kind.ANGLE, "30°", 30.0),
        (Kind.ANGLE, "30 deg", 30.0),
        (Kind.COUNT, "9", 9),
        (Kind.COUNT, 9, 9),
        (Kind.NUMBER, "1,16", 1.16),
        (Kind.NUMBER, 1.16, 1.16),
        (Kind.MONEY, "186.4", 18640),
        (Kind.MONEY, "186,40", 18640),
        (Kind.MONEY, 18640, 18640),
        (Kind.DAY, "2026-03-02", date(2026, 3, 2)),
        (Kind.YES, "on", True),
        (Kind.YES, False, False),
        (Kind.TEXT, "rear grip", "rear grip"),
    ],
)
def test_each_kind_is_read_with_its_unit(kind: Kind, raw: Any, value: Any) -> None:
    found = read(one(kind), raw)
    assert found == pytest.approx(value) if isinstance(value, float) else found == value


@pytest.mark.parametrize(
    ("kind", "raw", "words"),
    [
        (Kind.LENGTH, "8", "has no unit"),
        (Kind.LENGTH, 8, "with its unit"),
        (Kind.LENGTH, {"mm": float("nan")}, "finite"),
        (Kind.LENGTH, {"mm": "8"}, "with its unit"),
        (Kind.LENGTH, "-3 in", "cannot be less than nothing"),
        (Kind.LENGTH, "0 in", "must be more than nothing"),
        (Kind.LENGTH, "30 m", "must be at most"),
        (Kind.FINE, "1 m", "must be at most"),
        (Kind.MASS, 62, "with its unit"),
        (Kind.MASS, "62 in", "a mass is asked for"),
        (Kind.VOLUME, "3", "with its unit"),
        (Kind.VOLUME, "3 barrels", "with its unit"),
        (Kind.VOLUME, "-3", "with its unit"),
        (Kind.VOLUME, "-1 mL", "cannot be less than nothing"),
        (Kind.VOLUME, "−0,5 fl oz", "cannot be less than nothing"),
        (Kind.VOLUME, "0 mL", "must be more than nothing"),
        (Kind.ANGLE, "30 in", "an angle is asked for"),
        (Kind.ANGLE, "400°", "must be at most"),
        (Kind.COUNT, "2.5", "whole number"),
        (Kind.COUNT, True, "must be a number"),
        (Kind.NUMBER, "many", "must be a number"),
        (Kind.NUMBER, float("inf"), "finite"),
        (Kind.NUMBER, float("nan"), "finite"),
        (Kind.NUMBER, "1e999", "must be a number"),
        (Kind.NUMBER, 1e300, "must be at most"),
        (Kind.MONEY, "1.234", "an amount"),
        (Kind.MONEY, 1.5, "an amount"),
        (Kind.MONEY, "-1", "an amount"),
        (Kind.DAY, "yesterday", "must be a day"),
        (Kind.DAY, 5, "must be a day"),
        (Kind.YES, "perhaps", "yes or no"),
        (Kind.TEXT, 5, "a line of text"),
        (Kind.TEXT, "a\u0000b", "a line of text"),
        (Kind.TEXT, "x" * 201, "too long"),
        (Kind.LENGTH, "", "is missing"),
        (Kind.LENGTH, None, "is missing"),
    ],
)
def test_what_cannot_be_is_a_plain_sentence(kind: Kind, raw: Any, words: str) -> None:
    sentence = fault(one(kind), raw)
    assert words in sentence
    assert sentence.startswith("The figure")


def test_a_choice_is_one_of_the_list() -> None:
    item = one(Kind.CHOICE, options=("cork", "foam"))
    assert read(item, "foam") == "foam"
    assert "one of cork, foam" in fault(item, "lead")
    assert "one of cork, foam" in fault(item, 3)


def test_what_may_be_nothing_less_or_missing_is_said_by_the_input() -> None:
    assert read(one(Kind.LENGTH, zero=True), "0 in") == 0
    assert read(one(Kind.LENGTH, signed=True), "-1/2 in") == -parse_length("1/2 in")
    assert read(one(Kind.LENGTH, optional=True), "") is None
    assert read(one(Kind.LENGTH, default="1/8 in"), "") == parse_length("1/8 in")
    assert read(one(Kind.YES), None) is False
    assert read(one(Kind.NUMBER, unit="%"), "30 %") == 30.0


ROWS = Input(
    "rows", "Stations", Kind.TABLE, columns=(one(Kind.LENGTH, zero=True), Input("n", "Count", Kind.COUNT))
)


def test_a_table_is_read_row_by_row_and_empty_rows_do_not_count() -> None:
    given = {"rows": [{"x": "1 in", "n": "2"}, {"x": "", "n": ""}, {"x": "0 in", "n": 3}]}
    rows = read_inputs(asking(ROWS), given)["rows"]
    assert rows == ({"x": parse_length("1 in"), "n": 2}, {"x": 0, "n": 3})


def test_a_fault_in_a_table_names_its_row_and_column() -> None:
    with pytest.raises(SumFault) as refused:
        read_inputs(asking(ROWS), {"rows": [{"x": "1 in", "n": "2"}, {"x": "1", "n": "-1", "z": "?"}]})
    assert list(refused.value.errors) == ["rows.2.z", "rows.2.x", "rows.2.n"]
    assert refused.value.errors["rows.2.n"].startswith("Stations, row 2: ")


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ([], "at least one row"),
        ("1 in", "a list of rows"),
        ([1], "a list of rows"),
        ([{"x": "1 in", "n": 1}] * (MOST_ROWS + 1), f"at most {MOST_ROWS}"),
    ],
)
def test_a_table_that_is_none_is_said(raw: Any, words: str) -> None:
    with pytest.raises(SumFault) as refused:
        read_inputs(asking(ROWS), {"rows": raw})
    assert words in refused.value.errors["rows"]


def test_every_fault_is_gathered_at_once() -> None:
    calculator = asking(Input("a", "A", Kind.COUNT), Input("b", "B", Kind.LENGTH))
    with pytest.raises(SumFault) as refused:
        read_inputs(calculator, {"a": "x", "c": "1"})
    assert list(refused.value.errors) == ["c", "a", "b"]
    assert "there are a, b" in refused.value.errors["c"]


def test_calculators_have_names_of_their_own_and_say_where_they_are_from() -> None:
    assert len(SUMS) > 30
    for name, calculator in SUMS.items():
        assert name == calculator.name
        assert calculator.formula, name
        assert calculator.source, name
        assert calculator.about.endswith("."), name
        names = [item.name for item in calculator.inputs]
        assert len(names) == len(set(names)), name
