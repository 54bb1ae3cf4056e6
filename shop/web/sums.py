"""The bench calculators between the web and the craft: what was given, read; what came of it, as views.

A page's query and an API body both become the mapping that `read_inputs` takes; `work_out` is the one
place where a fault of a sum becomes a refusal. The formulas are `shop.craft`'s, the drawing of bent rods
is `shop.web.curves`'.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from itertools import zip_longest
from typing import Any, NamedTuple
from urllib.parse import urlencode

from shop.craft.faults import SumFault
from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table
from shop.craft.sums.catalogue import SUMS
from shop.craft.sums.reading import MOST_ROWS, read_inputs
from shop.craft.sums.saying import say
from shop.rules.cautions import BLADES, DUST, EPOXY, LATHE, LOAD, SOLVENT, Caution
from shop.rules.refusals import BadInput, NotOnFile
from shop.web.addresses import repeated

MORE = "more"
SPARE_ROWS = 4
# A query of nothing but mistakes must not be answered with a sentence for each.
MOST_FAULTS = 20
# A longer table stands folded away below the figures.
MOST_OPEN_ROWS = 14
LENGTHS = (Kind.LENGTH, Kind.FINE)
WORDS = (Kind.TEXT, Kind.CHOICE, Kind.YES)
Pairs = Sequence[tuple[str, str]]
# By a word of the calculator's name: what is done with its answer.
_CAUTIONS = (
    (re.compile(r"cut|stick|shoulder|bores|stops|pilot|halving|arbor"), (DUST, BLADES, LATHE)),
    (re.compile(r"glue|film|mix|epoxy|finish|brush|coat"), (EPOXY, SOLVENT)),
    (re.compile(r"flex|bend|static|line-path|load|lift|stiff|readings"), (LOAD,)),
)


def calculator_of(name: str) -> Sum:
    """The calculator of that name. Raises `NotOnFile`."""
    if name not in SUMS:
        raise NotOnFile(f"There is no calculator “{name}”; Sums lists every one there is.")
    return SUMS[name]


def grouped() -> dict[str, list[Sum]]:
    """Every calculator, by its group, in the order of the catalogue."""
    groups: dict[str, list[Sum]] = {}
    for calculator in SUMS.values():
        groups.setdefault(calculator.group, []).append(calculator)
    return groups


def work_out(calculator: Sum, given: Mapping[str, Any]) -> Outcome:
    """What a calculator answers to what was given. Raises `BadInput` with the faults, by input."""
    try:
        return calculator.work(read_inputs(calculator, given))
    except SumFault as fault:
        raise BadInput(dict(list(fault.errors.items())[:MOST_FAULTS])) from fault


def cautions_of(calculator: Sum) -> tuple[Caution, ...]:
    """What to take care of while doing what the sum is for."""
    found = [
        caution for words, cautions in _CAUTIONS if words.search(calculator.name) for caution in cautions
    ]
    return tuple(dict.fromkeys(found))


def address_of(name: str, given: Mapping[str, str | Sequence[Mapping[str, str]]]) -> str:
    """The address of a calculator with inputs filled in: texts by name, rows where it takes a table.

    A row is a mapping by the names of the columns. `given_of` reads the address's query back.
    """
    pairs: list[tuple[str, str]] = []
    for key, value in given.items():
        if isinstance(value, str):
            pairs.append((key, value))
            continue
        # Each row says every column, so that the columns keep in step when they are read back.
        columns = dict.fromkeys(column for row in value for column in row)
        pairs.extend((f"{key}.{column}", row.get(column, "")) for row in value for column in columns)
    return f"/sums/{name}?{urlencode(pairs)}#answer" if pairs else f"/sums/{name}"


def given_of(calculator: Sum, pairs: Pairs) -> dict[str, Any]:
    """What the pairs of a query give to a calculator; rows of which nothing was typed are left out.

    Raises `BadInput` for an input that is given more than once: nobody guesses which was meant.
    """
    labels = {item.name: item.label for item in calculator.inputs}
    twice = repeated(name for name, _ in pairs if _is_single(calculator, name))
    if twice:
        raise BadInput(
            {
                name: f"{labels.get(name, f'“{name}”')} is given more than once; give it once."
                for name in twice[:MOST_FAULTS]
            }
        )
    return _typed(calculator, pairs)


def _typed(calculator: Sum, pairs: Pairs) -> dict[str, Any]:
    """What stands in the fields of the form; of an input that is given more than once, the last."""
    tables = [item.name for item in calculator.inputs if item.kind is Kind.TABLE]
    given: dict[str, Any] = {name: _filled(_rows(name, pairs)) for name in tables}
    given |= {name: text.strip() for name, text in pairs if _is_single(calculator, name)}
    return given


def _is_single(calculator: Sum, name: str) -> bool:
    """Whether a name of a query is that of one value, not of a column, which is given once a row."""
    tables = {item.name for item in calculator.inputs if item.kind is Kind.TABLE}
    return name != MORE and name.partition(".")[0] not in tables


def _rows(table: str, pairs: Pairs) -> list[dict[str, str]]:
    """The rows of one table as they were sent: the n-th value of each column makes the n-th row."""
    columns: dict[str, list[str]] = {}
    for name, text in pairs:
        if name.startswith(f"{table}."):
            columns.setdefault(name.removeprefix(f"{table}."), []).append(text.strip())
    rows = zip_longest(*columns.values(), fillvalue="")
    return [dict(zip(columns, row, strict=True)) for row in rows]


def _filled(rows: Iterable[dict[str, str]]) -> list[dict[str, str]]:
    return [row for row in rows if any(row.values())]


class CellView(NamedTuple):
    """One field of a row: its `name` in the query, its `key` among the faults, what a reader calls it."""

    name: str
    key: str
    says: str
    value: str
    kind: str
    inputmode: str
    options: tuple[tuple[str, str], ...]


class InputView(NamedTuple):
    """One input for the form. `widget` is text, select, radio, date or table; a table has rows of cells."""

    name: str
    label: str
    widget: str
    hint: str
    value: str
    unit: str
    inputmode: str
    needed: bool
    options: tuple[tuple[str, str], ...] = ()
    head: tuple[tuple[str, str], ...] = ()
    rows: tuple[tuple[CellView, ...], ...] = ()


_WIDGETS = {Kind.CHOICE: "select", Kind.YES: "radio", Kind.DAY: "date", Kind.TABLE: "table"}
_INPUTMODES = {Kind.NUMBER: "decimal", Kind.MONEY: "decimal", Kind.COUNT: "numeric"}
# What is typed with its unit, and how.
_WRITTEN = {
    Kind.LENGTH: "3 1/2 in, 89 mm",
    Kind.FINE: "0.865 in, 21.97 mm",
    Kind.MASS: "62 g, 2.2 oz",
    Kind.VOLUME: "3 mL, 0.5 fl oz",
    Kind.ANGLE: "30°",
}


def unit_of(item: Input | Column, currency: str) -> str:
    """The unit that stands behind a field or a head; empty where it is typed with the value."""
    return currency if item.kind is Kind.MONEY else item.unit


def input_views(calculator: Sum, pairs: Pairs, currency: str, today: date) -> list[InputView]:
    """The form of a calculator, filled with what was typed, and with defaults where nothing was.

    A day that is needed is today's on a form that nobody has filled in.
    """
    days = [item for item in calculator.inputs if item.kind is Kind.DAY and not item.optional]
    given = _typed(calculator, pairs) if pairs else {item.name: today.isoformat() for item in days}
    return [
        _table_view(item, pairs, currency) if item.kind is Kind.TABLE else _input_view(item, given, currency)
        for item in calculator.inputs
    ]


def _input_view(item: Input, given: Mapping[str, str], currency: str) -> InputView:
    value = given.get(item.name) or item.default
    if item.kind is Kind.YES:
        value = {"on": "yes", "true": "yes", "yes": "yes"}.get(value.lower(), "no")
    # A default shows by itself how it is written.
    written = _WRITTEN.get(item.kind, "") if not item.default else ""
    hint = _hint(item.hint, f"With its unit: {written}." if written else "")
    return InputView(
        item.name, item.label, _WIDGETS.get(item.kind, "text"), hint, value, unit_of(item, currency),
        _INPUTMODES.get(item.kind, ""), not item.optional, _options(item),
    )  # fmt: skip


def _hint(hint: str, more: str) -> str:
    end = "" if not hint or hint.endswith((".", "?", "!")) else "."
    return f"{hint}{end} {more}".strip() if more else hint


def _written_in(item: Input) -> str:
    """How the fields of a row are written, with an example of each kind that takes a unit."""
    kinds = dict.fromkeys(column.kind for column in item.columns if column.kind in _WRITTEN)
    return f"With units: {', '.join(_WRITTEN[kind].split(',')[0] for kind in kinds)}." if kinds else ""


def _options(item: Input) -> tuple[tuple[str, str], ...]:
    if item.kind is Kind.YES:
        return (("yes", "yes"), ("no", "no"))
    nothing = () if item.default or not item.options else (("", "–"),)
    return nothing + tuple((option, option) for option in item.options)


def _table_view(item: Input, pairs: Pairs, currency: str) -> InputView:
    sent = _rows(item.name, pairs)
    rows: list[dict[str, str]] = _filled(sent)
    asked = len(sent) if any(name == MORE for name, _ in pairs) else len(rows)
    rows += [{}] * (min(asked + SPARE_ROWS, max(len(rows), MOST_ROWS)) - len(rows))
    return InputView(
        item.name, item.label, "table", _hint(item.hint, _written_in(item)), "", "", "", not item.optional,
        head=tuple((column.label, _column_hint(column, currency)) for column in item.columns),
        rows=tuple(
            tuple(_cell_view(item, number, column, row.get(column.name, "")) for column in item.columns)
            for number, row in enumerate(rows, 1)
        ),
    )  # fmt: skip


def _column_hint(column: Input, currency: str) -> str:
    """What stands small under the head of a column, such as `in EUR; optional`."""
    unit = unit_of(column, currency)
    left_out = f"else {column.default}" if column.default else "optional" if column.optional else ""
    return "; ".join(filter(None, (f"in {unit}" if unit else "", column.hint.rstrip("."), left_out)))


def _cell_view(item: Input, number: int, column: Input, value: str) -> CellView:
    words = ("yes", "no") if column.kind is Kind.YES else column.options
    # An empty row stays empty only if no field of it begins with a word chosen.
    options = (("", "–"), *((word, word) for word in words)) if words else ()
    says = f"{item.label}, row {number}, {column.label[:1].lower()}{column.label[1:]}"
    return CellView(
        f"{item.name}.{column.name}", f"{item.name}.{number}.{column.name}", says, value,
        "date" if column.kind is Kind.DAY else "text", _INPUTMODES.get(column.kind, ""), options,
    )  # fmt: skip


class FigureView(NamedTuple):
    """One figure of an answer as the page shows it: large, or as words."""

    label: str
    value: str
    also: str
    is_words: bool


class TableView(NamedTuple):
    """Figures in rows as the page shows them; a long table stands folded away."""

    label: str
    head: list[str]
    rows: list[list[str]]
    numeric: list[int]
    is_long: bool


class AnswerView(NamedTuple):
    """What a calculator answered, as the page shows it."""

    figures: list[FigureView]
    tables: list[TableView]
    working: tuple[str, ...]
    warnings: tuple[str, ...]


def answer_view(outcome: Outcome, currency: str) -> AnswerView:
    """An outcome with every value written out."""
    return AnswerView(
        [_figure_view(part, currency) for part in outcome.figures if isinstance(part, Figure)],
        [_table_of_figures(part, currency) for part in outcome.figures if isinstance(part, Table)],
        outcome.working,
        outcome.warnings,
    )


def _figure_view(figure: Figure, currency: str) -> FigureView:
    text = _said(figure, figure.value, currency)
    if figure.kind in LENGTHS and figure.value is not None:
        inches, mm = both_of(figure.kind, figure.value)
        return FigureView(figure.label, f"{inches} in", f"{mm} mm", False)
    return FigureView(figure.label, text, "", figure.kind in WORDS)


def both_of(kind: Kind, nm: int) -> tuple[str, str]:
    """A length in inches (a fraction, or thousandths where it is fine) and in millimetres, without units."""
    inches, _, mm = say(kind, nm).removesuffix(" mm)").partition(" in (")
    return inches, mm


def _said(figure: Figure | Column, value: Any, currency: str) -> str:
    text = say(figure.kind, value, figure.unit)
    return f"{text} {currency}" if figure.kind is Kind.MONEY and value is not None else text


def _table_of_figures(table: Table, currency: str) -> TableView:
    return TableView(
        table.label,
        [column.label for column in table.columns],
        [
            [_said(column, value, currency) for column, value in zip(table.columns, row, strict=True)]
            for row in table.rows
        ],
        [place for place, column in enumerate(table.columns) if column.kind not in WORDS and place > 0],
        len(table.rows) > MOST_OPEN_ROWS,
    )
