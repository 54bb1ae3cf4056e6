"""The API of blanks: lengths in any way they are written, out in both units, exact to the nanometre."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shop.craft.lengths import NM_PER_64TH, format_mm
from shop.rules.people import Scope
from tests.api.conftest import Program

BLANK: dict[str, Any] = {
    "maker": "Tern Hollow", "model": "Heron 70 MH", "length": "84 in", "pieces": 2, "mass_g": 58.125,
    "stations": [
        {"from_butt": "0 mm", "od": "0.593 in"},
        {"from_butt": {"mm": 304.8}, "od": "12.0142 mm"},
    ],
    "joints": [{"from_butt": "42 in", "insertion": {"mm": 50.8}}], "wall_butt": "1 mm", "wall_tip": "0.02 in",
    "test_load_g": 312, "test_sag": "28 in", "most_load_g": 650.125, "notes": "stiff",
}  # fmt: skip
NULLABLE = ("mass_g", "wall_butt", "wall_tip", "test_load_g", "test_sag", "most_load_g")
GROWING = [{"from_butt": "0 in", "od": "0.4 in"}, {"from_butt": "12 in", "od": "0.5 in"}]
MOST_NM, MOST_OD_NM = 8_000_000_000, 100_000_000


def fields(problem: Any) -> list[str]:
    return [error["field"] for error in problem["errors"]]


def test_a_blank_is_kept_and_comes_out_in_both_units(desk: Program) -> None:
    made = desk.post("/blanks", **BLANK)
    assert made == {
        "id": 1, "maker": "Tern Hollow", "model": "Heron 70 MH", "length": {"mm": 2133.6, "in": "84"},
        "pieces": 2, "mass_g": 58.125,
        "stations": [
            {"from_butt": {"mm": 0.0, "in": "0"}, "od": {"mm": 15.0622, "in": "19/32"}},
            {"from_butt": {"mm": 304.8, "in": "12"}, "od": {"mm": 12.0142, "in": "15/32"}},
        ],
        "joints": [{"from_butt": {"mm": 1066.8, "in": "42"}, "insertion": {"mm": 50.8, "in": "2"}}],
        "wall_butt": {"mm": 1.0, "in": "3/64"}, "wall_tip": {"mm": 0.508, "in": "1/64"},
        "test_load_g": 312.0, "test_sag": {"mm": 711.2, "in": "28"}, "most_load_g": 650.125,
        "notes": "stiff",
    }  # fmt: skip
    assert desk.get("/blanks/1") == made
    assert desk.get("/blanks") == {"items": [made], "next": None}


def test_a_blank_needs_no_more_than_model_and_length(desk: Program) -> None:
    made = desk.post("/blanks", model="Wader", length="2 m")
    assert (made["maker"], made["pieces"], made["stations"], made["joints"]) == ("", 1, [], [])
    assert {made[name] for name in NULLABLE} == {None}


@st.composite
def lengths(draw: st.DrawFn, most_nm: int) -> tuple[int, Any]:
    """A length in nanometres and a way to write it that says exactly that."""
    parts_64 = st.integers(0, most_nm // NM_PER_64TH).map(lambda parts: max(1, parts * NM_PER_64TH))
    nm = draw(st.integers(1, most_nm) | parts_64)
    ways: list[Any] = [f"{format_mm(nm)} mm", {"mm": nm / 1_000_000}, f"  {format_mm(nm)}MM"]
    if nm % NM_PER_64TH == 0:
        whole, parts = divmod(nm // NM_PER_64TH, 64)
        ways += [f"{whole} {parts}/64 in", f'{whole}-{parts}/64"']
    return nm, draw(st.sampled_from(ways))


@st.composite
def blanks(draw: st.DrawFn) -> tuple[int, list[tuple[int, int]], dict[str, Any]]:
    """A blank that can be: its length and stations in nanometres, and the body that says so."""
    length_nm, length = draw(lengths(MOST_NM))
    places = draw(st.lists(lengths(length_nm), max_size=8, unique_by=lambda pair: pair[0]))
    ods = draw(st.lists(lengths(MOST_OD_NM), min_size=len(places), max_size=len(places)))
    pairs = list(zip(sorted(places, key=lambda pair: pair[0]), ods, strict=True))
    stations = [{"from_butt": place[1], "od": od[1]} for place, od in pairs]
    body = {"model": "Heron", "length": length, "stations": stations, "diameters_confirmed": True}
    return length_nm, [(place[0], od[0]) for place, od in pairs], body


def nm(length: dict[str, Any]) -> int:
    """What a program reads back, by the decimal that was written."""
    exact = Decimal(str(length["mm"])) * 1_000_000
    assert exact == int(exact)
    return int(exact)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(blank=blanks())
def test_any_blank_reads_back_with_exactly_the_same_nanometres(
    desk: Program, blank: tuple[int, list[tuple[int, int]], dict[str, Any]]
) -> None:
    length_nm, stations, body = blank
    kept = desk.get(f"/blanks/{desk.post('/blanks', **body)['id']}")
    assert nm(kept["length"]) == length_nm
    assert [(nm(item["from_butt"]), nm(item["od"])) for item in kept["stations"]] == stations


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"model": ""}, "model"),
        ({"length": "84"}, "length"),
        ({"length": 84}, "length"),
        ({"length": "0 in"}, "length"),
        ({"length": "8001 mm"}, "length"),
        ({"pieces": 0}, "pieces"),
        ({"pieces": 1.5}, "pieces"),
        ({"mass_g": 58.1251}, "mass_g"),
        ({"mass_g": "58"}, "mass_g"),
        ({"mass_g": 0}, "mass_g"),
        ({"stations": GROWING[::-1]}, "stations"),
        ({"stations": [GROWING[0], GROWING[0]]}, "stations"),
        ({"stations": [{"from_butt": "85 in", "od": "0.1 in"}]}, "stations"),
        ({"stations": [{"from_butt": "1 in"}]}, "stations.0.od"),
        ({"joints": [*BLANK["joints"], *BLANK["joints"]]}, "joints"),
        ({"joints": [{"from_butt": "84 in", "insertion": "0 in"}]}, "joints"),
        ({"joints": [{"from_butt": "42 in", "insertion": "42 in"}]}, "joints"),
        ({"joints": [{"from_butt": "42 in"}]}, "joints.0.insertion"),
        ({"joints": [{"from_butt": "42", "insertion": "2 in"}]}, "joints.0.from_butt"),
        ({"joints": BLANK["joints"] * 8}, "joints"),
        ({"wall_butt": "0.2965 in"}, "wall_butt"),
        ({"wall_butt": 1}, "wall_butt"),
        ({"wall_tip": "0 mm"}, "wall_tip"),
        ({"test_load_g": 650.126}, "test_load_g"),
        ({"test_load_g": None}, "test_load_g"),
        ({"test_load_g": 312.0001}, "test_load_g"),
        ({"test_sag": None}, "test_sag"),
        ({"test_sag": "84 in"}, "test_sag"),
        ({"most_load_g": 0}, "most_load_g"),
        ({"most_load_g": "650"}, "most_load_g"),
        ({"stations": GROWING}, "diameters_confirmed"),
        ({"stations": GROWING, "diameters_confirmed": False}, "diameters_confirmed"),
        ({"stations": GROWING, "diameters_confirmed": "yes"}, "diameters_confirmed"),
    ],
)
def test_what_cannot_be_is_refused_by_field_and_nothing_is_kept(
    desk: Program, changes: dict[str, Any], field: str
) -> None:
    assert fields(desk.assert_refused(422, "/blanks", **{**BLANK, **changes})) == [field]
    assert desk.get("/blanks")["items"] == []


def test_a_mass_is_refused_rather_than_rounded(desk: Program) -> None:
    problem = desk.assert_refused(422, "/blanks", **{**BLANK, "mass_g": 58.1251})
    assert "at most 3 decimals" in problem["detail"]


def test_a_diameter_that_grows_is_kept_once_confirmed_and_asked_about_anew(desk: Program) -> None:
    made = desk.post("/blanks", **{**BLANK, "stations": GROWING, "diameters_confirmed": True})
    assert [item["od"]["mm"] for item in made["stations"]] == [10.16, 12.7]
    again = desk.send("PATCH", "/blanks/1", json={"stations": GROWING, "notes": "odd"})
    assert again.json() == {**made, "notes": "odd"}
    more = [*GROWING, {"from_butt": "24 in", "od": "0.6 in"}]
    problem = desk.assert_refused(422, "/blanks/1", method="PATCH", stations=more)
    assert fields(problem) == ["diameters_confirmed"]
    assert desk.get("/blanks/1") == again.json()


@pytest.mark.parametrize(
    ("changes", "shown"),
    [
        ({}, {}),
        ({"model": "Heron II"}, {"model": "Heron II"}),
        ({"length": {"mm": 2000}}, {"length": {"mm": 2000.0, "in": "78 47/64"}}),
        ({"mass_g": None}, {"mass_g": None}),
        ({"joints": []}, {"joints": []}),
        ({"joints": [], "pieces": 1}, {"joints": [], "pieces": 1}),
        (
            {"wall_butt": None, "wall_tip": "0.25 mm"},
            {"wall_butt": None, "wall_tip": {"mm": 0.25, "in": "1/64"}},
        ),
        ({"test_load_g": None, "test_sag": None}, {"test_load_g": None, "test_sag": None}),
        ({"most_load_g": 312}, {"most_load_g": 312.0}),
        (dict.fromkeys(NULLABLE), dict.fromkeys(NULLABLE)),
        ({"stations": []}, {"stations": []}),
        ({"maker": "", "notes": ""}, {"maker": "", "notes": ""}),
    ],
)
def test_a_change_leaves_the_rest(desk: Program, changes: dict[str, Any], shown: dict[str, Any]) -> None:
    made = desk.post("/blanks", **BLANK)
    response = desk.send("PATCH", "/blanks/1", json=changes)
    assert (response.status_code, response.json()) == (200, {**made, **shown})
    assert desk.get("/blanks/1") == {**made, **shown}


@pytest.mark.parametrize("field", ["maker", "model", "length", "pieces", "stations", "joints", "notes"])
def test_null_is_no_value_for_what_every_blank_has(desk: Program, field: str) -> None:
    desk.post("/blanks", **BLANK)
    assert fields(desk.assert_refused(422, "/blanks/1", method="PATCH", **{field: None})) == [field]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"pieces": 3}, "joints"),
        ({"length": "42 in"}, "joints"),
        ({"test_sag": None}, "test_sag"),
        ({"most_load_g": 311.999}, "test_load_g"),
        ({"stations": [{"from_butt": "0 in", "od": "2 mm"}]}, "wall_butt"),
    ],
)
def test_a_change_is_judged_with_what_stays(desk: Program, changes: dict[str, Any], field: str) -> None:
    made = desk.post("/blanks", **BLANK)
    assert fields(desk.assert_refused(422, "/blanks/1", method="PATCH", **changes)) == [field]
    assert desk.get("/blanks/1") == made


def test_a_retried_post_puts_one_blank_on_file(desk: Program) -> None:
    headers = {"Idempotency-Key": "blank of Monday"}
    answers = [desk.send("POST", "/blanks", json=BLANK, headers=headers).json() for _ in range(2)]
    assert answers[0] == answers[1]
    assert len(desk.get("/blanks")["items"]) == 1


def test_lists_go_by_key_with_the_stations_of_each(desk: Program) -> None:
    for model, stations in (("Heron", BLANK["stations"]), ("Wader", []), ("Tern", GROWING[:1])):
        joints = BLANK["joints"] if model == "Heron" else []
        desk.post("/blanks", model=model, length="84 in", pieces=2, stations=stations, joints=joints)
    first = desk.get("/blanks", limit=2)
    rest = desk.get("/blanks", limit=2, after=first["next"])
    items = first["items"] + rest["items"]
    shown = [(item["model"], len(item["stations"]), len(item["joints"])) for item in items]
    assert shown == [("Heron", 2, 1), ("Wader", 0, 0), ("Tern", 1, 0)]
    assert rest["next"] is None


@pytest.mark.parametrize(("scope", "looks"), [(Scope.READ, 200), (Scope.BENCH, 200), (Scope.SENSOR, 403)])
def test_only_the_desk_changes_blanks(program: Any, scope: Scope, looks: int) -> None:
    other: Program = program(scope)
    assert other.send("GET", "/blanks").status_code == looks
    other.assert_refused(403, "/blanks", **BLANK)
    other.assert_refused(403, "/blanks/1", method="PATCH", model="Heron")


def test_a_blank_that_is_not_on_file(desk: Program) -> None:
    desk.assert_refused(404, "/blanks/7", method="GET")
    desk.assert_refused(404, "/blanks/7", method="PATCH", model="Heron")
