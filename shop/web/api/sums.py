"""The API of the bench calculators: what each asks for, and what it answers with the working."""

from typing import Annotated, Any

from fastapi import Path
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, RootModel, WithJsonSchema

from shop.craft.lengths import mm_of
from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table
from shop.craft.sums.catalogue import SUMS
from shop.craft.sums.reading import MOST_ROWS, MOST_TEXT
from shop.web.api.base import WRITES_NOTHING, Page, api_router
from shop.web.doors import KeyForLooking
from shop.web.sums import LENGTHS, both_of, calculator_of, work_out

router = api_router("sums")

MOST_INPUTS = 60
MOST_NAME = 60
IS_INPUT = 'An input is text with its unit, a number, true or false, {"mm": 207.96} or a list of rows'
PLAIN_SCHEMAS: list[dict[str, Any]] = [
    {"type": "string", "maxLength": MOST_TEXT},
    {"type": "number"},
    {"type": "boolean"},
    {"type": "null"},
    {
        "type": "object",
        "properties": {"mm": {"type": "number", "description": "Millimetres."}},
        "required": ["mm"],
        "additionalProperties": False,
    },
]
ROW_SCHEMA: dict[str, Any] = {
    "type": "object",
    "additionalProperties": {"anyOf": PLAIN_SCHEMAS},
    "propertyNames": {"maxLength": MOST_NAME},
    "maxProperties": MOST_INPUTS,
}
INPUT_SCHEMA = {"anyOf": [*PLAIN_SCHEMAS, {"type": "array", "maxItems": MOST_ROWS, "items": ROW_SCHEMA}]}


def read_input(value: Any) -> Any:
    """What was sent for one input, if it has the shape of one. Raises `ValueError` with a sentence.

    What it means is left to `shop.craft.sums.reading`.
    """
    if not isinstance(value, list):
        return _plain(value)
    if len(value) > MOST_ROWS:
        raise ValueError(f"there are {len(value)} rows; at most {MOST_ROWS} fit")
    if not all(isinstance(row, dict) for row in value):
        raise ValueError("a row is an object with a value for each of its columns")
    return [{name: _plain(cell) for name, cell in read_names(row).items()} for row in value]


def read_names(given: Any) -> Any:
    """What was sent, if its names are not too many or too long. Raises `ValueError` with a sentence.

    Asked before any value is read, so that a name as long as a book is not said back.
    """
    if isinstance(given, dict) and len(given) > MOST_INPUTS:
        raise ValueError(f"there are {len(given)} names; at most {MOST_INPUTS} fit")
    if isinstance(given, dict) and any(len(name) > MOST_NAME for name in given):
        raise ValueError(f"a name has more than {MOST_NAME} characters")
    return given


def _plain(value: Any) -> Any:
    if isinstance(value, str) and len(value) > MOST_TEXT:
        raise ValueError(f"the text has {len(value)} characters; at most {MOST_TEXT} fit")
    is_length = isinstance(value, dict) and set(value) == {"mm"} and isinstance(value["mm"], int | float)
    if value is None or isinstance(value, str | int | float) or is_length:
        return value
    raise ValueError(IS_INPUT)


InputValue = Annotated[Any, BeforeValidator(read_input), WithJsonSchema(INPUT_SCHEMA)]
InputName = Annotated[str, Field(max_length=MOST_NAME)]
Inputs = Annotated[dict[InputName, InputValue], Field(max_length=MOST_INPUTS), BeforeValidator(read_names)]
Name = Annotated[
    str, Path(max_length=MOST_NAME, description="The calculator's name.", examples=["cut-length"])
]


class SumIn(RootModel[Inputs]):
    """The inputs of a calculator by name; what has a default may be left out.

    A table is a list of rows, each with a value for each of its columns.
    """

    model_config = ConfigDict(json_schema_extra={"examples": [{"visible": "3 1/2 in", "shoulder": "3/8 in"}]})


class ColumnOut(BaseModel):
    """One value that a calculator asks for; `unit` is what a plain number is taken to be in."""

    name: str
    label: str
    kind: Kind
    unit: str
    hint: str
    default: str
    needed: bool
    options: list[str]


class InputOut(ColumnOut):
    """One thing that a calculator asks for; a table asks for rows of `columns`."""

    columns: list[ColumnOut]


class SumOut(BaseModel):
    """A bench calculator."""

    name: str
    title: str
    group: str
    about: str
    inputs: list[InputOut]
    formula: str
    source: str


class FigureLength(BaseModel):
    """A length in both units: `in` to the nearest 1/64, or in decimals where a diameter or a gap is meant."""

    model_config = ConfigDict(populate_by_name=True)

    mm: float = Field(description="Millimetres, exactly.")
    inches: str = Field(serialization_alias="in", examples=["8 3/16", "0.865"])


FigureValue = FigureLength | bool | int | float | str | None


class SumAnswer(BaseModel):
    """What a calculator answers: its figures by name, the sum with the numbers put in, and warnings.

    Money is whole cents, a day is text, other numbers are in the unit that their name ends in. A table is
    a list of rows, by the names of its columns. What there is nothing to say of is null.
    """

    figures: dict[str, FigureValue | list[dict[str, FigureValue]]]
    working: list[str]
    warnings: list[str]


@router.get("/sums", response_model=Page[SumOut])
def list_sums(actor: KeyForLooking) -> Any:
    """Every bench calculator, with what it asks for; the list is short and never goes on."""
    return {"items": [sum_out(calculator) for calculator in SUMS.values()], "next": None}


@router.post("/sums/{name}", response_model=SumAnswer, openapi_extra=WRITES_NOTHING)
def post_sum(actor: KeyForLooking, name: Name, body: SumIn) -> Any:
    """Work a bench sum out; nothing is written down."""
    return answer_out(work_out(calculator_of(name), body.root))


def sum_out(calculator: Sum) -> dict[str, Any]:
    """A calculator, for `SumOut`."""
    return {
        "name": calculator.name, "title": calculator.title, "group": calculator.group,
        "about": calculator.about, "inputs": [_input_out(item) for item in calculator.inputs],
        "formula": calculator.formula, "source": calculator.source,
    }  # fmt: skip


def _input_out(item: Input) -> dict[str, Any]:
    has_default = bool(item.default) or item.kind is Kind.YES
    return {
        "name": item.name, "label": item.label, "kind": item.kind, "unit": _unit_of(item),
        "hint": item.hint, "default": item.default, "needed": not (has_default or item.optional),
        "options": list(item.options), "columns": [_input_out(column) for column in item.columns],
    }  # fmt: skip


_UNITS = {
    Kind.LENGTH: "written with it", Kind.FINE: "written with it", Kind.MASS: "written with it",
    Kind.VOLUME: "written with it", Kind.ANGLE: "written with it", Kind.MONEY: "whole cents",
}  # fmt: skip


def _unit_of(item: Input) -> str:
    return item.unit or _UNITS.get(item.kind, "")


def answer_out(outcome: Outcome) -> dict[str, Any]:
    """An outcome, for `SumAnswer`."""
    figures = {
        part.name: _rows_out(part) if isinstance(part, Table) else _value_out(part, part.value)
        for part in outcome.figures
    }
    return {"figures": figures, "working": outcome.working, "warnings": outcome.warnings}


def _rows_out(table: Table) -> list[dict[str, Any]]:
    return [
        {column.name: _value_out(column, value) for column, value in zip(table.columns, row, strict=True)}
        for row in table.rows
    ]


def _value_out(figure: Figure | Column, value: Any) -> Any:
    if value is None:
        return None
    if figure.kind in LENGTHS:
        return FigureLength(mm=float(mm_of(value)), inches=both_of(figure.kind, value)[0])
    return value.isoformat() if figure.kind is Kind.DAY else value
