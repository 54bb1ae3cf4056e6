"""The API of the bench calculators: every one described, answered and refused without breaking anything."""

import json
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table
from shop.craft.sums.catalogue import SUMS
from shop.rules.people import Scope
from shop.rules.refusals import BadInput
from shop.web.api.sums import SumAnswer, answer_out
from shop.web.sums import work_out
from tests.api.conftest import PROBLEM, Program
from tests.web.sum_samples import SAMPLES

JSON = {"content-type": "application/json"}
CUT = "/sums/cut-length"
every_calculator = pytest.mark.parametrize("name", list(SUMS))


@pytest.fixture
def reader(program: Callable[..., Program]) -> Program:
    return program(Scope.READ)


def test_the_list_describes_every_calculator(reader: Program) -> None:
    listed = reader.get("/sums")
    assert listed["next"] is None
    assert [item["name"] for item in listed["items"]] == list(SUMS)
    cut = next(item for item in listed["items"] if item["name"] == "cut-length")
    assert set(cut) == {"name", "title", "group", "about", "inputs", "formula", "source"}
    assert cut["formula"]
    assert cut["source"]
    assert cut["inputs"][0]["name"] == "visible"
    assert cut["inputs"][0]["kind"] == "length"
    assert cut["inputs"][0]["needed"] is True
    assert [item["needed"] for item in cut["inputs"] if item["default"]] == [False, False]
    taper = next(item for item in listed["items"] if item["name"] == "taper")
    assert [column["name"] for column in taper["inputs"][0]["columns"]] == ["from_butt", "od"]
    assert [column["kind"] for column in taper["inputs"][0]["columns"]] == ["length", "fine"]


@every_calculator
def test_a_calculator_answers_its_sample_with_the_working(reader: Program, name: str) -> None:
    answer = reader.post(f"/sums/{name}", **SAMPLES[name])
    assert set(answer) == {"figures", "working", "warnings"}
    assert answer["figures"]
    assert answer["working"]


def test_a_length_goes_in_as_text_or_millimetres_and_comes_out_in_both_units(reader: Program) -> None:
    expected = {"mm": 100.0125, "in": "3 15/16"}
    for visible in ("3 1/2 in", '3-1/2"', "88.9 mm", {"mm": 88.9}):
        answer = reader.post(CUT, visible=visible, shoulder="3/8 in")
        assert expected in answer["figures"].values(), visible


def test_a_diameter_comes_out_in_decimals_of_an_inch(reader: Program) -> None:
    figures = reader.post("/sums/shoulder", **SAMPLES["shoulder"])["figures"]
    assert {"mm": 21.971, "in": "0.865"} in figures.values()


def test_every_kind_of_figure_keeps_its_kind() -> None:
    columns = (Column("part", "Part", Kind.TEXT), Column("at", "At", Kind.LENGTH))
    outcome = Outcome(
        (
            Figure("total", "Total", Kind.MONEY, 77734), Figure("mass_g", "Mass", Kind.MASS, 34.5),
            Figure("count", "Count", Kind.COUNT, 9), Figure("fits", "Fits", Kind.YES, True),
            Figure("gap", "Gap", Kind.LENGTH, None),
            Table("parts", "Parts", columns, (("cap", 25_400_000), ("reel", None))),
        ),
        ("1 + 1 = 2",), ("Take care.",),
    )  # fmt: skip
    answer = json.loads(SumAnswer(**answer_out(outcome)).model_dump_json(by_alias=True))
    assert answer == {
        "figures": {
            "total": 77734, "mass_g": 34.5, "count": 9, "fits": True, "gap": None,
            "parts": [{"part": "cap", "at": {"mm": 25.4, "in": "1"}}, {"part": "reel", "at": None}],
        },
        "working": ["1 + 1 = 2"], "warnings": ["Take care."],
    }  # fmt: skip


@pytest.mark.parametrize(
    ("body", "field", "says"),
    [
        ({}, "visible", "missing"),
        ({"visible": "3.5"}, "visible", "has no unit"),
        ({"visible": 3.5}, "visible", "with its unit"),
        ({"visible": "NaN in"}, "visible", "is not a length"),
        ({"visible": {"mm": 1e300}}, "visible", "more than 100 m"),
        ({"visible": {"mm": "89"}}, "visible", "An input is text"),
        ({"visible": {"in": "3"}}, "visible", "An input is text"),
        ({"visible": [[1]]}, "visible", "A row is an object"),
        ({"visible": "3" * 300}, "visible", "at most 200 fit"),
        ({"visible": "-3 in"}, "visible", "cannot be less than nothing"),
        ({"visible": "3 in", "vizible": "3 in"}, "vizible", "There is no input"),
    ],
)
def test_a_fault_is_told_by_the_name_of_its_input(
    reader: Program, body: dict[str, Any], field: str, says: str
) -> None:
    problem = reader.assert_refused(422, CUT, **body)
    assert [error["field"] for error in problem["errors"]] == [field]
    assert says in problem["errors"][0]["detail"]


@pytest.mark.parametrize(
    ("stations", "field"),
    [
        ([{"from_butt": "0 in", "od": "0.5 in"}, {"from_butt": "12 in", "od": "0.4"}], "stations.2.od"),
        ([{"from_butt": "0 in", "od": True}], "stations.1.od"),
        ([{"from_butt": "0 in", "od": "0.5 in", "id": "0.4 in"}], "stations.1.id"),
        ([], "stations"),
        ("12 in", "stations"),
        ([{"from_butt": "0 in", "od": "0.5 in"}] * 61, "stations"),
        ([{f"column{number}": "1" for number in range(61)}], "stations"),
        ([{"od": {"mm": {"mm": 1}}}], "stations"),
    ],
)
def test_a_fault_in_a_row_is_told_by_row_and_column(reader: Program, stations: object, field: str) -> None:
    problem = reader.assert_refused(422, "/sums/taper", stations=stations, at="1 in")
    assert field in [error["field"] for error in problem["errors"]]


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ('{"visible": "3 in", "shoulder": "3/8 in", "visible": "4 in"}', "visible"),
        ('{"visible": "3 in", "shoulder": "3/8 in", "shoulder": "3/8 in"}', "shoulder"),
        ('{"stations": [{"from_butt": "0 in", "od": "0.5 in", "od": "0.6 in"}]}', "od"),
    ],
)
def test_an_input_given_twice_is_refused_rather_than_one_picked(
    reader: Program, body: str, field: str
) -> None:
    response = reader.send("POST", CUT, content=body, headers=JSON)
    assert response.status_code == 422
    assert response.headers["content-type"] == PROBLEM
    assert response.json()["detail"] == f"“{field}” is given more than once; give it once."
    assert [error["field"] for error in response.json()["errors"]] == [field]


@pytest.mark.parametrize("name", ["nonsense", "Cut-length", "999999"])
def test_a_calculator_that_there_is_not_is_404_with_a_sentence(reader: Program, name: str) -> None:
    problem = reader.assert_refused(404, f"/sums/{name}", visible="3 in")
    assert problem["detail"] == f"There is no calculator “{name}”; Sums lists every one there is."


@pytest.mark.parametrize("scope", list(Scope))
def test_a_key_that_may_look_may_work_sums_out(program: Callable[..., Program], scope: Scope) -> None:
    key = program(scope)
    if scope is Scope.SENSOR:
        key.assert_refused(403, CUT, visible="3 in")
        key.assert_refused(403, "/sums", method="GET")
    else:
        assert key.post(CUT, visible="3 in")["working"]
        assert key.get("/sums")["items"]


@pytest.mark.parametrize(
    "body",
    [
        b'{"visible": NaN}',
        b'{"visible": {"mm": Infinity}}',
        b'{"visible": 1e999}',
        b'{"visible": ' + b"9" * 5000 + b"}",
        b'{"visible": ' + b"[" * 200_000 + b"]" * 200_000 + b"}",
        b'{"visible": ' + b"[" * 300 + b"]" * 300 + b"}",
        b'{"visible": ' + b'{"mm": ' * 300 + b"1" + b"}" * 300 + b"}",
        b'{"visible": "' + b"3" * 1_000_000 + b'"}',
        json.dumps({f"input{number}": 1 for number in range(5000)}).encode(),
        json.dumps({"a" * 1_000_000: 1}).encode(),
        b"[]",
        b'"3 in"',
        b"null",
        b"",
    ],
    ids=range(14),
)
def test_a_monstrous_body_is_refused_shortly(reader: Program, body: bytes) -> None:
    response = reader.send("POST", CUT, content=body, headers=JSON)
    assert (response.status_code, response.headers["content-type"]) == (422, PROBLEM)
    assert len(response.content) < 10_000


def test_the_same_sum_has_the_same_answer_and_needs_no_key_for_retries(reader: Program) -> None:
    body, headers = {"visible": "3 in"}, {"idempotency-key": "once"}
    answers = [reader.send("POST", CUT, json=body, headers=headers).json() for _ in range(2)]
    assert answers[0] == answers[1]
    assert reader.send("POST", CUT, json={"visible": "4 in"}, headers=headers).status_code == 200


# Values at the ends of what a kind can be, where a sum that divides or takes a root would break.
EXTREMES: dict[Kind, tuple[str, ...]] = {
    Kind.LENGTH: ("0.000001 mm", "0 in", "1/64 in", "-1 in", "20 m"),
    Kind.FINE: ("0.000001 mm", "0 in", "1/2 in", "-1 in", "200 mm"),
    Kind.MASS: ("0.000001 g", "0 g", "100 kg"),
    Kind.VOLUME: ("0.000001 mL", "0 mL", "10 l"),
    Kind.ANGLE: ("0°", "0.001°", "90°", "180°", "360°", "-180°"),
    Kind.NUMBER: ("1e-9", "0", "1", "100", "1e9", "-1e9"),
    Kind.COUNT: ("0", "1", "2", "10000"),
    Kind.MONEY: ("0", "0.01", "100000000"),
    Kind.DAY: ("0001-01-01", "9999-12-31"),
    Kind.YES: ("yes", "no"),
    Kind.TEXT: ("x",),
}


def extremes_of(item: Input) -> tuple[str, ...]:
    return EXTREMES.get(item.kind) or tuple(map(str, item.options))


def spoilt(calculator: Sum, sample: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The sample with one value at a time, or one column, put at an end of what it can be."""
    for item in calculator.inputs:
        if item.kind is not Kind.TABLE:
            yield from ({**sample, item.name: value} for value in extremes_of(item))
            continue
        rows = sample.get(item.name, [{}])
        yield from ({**sample, item.name: other} for other in (rows[:1], rows[::-1], rows * 2))
        for column in item.columns:
            for value in extremes_of(column):
                yield {**sample, item.name: [{**row, column.name: value} for row in rows]}
                yield {**sample, item.name: [{**rows[0], column.name: value}, *rows[1:]]}


@every_calculator
def test_at_the_ends_of_what_can_be_a_calculator_answers_or_says_why_not(name: str) -> None:
    calculator, answered = SUMS[name], 0
    inputs = {item.name for item in calculator.inputs}
    blamed: dict[str, str] = {}
    for body in spoilt(calculator, SAMPLES[name]):
        try:
            outcome = work_out(calculator, body)
        except BadInput as refused:
            strange = {field for field in refused.errors if field.split(".")[0] not in inputs}
            blamed.update({f"{field} of {body}": refused.errors[field] for field in strange})
            continue
        answered += 1
        # Raises where a figure is not finite, or not of its kind.
        json.dumps(SumAnswer(**answer_out(outcome)).model_dump(by_alias=True), allow_nan=False)
    assert blamed == {}, "a fault of no input"
    assert answered > 0
