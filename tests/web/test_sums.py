"""Sums: the list, the page of one calculator with and without a query, and addresses that fill it in."""

import re
from collections.abc import Callable
from datetime import date
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import pytest
from fastapi.testclient import TestClient

from shop.craft.sums.base import Column, Figure, Input, Kind, Outcome, Sum, Table
from shop.craft.sums.catalogue import SUMS
from shop.craft.sums.reading import MOST_ROWS
from shop.rules.people import Role
from shop.rules.refusals import BadInput
from shop.web.sums import (
    MOST_FAULTS,
    SPARE_ROWS,
    address_of,
    answer_view,
    calculator_of,
    cautions_of,
    given_of,
    input_views,
    work_out,
)
from tests.web.bench_shop import HTMX
from tests.web.sum_samples import SAMPLES

SignIn = Callable[[Role], TestClient]
Pairs = list[tuple[str, str]]
TODAY = date(2026, 3, 14)
CUT, TAPER = "/sums/cut-length", "/sums/taper"
STATIONS = {"stations.from_butt": ["0 in", "12 in"], "stations.od": ["0.593 in", "0.473 in"]}
every_calculator = pytest.mark.parametrize("name", list(SUMS))


@pytest.fixture
def helper(signed_in: SignIn) -> TestClient:
    return signed_in(Role.HELPER)


def values_of(page: str, name: str) -> list[str]:
    """What stands in every text field of that name."""
    fields = re.findall(r"<input [^>]*>", page)
    return [
        found[1]
        for field in fields
        if f'name="{name}"' in field and (found := re.search(r' value="([^"]*)"', field))
    ]


def beside(page: str, name: str) -> str:
    """The sentence beside a field."""
    return page.split(f'id="e-{name}"')[1].split("</p>")[0]


def pairs_of(address: str) -> Pairs:
    return parse_qsl(urlsplit(address).query, keep_blank_values=True)


def test_the_list_names_every_calculator_under_its_group(helper: TestClient) -> None:
    page = helper.get("/sums").text
    for calculator in SUMS.values():
        assert f'<a href="/sums/{calculator.name}">{calculator.title}</a>' in page
        assert f">{calculator.group}</h2>" in page
    assert '<a href="/sums" aria-current="page">Sums</a>' in page


@pytest.mark.parametrize("path", ["/sums", CUT, f"{CUT}?visible=3+in"])
def test_a_stranger_signs_in_first(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert (answer.status_code, answer.headers["location"].split("?")[0]) == (303, "/sign-in")


def test_every_calculator_has_a_sample() -> None:
    assert set(SUMS) - set(SAMPLES) == set()


@every_calculator
def test_a_calculator_opens_with_its_defaults_and_answers_its_sample(helper: TestClient, name: str) -> None:
    opened = helper.get(f"/sums/{name}")
    assert opened.status_code == 200
    assert 'role="alert"' not in opened.text
    assert 'id="answer"' not in opened.text
    for item in SUMS[name].inputs:
        assert f'id="f-{item.name}"' in opened.text
    answered = helper.get(address_of(name, SAMPLES[name]))
    assert answered.status_code == 200, re.findall(r'class="error".*?</p>', answered.text, re.S)
    assert 'id="answer"' in answered.text
    assert "How it comes about" in answered.text


@every_calculator
def test_an_address_gives_back_what_was_put_into_it(name: str) -> None:
    given = given_of(SUMS[name], pairs_of(address_of(name, SAMPLES[name])))
    filled = {
        key: [{column: cell for column, cell in row.items() if cell} for row in value]
        if isinstance(value, list)
        else value
        for key, value in given.items()
        if value
    }
    assert filled == SAMPLES[name]


def test_an_address_keeps_rows_with_holes_in_step() -> None:
    rows = [{"from_butt": "0 in"}, {"from_butt": "12 in & more", "od": "0.473 in"}]
    given = given_of(SUMS["taper"], pairs_of(address_of("taper", {"stations": rows, "at": '1/2"'})))
    assert given == {"stations": [{"from_butt": "0 in", "od": ""}, rows[1]], "at": '1/2"'}


def test_an_address_without_inputs_opens_the_form() -> None:
    assert address_of("taper", {}) == TAPER


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_an_answer_is_told_in_both_units_with_working_formula_and_source(
    helper: TestClient, headers: dict[str, str]
) -> None:
    query = {"visible": "3 1/2 in", "shoulder": "3/8 in", "facing": "1/32 in"}
    answer = helper.get(CUT, params=query, headers=headers)
    assert answer.status_code == 200
    assert '<span class="figure-value">3 15/16 in</span> <span class="figure-also">100.01 mm</span>' in (
        answer.text
    )
    calculator = SUMS["cut-length"]
    assert f'<p class="formula">{calculator.formula}</p>' in answer.text
    assert calculator.source in answer.text
    assert "3 15/16 in" in answer.text.split('class="working"')[1].split("</ol>")[0]
    assert {name: values_of(answer.text, name) for name in query} == {k: [v] for k, v in query.items()}


@pytest.mark.parametrize(
    ("query", "field", "says"),
    [
        ({"visible": "", "shoulder": "3/8 in"}, "visible", "missing"),
        ({"shoulder": "1/4 in"}, "visible", "missing"),
        ({"visible": "3.5"}, "visible", "has no unit"),
        ({"visible": "NaN in"}, "visible", "is not a length"),
        ({"visible": "-3 in"}, "visible", "cannot be less than nothing"),
        ({"visible": "99 m"}, "visible", "at most"),
        ({"visible": "<b>&\x00"}, "visible", "&lt;b&gt;&amp;"),
        ({"visible": "9" * 5000}, "visible", "too long"),
        ({"visible": "3 in", "facing": "x"}, "facing", "a unit that is not known here"),
    ],
)
def test_a_fault_stands_beside_its_field_and_what_was_typed_is_kept(
    helper: TestClient, query: dict[str, str], field: str, says: str
) -> None:
    answer = helper.get(CUT, params=query)
    assert answer.status_code == 422
    assert says in beside(answer.text, field)
    assert "No answer yet." in answer.text
    assert 'id="answer"' not in answer.text
    for name, text in query.items():
        shown = values_of(answer.text, name)[0]
        assert shown == text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def test_an_input_that_there_is_not_is_refused_by_name(helper: TestClient) -> None:
    answer = helper.get(CUT, params={"visible": "3 in", "vizible": "3 in"})
    assert answer.status_code == 422
    assert "There is no input “vizible” here" in answer.text


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
@pytest.mark.parametrize(
    ("query", "field", "label"),
    [
        ("visible=3+in&visible=4+in&shoulder=3%2F8+in", "visible", "Visible length"),
        ("visible=3+in&visible=3+in", "visible", "Visible length"),
        ("visible=3+in&shoulder=&shoulder=1%2F4+in", "shoulder", SUMS["cut-length"].inputs[1].label),
    ],
)
def test_an_input_given_twice_is_refused_rather_than_one_picked(
    helper: TestClient, headers: dict[str, str], query: str, field: str, label: str
) -> None:
    answer = helper.get(f"{CUT}?{query}", headers=headers)
    assert answer.status_code == 422
    assert f"{label} is given more than once; give it once." in beside(answer.text, field)
    assert 'id="answer"' not in answer.text


def test_a_name_that_there_is_not_is_said_once_where_it_comes_twice() -> None:
    pairs = [(f"input{number % 300}", "1") for number in range(600)]
    with pytest.raises(BadInput) as refused:
        given_of(SUMS["cut-length"], pairs)
    assert len(refused.value.errors) == MOST_FAULTS
    assert refused.value.errors["input0"] == "“input0” is given more than once; give it once."


@pytest.mark.parametrize("name", ["nonsense", "999999", "Cut-length", "%00"])
def test_a_calculator_that_there_is_not(helper: TestClient, name: str) -> None:
    assert helper.get(f"/sums/{name}").status_code == 404


def test_a_table_has_spare_rows_and_each_field_says_its_row(helper: TestClient) -> None:
    page = helper.get(TAPER).text
    assert values_of(page, "stations.od") == [""] * SPARE_ROWS
    for row in range(1, SPARE_ROWS + 1):
        assert f'aria-label="Stations, row {row}, outside diameter"' in page
    answered = helper.get(TAPER, params={**STATIONS, "at": "1/2 in"})
    assert answered.status_code == 200
    assert values_of(answered.text, "stations.od") == [*STATIONS["stations.od"], *[""] * SPARE_ROWS]


def test_more_rows_come_without_an_answer_or_a_complaint(helper: TestClient) -> None:
    query = {"stations.from_butt": ["0 in", "", "rubbish", ""], "stations.od": ["", "", "", ""], "more": "1"}
    answer = helper.get(TAPER, params=query)
    assert answer.status_code == 200
    assert 'role="alert"' not in answer.text
    assert 'id="answer"' not in answer.text
    assert values_of(answer.text, "stations.from_butt") == ["0 in", "rubbish", *[""] * 6]
    assert len(values_of(answer.text, "stations.od")) == 4 + SPARE_ROWS


def test_rows_stop_where_no_more_are_read(helper: TestClient) -> None:
    query: dict[str, Any] = {"stations.from_butt": ["1 in"] * 70, "stations.od": ["1 in"] * 70}
    for more in ({}, {"more": "1"}):
        answer = helper.get(TAPER, params={**query, **more})
        assert len(values_of(answer.text, "stations.od")) == 70
    assert "at most 60 fit" in beside(helper.get(TAPER, params=query).text, "stations")
    full = {**query, **{name: ["1 in"] * (MOST_ROWS - 1) for name in query}, "more": "1"}
    assert len(values_of(helper.get(TAPER, params=full).text, "stations.od")) == MOST_ROWS


def test_a_fault_in_a_row_is_counted_without_the_empty_rows(helper: TestClient) -> None:
    query = {"stations.from_butt": ["0 in", "", "12"], "stations.od": ["0.593 in", "", "0.473 in"]}
    answer = helper.get(TAPER, params={**query, "at": "1 in"})
    assert answer.status_code == 422
    assert "Stations, row 2" in beside(answer.text, "stations.2.from_butt")
    field = re.search(r'<input id="f-stations\.2\.from_butt"[^>]*>', answer.text)
    assert field is not None
    assert 'value="12"' in field[0]
    assert 'aria-invalid="true"' in field[0]


def test_enter_in_a_field_works_it_out(helper: TestClient) -> None:
    form = helper.get(TAPER).text.split('action="/sums/taper#answer"')[1].split("</form>")[0]
    buttons = re.findall(r"<button [^>]*>", form)
    assert ['name="more"' in button for button in buttons] == [False, True]
    assert 'name="more"' not in helper.get(CUT).text


def test_cautions_stand_where_the_work_needs_them(helper: TestClient) -> None:
    assert [caution.title for caution in cautions_of(SUMS["cut-length"])][:2] == ["Dust", "Blades"]
    assert "Dust of carbon" in helper.get(CUT).text
    assert "lasting allergy" in helper.get("/sums/mix-amounts").text
    assert cautions_of(SUMS["guide-spacing"]) == ()
    assert 'aria-label="Take care"' not in helper.get("/sums/guide-spacing").text


def test_a_body_of_nothing_but_mistakes_gets_a_short_answer() -> None:
    with pytest.raises(BadInput) as refused:
        work_out(calculator_of("cut-length"), {f"input{number}": "1" for number in range(500)})
    assert len(refused.value.errors) == MOST_FAULTS


ODD = Sum(
    "odd", "Odd", "Test", "One input of every kind that is not a line.",
    (
        Input("faced", "Faced", Kind.YES, default="yes"), Input("open", "Open", Kind.YES),
        Input("stuff", "Stuff", Kind.CHOICE, options=("cork", "foam"), default="foam"),
        Input("side", "Side", Kind.CHOICE, options=("left", "right"), optional=True),
        Input("price", "Price", Kind.MONEY), Input("day", "Day", Kind.DAY, optional=True),
        Input("from", "From", Kind.DAY),
        Input(
            "rows", "Rows", Kind.TABLE,
            columns=(
                Input("sort", "Sort", Kind.CHOICE, options=("a", "b"), default="b"),
                Input("glued", "Glued", Kind.YES),
                Input("on", "On", Kind.DAY, hint="The last.", optional=True),
                Input("cost", "Cost", Kind.MONEY, optional=True),
            ),
        ),
    ), "", "", lambda values: Outcome((Figure("day", "Day", Kind.DAY, values["day"]),)),
)  # fmt: skip


def test_each_kind_of_input_has_its_field_and_its_default() -> None:
    views = {view.name: view for view in input_views(ODD, [], "SEK", TODAY)}
    assert [(view.widget, view.value) for view in views.values()][:6] == [
        ("radio", "yes"), ("radio", "no"), ("select", "foam"), ("select", ""), ("text", ""), ("date", ""),
    ]  # fmt: skip
    assert views["from"].value == "2026-03-14"
    assert [value for value, _ in views["stuff"].options] == ["cork", "foam"]
    assert [value for value, _ in views["side"].options] == ["", "left", "right"]
    assert (views["price"].unit, views["price"].inputmode) == ("SEK", "decimal")
    first = views["rows"].rows[0]
    assert [[value for value, _ in cell.options] for cell in first] == [
        ["", "a", "b"],
        ["", "yes", "no"],
        [],
        [],
    ]
    assert [(cell.kind, cell.inputmode) for cell in first[2:]] == [("date", ""), ("text", "decimal")]
    assert [hint for _, hint in views["rows"].head] == [
        "else b", "", "The last; optional", "in SEK; optional",
    ]  # fmt: skip


def test_no_is_kept_where_yes_is_the_default() -> None:
    pairs = [("faced", "no"), ("open", "on"), ("price", "18.50"), ("from", "2026-03-01"), ("rows.sort", "a")]
    pairs += [("rows.glued", "")]
    assert [view.value for view in input_views(ODD, pairs, "EUR", TODAY)][:2] == ["no", "yes"]
    assert work_out(ODD, given_of(ODD, pairs)).figures[0] == Figure("day", "Day", Kind.DAY, None)


def test_every_kind_of_figure_is_written_out() -> None:
    outcome = Outcome(
        (
            Figure("bore", "Bore", Kind.FINE, 21_971_000), Figure("cut", "Cut", Kind.LENGTH, 100_012_500),
            Figure("total", "Total", Kind.MONEY, 77734), Figure("mass", "Mass", Kind.MASS, 34.48),
            Figure("fits", "Fits", Kind.YES, False), Figure("gap", "Gap", Kind.LENGTH, None),
            Table(
                "parts", "Parts",
                (Column("part", "Part", Kind.TEXT), Column("cost", "Cost", Kind.MONEY)), (("cap", 640),) * 15,
            ),
        )
    )  # fmt: skip
    view = answer_view(outcome, "EUR")
    assert [(figure.value, figure.also, figure.is_words) for figure in view.figures] == [
        ("0.865 in", "21.97 mm", False), ("3 15/16 in", "100.01 mm", False), ("777.34 EUR", "", False),
        ("34.48 g", "", False), ("no", "", True), ("–", "", False),
    ]  # fmt: skip
    assert view.tables[0].rows[0] == ["cap", "6.40 EUR"]
    assert (view.tables[0].numeric, view.tables[0].is_long) == ([1], True)
