"""The API of adhesives: the figures of a data sheet, null where it is silent."""

from typing import Any

import pytest

from shop.rules.people import Scope
from shop.services.adhesives import start_from_class
from shop.web.deps import Hub
from tests.api.conftest import Program
from tests.conftest import Hands

SHEET: dict[str, Any] = {
    "name": "Brook", "use": "finish", "parts_a": 2, "parts_b": 1, "density_a": 1.16, "density_b": 1.02,
    "reference_c": 24, "pot_life_minutes": 35, "set_minutes": 480, "full_cure_minutes": 4320,
    "recoat_from_minutes": 720, "recoat_until_minutes": 2160, "coldest_c": 15, "doubling_c": 9.5,
    "turn_minutes": 360, "opened_life_days": 180, "source": "wrap finish, revision 4",
    "sheet_date": "2026-01-15",
}  # fmt: skip
SILENT = (
    "density_a", "density_b", "recoat_from_minutes", "recoat_until_minutes", "coldest_c", "doubling_c",
    "turn_minutes", "opened_life_days", "sheet_date",
)  # fmt: skip
OWN = {
    "ready_made": "", "confirmed": True, "confirmed_at": "2026-03-02T09:00:00Z", "confirmed_by": "desk key",
    "sheet_mark": "",
}  # fmt: skip
UNNAMED = {
    "confirmed": False, "confirmed_at": None, "confirmed_by": "", "sheet_mark": "no data sheet named",
}  # fmt: skip


def fields(problem: Any) -> list[str]:
    return [error["field"] for error in problem["errors"]]


def test_an_adhesive_is_kept_as_its_sheet_says(desk: Program) -> None:
    made = desk.post("/adhesives", **SHEET)
    assert made == {"id": 3, **SHEET, **OWN}
    assert desk.get("/adhesives/3") == made
    assert desk.get("/adhesives", after=2) == {"items": [made], "next": None}


def test_where_the_sheet_is_silent_it_says_null(desk: Program) -> None:
    told = {name: value for name, value in SHEET.items() if name not in (*SILENT, "source")}
    made = desk.post("/adhesives", **told)
    assert made == {"id": 3, **told, **dict.fromkeys(SILENT), "source": "", **OWN, **UNNAMED}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"name": "Riverbed"}, "name"),
        ({"name": "  Riverbed "}, "name"),
        ({"use": "paint"}, "use"),
        ({"parts_a": 0}, "parts_a"),
        ({"density_b": 3.5}, "density_b"),
        ({"reference_c": "24"}, "reference_c"),
        ({"reference_c": 61}, "reference_c"),
        ({"pot_life_minutes": 0}, "pot_life_minutes"),
        ({"full_cure_minutes": 479}, "full_cure_minutes"),
        ({"full_cure_minutes": 60 * 24 * 60 + 1}, "full_cure_minutes"),
        ({"recoat_until_minutes": 719}, "recoat_until_minutes"),
        ({"recoat_from_minutes": None}, "recoat_until_minutes"),
        ({"coldest_c": 24.5}, "coldest_c"),
        ({"doubling_c": 0}, "doubling_c"),
        ({"turn_minutes": 0}, "turn_minutes"),
        ({"turn_minutes": 4321}, "turn_minutes"),
        ({"opened_life_days": 0}, "opened_life_days"),
        ({"opened_life_days": 3651}, "opened_life_days"),
        ({"opened_life_days": 1.5}, "opened_life_days"),
        ({"sheet_date": "1999-12-31"}, "sheet_date"),
        ({"sheet_date": "March"}, "sheet_date"),
        ({"ready_made": "five-minute epoxy"}, "ready_made"),
        ({"confirmed": True}, "confirmed"),
    ],
)
def test_what_no_sheet_can_say_is_refused_by_field_and_nothing_is_kept(
    desk: Program, changes: dict[str, Any], field: str
) -> None:
    assert fields(desk.assert_refused(422, "/adhesives", **{**SHEET, **changes})) == [field]
    assert len(desk.get("/adhesives")["items"]) == 2


@pytest.mark.parametrize(
    ("changes", "stands"),
    [
        ({}, {}),
        ({"name": "Brook II"}, {}),
        ({"set_minutes": 500.5}, {**UNNAMED, "sheet_mark": "not confirmed against its data sheet"}),
        ({"set_minutes": 500.5, "source": "revision 5"}, {}),
        (dict.fromkeys(SILENT), {**UNNAMED, "sheet_mark": "data sheet without a date"}),
        ({"coldest_c": 0, "source": ""}, UNNAMED),
    ],
)
def test_a_change_leaves_the_rest(desk: Program, changes: dict[str, Any], stands: dict[str, Any]) -> None:
    made = desk.post("/adhesives", **SHEET)
    response = desk.send("PATCH", "/adhesives/3", json=changes)
    assert (response.status_code, response.json()) == (200, {**made, **changes, **stands})
    assert desk.get("/adhesives/3") == {**made, **changes, **stands}


def test_what_was_changed_is_told_in_order(desk: Program, hands: Hands) -> None:
    desk.post("/adhesives", **SHEET)
    hands.forward(minutes=5)
    desk.send("PATCH", "/adhesives/3", json={"set_minutes": 500.5, "source": "revision 5"})
    told = desk.get("/adhesives/3/changes")
    made, changed = told["items"]
    assert (made["kind"], made["by"], made["at"]) == ("made", "desk key", "2026-03-02T09:00:00Z")
    assert {"field": "sheet_date", "before": None, "after": "2026-01-15"} in made["changes"]
    assert {name: changed[name] for name in ("kind", "by", "at")} == {
        "kind": "changed", "by": "desk key", "at": "2026-03-02T09:05:00Z",
    }  # fmt: skip
    assert changed["changes"] == [
        {"field": "set_minutes", "before": 480.0, "after": 500.5},
        {"field": "source", "before": "wrap finish, revision 4", "after": "revision 5"},
    ]
    assert desk.get("/adhesives/3/changes", limit=1) == {"items": [made], "next": str(made["id"])}
    assert desk.get("/adhesives/3/changes", after=made["id"]) == {"items": [changed], "next": None}
    desk.assert_refused(404, "/adhesives/7/changes", method="GET")


def test_mixes_and_cures_say_what_their_figures_lacked(desk: Program) -> None:
    desk.post("/adhesives", **{**SHEET, "use": "bond", "source": ""})
    mix = desk.post("/mixes", adhesive_id=3, zone_id=1)
    cure = desk.post(f"/mixes/{mix['id']}/cures", build=desk.build(), place="rear grip")
    for told in (mix, cure, desk.get(f"/mixes/{mix['id']}"), desk.get(f"/cures/{cure['id']}")):
        assert told["sheet_mark"] == "no data sheet named"
    assert desk.glue(desk.build(), "rear grip")["sheet_mark"] == ""


@pytest.mark.parametrize("field", [name for name in SHEET if name not in SILENT])
def test_null_is_no_value_for_what_every_sheet_says(desk: Program, field: str) -> None:
    assert fields(desk.assert_refused(422, "/adhesives/1", method="PATCH", **{field: None})) == [field]


def test_a_cure_under_way_keeps_the_figures_it_began_with(desk: Program) -> None:
    number = desk.build()
    before = desk.get(f"/cures/{desk.glue(number, 'rear grip')['id']}")
    desk.send("PATCH", "/adhesives/1", json={"set_minutes": 60, "full_cure_minutes": 120})
    assert desk.get(f"/cures/{before['id']}") == before
    after = desk.glue(number, "rear grip")
    assert (before["set_at"], after["set_at"]) == ("2026-03-02T19:00:00Z", "2026-03-02T10:00:00Z")


@pytest.mark.parametrize("scope", [Scope.READ, Scope.BENCH, Scope.SENSOR])
def test_only_the_desk_changes_adhesives(program: Any, scope: Scope) -> None:
    other: Program = program(scope)
    other.assert_refused(403, "/adhesives", **SHEET)
    other.assert_refused(403, "/adhesives/1", method="PATCH", name="Brook")


def test_an_adhesive_that_is_not_on_file(desk: Program) -> None:
    desk.assert_refused(404, "/adhesives/7", method="GET")
    desk.assert_refused(404, "/adhesives/7", method="PATCH", name="Brook")


CONFIRMED = {"source": "five-minute epoxy, revision 2", "sheet_date": "2025-11-03"}


@pytest.fixture
def from_class(filled: Hub, hands: Hands) -> int:
    """The id of an adhesive begun as a ready-made class."""
    with filled.database.writing(hands.wall_at) as session:
        return start_from_class(
            session, now=hands.wall_at, by="Nell", name="Brook", ready_made="five-minute epoxy"
        ).id


def test_the_figures_of_a_class_are_marked_until_somebody_confirms_them(
    desk: Program, from_class: int
) -> None:
    path = f"/adhesives/{from_class}"
    before = desk.get(path)
    assert (before["ready_made"], before["confirmed"]) == ("five-minute epoxy", False)
    assert before["source"] == "a ready-made class, not from your data sheet"
    after = desk.post(f"{path}/confirm", **CONFIRMED)
    assert after == {**before, **OWN, **CONFIRMED, "ready_made": "five-minute epoxy"}
    assert desk.get(path) == after
    desk.assert_refused(409, f"{path}/confirm", **CONFIRMED)


@pytest.mark.parametrize(
    ("changes", "stays"),
    [
        ({"set_minutes": 90}, False),
        ({"set_minutes": 90, "source": ""}, False),
        ({"set_minutes": 90, "source": "revision 3"}, True),
        ({"set_minutes": 60}, True),
        ({"name": "Beck"}, True),
        ({}, True),
    ],
)
def test_a_confirmed_class_stays_so_while_a_source_is_given(
    desk: Program, from_class: int, changes: dict[str, Any], stays: bool
) -> None:
    desk.post(f"/adhesives/{from_class}/confirm", **CONFIRMED)
    assert desk.send("PATCH", f"/adhesives/{from_class}", json=changes).json()["confirmed"] is stays


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"source": " "}, "source"),
        ({"source": "a ready-made class, not from your data sheet"}, "source"),
        ({"sheet_date": "2026-03-03"}, "sheet_date"),
        ({"sheet_date": "1999-12-31"}, "sheet_date"),
        ({"sheet_date": None}, "sheet_date"),
    ],
)
def test_a_confirmation_names_a_sheet(
    desk: Program, from_class: int, changes: dict[str, Any], field: str
) -> None:
    told = desk.assert_refused(422, f"/adhesives/{from_class}/confirm", **{**CONFIRMED, **changes})
    assert fields(told) == [field]
    assert desk.get(f"/adhesives/{from_class}")["confirmed"] is False


def test_what_is_a_sheets_already_has_nothing_to_confirm(desk: Program, bench: Program) -> None:
    desk.assert_refused(409, "/adhesives/1/confirm", **CONFIRMED)
    desk.assert_refused(404, "/adhesives/7/confirm", **CONFIRMED)
    bench.assert_refused(403, "/adhesives/1/confirm", **CONFIRMED)
