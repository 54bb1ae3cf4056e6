"""The Cup and one mix's page: mixing, closing places, puddles, suspicion, verdict, putting right."""

import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.services.lots import add_lot
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.lot_shop import CAME, bench_at
from tests.web.bench_shop import HTMX, ROD, open_bench

SignIn = Callable[[Role], TestClient]
CUP = {"adhesive_id": "1", "zone_id": "1"}


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    open_bench(hub, hands)
    return signed_in(Role.OWNER)


@pytest.fixture
def mixed(bench: TestClient) -> TestClient:
    """The bench with one cup of bond, and the rear grip closed with it."""
    assert bench.post("/cup", data=CUP).headers["location"] == "/mixes/1"
    closed = bench.post("/mixes/1/cures", data={"build": "26-001", "place": "rear grip"})
    assert closed.status_code == 303
    return bench


def test_a_cup_is_written_down_and_its_pot_life_shown(bench: TestClient) -> None:
    assert bench.post("/cup", data=CUP, headers=HTMX).status_code == 303
    page = bench.get("/mixes/1").text
    assert "09:30" in page
    assert "30 min left" in page
    assert "Riverbed" in bench.get("/cup").text


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"adhesive_id": ""}, "The adhesive is missing"),
        ({"zone_id": ""}, "The zone is missing"),
        ({"mixed_at": "2026-03-02T09:30"}, "in the future"),
        ({"mixed_at": "yesterday"}, "must be a date and time"),
    ],
)
def test_a_cup_that_cannot_be_comes_back_as_typed(
    bench: TestClient, changes: dict[str, str], says: str
) -> None:
    answer = bench.post("/cup", data={**CUP, **changes})
    assert answer.status_code == 422
    assert says in answer.text
    assert all(f'value="{value}"' in answer.text for value in changes.values() if value)


@pytest.mark.parametrize(
    ("fields", "status", "says"),
    [
        ({"build": "26-001", "place": "reel seat"}, 303, ""),
        ({"build": "26-001", "place": "reel seat", "closed_at": "2026-03-02T08:59"}, 422, "before its mix"),
        ({"build": "26-001", "place": "reel seat", "closed_at": "2026-03-02T09:11"}, 422, "in the future"),
        ({"build": "26-777", "place": "reel seat"}, 404, "There is no build 26-777"),
        ({"build": "", "place": "reel seat"}, 422, "The build is missing"),
        ({"build": "26-001", "place": "", "other_place": "x" * 61}, 422, "at most 60 fit"),
    ],
)
def test_a_place_is_closed_after_mixing_and_not_ahead(
    mixed: TestClient, hands: Hands, fields: dict[str, str], status: int, says: str
) -> None:
    hands.forward(minutes=10)
    answer = mixed.post("/mixes/1/cures", data=fields)
    assert answer.status_code == status
    assert says in answer.text


@pytest.mark.parametrize(("minutes", "status"), [(30, 303), (31, 409)])
def test_nothing_is_closed_after_the_pot_life(
    mixed: TestClient, hands: Hands, minutes: int, status: int
) -> None:
    hands.forward(minutes=minutes)
    answer = mixed.post("/mixes/1/cures", data={"build": "26-001", "place": "reel seat"})
    assert answer.status_code == status
    assert ("mix again" in answer.text) is (status == 409)


def test_a_tacky_puddle_holds_until_it_is_firm(mixed: TestClient, hands: Hands) -> None:
    for stage in ("agreed", "fitted", "grip glued"):
        mixed.post(f"{ROD}/advance", data={"to": stage, "measure-rear bore": "12 mm"})
    hands.forward(hours=11)
    assert mixed.post("/mixes/1/puddle", data={"state": "tacky"}).status_code == 303
    assert "is tacky" in mixed.get(ROD).text
    assert mixed.post("/mixes/1/puddle", data={"state": "firm"}).status_code == 303
    assert "is tacky" not in mixed.get(ROD).text
    assert mixed.post("/mixes/1/puddle", data={"state": "gooey"}).status_code == 422


def test_a_suspicion_holds_every_rod_until_an_owners_verdict(mixed: TestClient, signed_in: SignIn) -> None:
    assert mixed.post("/mixes/1/suspect", data={"suspect_reason": ""}).status_code == 422
    told = {"suspect_reason": "measured A twice"}
    assert mixed.post("/mixes/1/suspect", data=told).status_code == 303
    assert "under suspicion: measured A twice" in mixed.get(ROD).text
    again = mixed.post("/mixes/1/suspect", data=told)
    assert again.status_code == 409
    assert "under suspicion already" in again.text
    verdict = {"verdict": "redo", "verdict_reason": "still soft"}
    builder = signed_in(Role.BUILDER)
    assert builder.post("/mixes/1/verdict", data=verdict).status_code == 403
    builder.cookies.clear()
    builder.post("/sign-in", data={"name": "owner", "password": "a long enough password"})
    assert builder.post("/mixes/1/verdict", data={"verdict": "maybe"}).status_code == 422
    assert builder.post("/mixes/1/verdict", data=verdict).status_code == 303
    assert "Verdict on the mix: still soft" in builder.get("/mixes/1").text


def test_what_comes_too_late_is_said_over_the_form_as_typed(mixed: TestClient) -> None:
    verdict = {"verdict": "good", "verdict_reason": "pressed it with a nail"}
    assert (
        "No suspicion about this mix awaits a verdict." in mixed.post("/mixes/1/verdict", data=verdict).text
    )
    typed = {"build": "26-001", "place": "rear grip", "other_place": "x" * 61}
    page = mixed.post("/mixes/1/cures", data=typed).text
    assert 'id="e-other_place"' in page
    assert "at most 60 fit" in page


def test_a_mix_put_right_moves_the_times_of_its_cures(mixed: TestClient, hands: Hands) -> None:
    hands.forward(minutes=5)
    assert "19:00" in mixed.get("/mixes/1").text
    told = {"right_adhesive": "2", "right_reason": "took the other bottle"}
    assert mixed.post("/mixes/1/correct", data=told).status_code == 303
    page = mixed.get("/mixes/1").text
    assert "Stillwater" in page
    assert "14:00" in page
    nothing = mixed.post("/mixes/1/correct", data={"right_reason": "nothing named"})
    assert nothing.status_code == 422
    late = {"right_mixed_at": "2026-03-02T09:01", "right_reason": "later"}
    refused = mixed.post("/mixes/1/correct", data=late)
    assert refused.status_code == 422
    assert "closed with this mix before" in refused.text.split('id="e-right_mixed_at"')[1]


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_amounts_and_minutes_mistyped_are_put_right(mixed: TestClient, headers: dict[str, str]) -> None:
    told = {
        "right_amount_a_ml": "8", "right_amount_b_ml": "4.5", "right_planned_minutes": "20",
        "right_reason": "A slip.",
    }  # fmt: skip
    assert "on record: not said" in mixed.get("/mixes/1").text
    answer = mixed.post("/mixes/1/correct", data=told, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/mixes/1")
    page = mixed.get("/mixes/1").text
    for words in ("on record: 8 mL", "on record: 4.5 mL", "on record: 20 min"):
        assert words in page
    assert "amount of part A 8 mL, was not said" in mixed.get("/builds/26-001").text


def test_an_amount_that_cannot_be_comes_back_as_typed(mixed: TestClient, signed_in: SignIn) -> None:
    for name, value in (("amount_a_ml", "lots"), ("amount_b_ml", "2000.1"), ("planned_minutes", "0")):
        told = {f"right_{name}": value, "right_reason": "A slip."}
        answer = mixed.post("/mixes/1/correct", data=told)
        assert answer.status_code == 422
        assert f'id="e-right_{name}"' in answer.text
        assert f'value="{value}"' in answer.text
        assert "A slip." in answer.text
    told = {"right_amount_a_ml": "8", "right_reason": "A slip."}
    assert signed_in(Role.HELPER).post("/mixes/1/correct", data=told).status_code == 403


def test_the_lots_offered_are_those_that_the_cup_can_have_had(
    mixed: TestClient, hub: Hub, hands: Hands
) -> None:
    with hub.database.writing(hands.wall_at) as session:
        bench = bench_at(session, hands.wall_at)
        for adhesive_id, part, number in (
            (1, "A", "R-1"),
            (1, "B", "H-1"),
            (1, "kit", "K-1"),
            (2, "A", "F-1"),
        ):
            add_lot(
                session, bench, adhesive_id=adhesive_id, part=part, number=number, position="drawer",
                received_on=CAME, use_by=CAME if number == "K-1" else None,
            )  # fmt: skip
    page = mixed.get("/mixes/1").text
    assert offered(page, "a") == ["as it is", "R-1, in date, drawer", "K-1, out of date, drawer"]
    assert offered(page, "b") == ["as it is", "H-1, in date, drawer", "K-1, out of date, drawer"]
    mixed.post("/mixes/1/correct", data={"right_lot_a": "1", "right_reason": "forgotten"})
    told = {"right_adhesive": "2", "right_reason": "took the other bottle"}
    refused = mixed.post("/mixes/1/correct", data={**told, "right_lot_b": "4"})
    assert refused.status_code == 422
    assert "say which lot of Stillwater" in refused.text.split('id="e-right_lot_a"')[1].split("</p>")[0]
    assert "cannot serve as part B" in refused.text.split('id="e-right_lot_b"')[1].split("</p>")[0]
    assert "took the other bottle" in refused.text
    assert offered(refused.text, "a") == ["as it is", "F-1, in date, drawer"]
    assert mixed.post("/mixes/1/correct", data={**told, "right_lot_a": "4"}).status_code == 303
    assert mixed.post("/mixes/1/correct", data={**told, "right_adhesive": "x"}).status_code == 422


def offered(page: str, part: str) -> list[str]:
    """The lots that the form of a correction offers for a part."""
    return re.findall(
        r"<option[^>]*>([^<]+)<", page.split(f'name="right_lot_{part}"')[1].split("</select>")[0]
    )


def test_a_helper_mixes_but_does_not_put_right(bench: TestClient, signed_in: SignIn) -> None:
    assert bench.get("/cup").status_code == 200
    helper = signed_in(Role.HELPER)
    assert helper.post("/cup", data=CUP).status_code == 303
    assert helper.post("/mixes/1/correct", data={}).status_code == 403
