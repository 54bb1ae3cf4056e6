"""The Cup and its closing: choices, amounts, what speaks against a cup, starting it, closing its places."""

from collections.abc import Callable
from datetime import date
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient

from shop.queries.mixes import mix_record
from shop.queries.servings import servings_of_mix
from shop.rules.people import Role
from shop.services.builds import take_on_build
from shop.services.lots import add_lot
from shop.web.deps import Hub
from tests.api.filled import CUSTOMER, SEQUENCE
from tests.conftest import Hands
from tests.lot_shop import bench_at
from tests.queries.test_plans import asked
from tests.web.bench_shop import HTMX, open_bench

SignIn = Callable[[Role], TestClient]
CHOSEN = {"adhesive_id": "1", "zone_id": "1"}
ONE, TWO = "26-001 rear grip", "26-002 rear grip"
CUP = {**CHOSEN, "serve": [ONE, TWO], "volume_ml": "8", "work": "1"}


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    return two_rods(hub, hands, signed_in)


def two_rods(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    """The owner's browser, with two rods that wait for their rear grips to be glued."""
    open_bench(hub, hands)
    with hub.database.writing(hands.wall_at) as session:
        take_on_build(
            session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="8 ft spinning",
            rod_kind="casting", sequence_id=SEQUENCE,
        )  # fmt: skip
    owner = signed_in(Role.OWNER)
    for number in ("26-001", "26-002"):
        for stage in ({"to": "agreed"}, {"to": "fitted", "measure-rear bore": "12 mm"}):
            assert owner.post(f"/builds/{number}/advance", data=stage).status_code == 303
    return owner


def put_on_shelf(hub: Hub, hands: Hands, part: str, use_by: date, amount_ml: float | None = None) -> int:
    with hub.database.writing(hands.wall_at) as session:
        lot = add_lot(
            session, bench_at(session, hands.wall_at), adhesive_id=1, part=part, number=f"L-{part}",
            received_on=date(2026, 1, 5), use_by=use_by, amount_ml=amount_ml,
        )  # fmt: skip
        return lot.id


def started(bench: TestClient) -> str:
    """Start a cup for both rods; gives the address of its closing."""
    answer = bench.post("/cup", data=CUP)
    assert (answer.status_code, answer.headers["location"]) == (303, "/mixes/1/closing")
    return answer.headers["location"]


def closings(hub: Hub) -> dict[str, str]:
    """When each place of the first cup was closed, in minutes after nine, or why it was left out."""
    with hub.database.reading() as session:
        return {
            view.build: view.left_out or (f"{view.closed_at:%H:%M}" if view.closed_at else "")
            for view in servings_of_mix(session, 1)
        }


def test_a_product_is_chosen_before_its_lots_and_rods(bench: TestClient) -> None:
    assert "Places that it is for" not in bench.get("/cup").text
    page = bench.get("/cup", params=CHOSEN).text
    assert f'value="{ONE}"' in page
    assert f'value="{TWO}"' in page
    assert "Mixed just now" not in page
    # A wrap finish has no place to go yet.
    assert "No rod waits for a coat just now" in bench.get("/cup", params={**CHOSEN, "adhesive_id": "2"}).text


def test_the_amounts_of_both_parts_and_the_pot_life_are_shown(bench: TestClient) -> None:
    page = bench.get("/cup", params=CUP).text
    assert page.count("4.0 mL") == 2
    assert "8.0 mL in all" in page
    assert "may be used until 09:30, 30 min" in page
    assert "Mixed just now" in page


def test_an_amount_that_no_make_up_says_is_not_made_up(bench: TestClient) -> None:
    page = bench.get("/cup", params={**CUP, "volume_ml": ""}).text
    assert "How much it takes is not known" in page


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_cup_is_started_for_its_places(hub: Hub, bench: TestClient, headers: dict[str, str]) -> None:
    answer = bench.post("/cup", data=CUP, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/mixes/1/closing")
    assert closings(hub) == {"26-001": "", "26-002": ""}
    with hub.database.writing(Hands().wall_at) as session:
        mix = mix_record(session, 1)
        assert (mix.amount_a_ml, mix.amount_b_ml) == (4.0, 4.0)
    assert "Riverbed mixed for the rear grip." in bench.get("/builds/26-002").text


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"volume_ml": "a lot"}, "must be a number"),
        ({"volume_ml": "-1"}, "between"),
        ({"minutes": "0"}, "between"),
        ({"parts_c": "warm"}, "is not a temperature"),
        ({"serve": ["26-001 butt cap"]}, "butt cap on 26-001"),
        ({"lot_a_id": "9"}, "There is no lot 9 on file."),
        ({"mixed_at": "2026-03-02T09:30"}, "in the future"),
    ],
)
def test_a_cup_that_cannot_be_comes_back_as_typed(
    hub: Hub, bench: TestClient, changes: dict[str, object], says: str
) -> None:
    answer = bench.post("/cup", data={**CUP, **changes})
    assert answer.status_code in (404, 422)
    assert says in answer.text
    with hub.database.reading() as session:
        assert servings_of_mix(session, 1) == []


def test_nothing_is_mixed_in_the_cold_but_by_an_owner_with_a_reason(
    hub: Hub, bench: TestClient, signed_in: SignIn
) -> None:
    assert bench.post("/ways/zones/1", data={"name": "bench", "assumed_c": "9"}).status_code == 303
    shown = bench.get("/cup", params=CUP).text
    assert "The bench is at 9.0 °C; Riverbed needs 13 °C." in shown
    assert "Mixed just now" not in shown
    refused = bench.post("/cup", data=CUP)
    assert refused.status_code == 409
    assert "needs 13 °C" in refused.text
    released = bench.post("/cup", data={**CUP, "release_warm": "The heater is coming on."})
    assert released.status_code == 303
    with hub.database.writing(Hands().wall_at) as session:
        assert mix_record(session, 1).releases[0]["reason"] == "The heater is coming on."
    helper = signed_in(Role.HELPER)
    assert helper.post("/cup", data={**CUP, "serve": [], "release_warm": "I say so."}).status_code == 403
    assert "Release and write it down" not in helper.get("/cup", params=CUP).text


def test_a_cup_that_would_gel_before_it_is_used_up_is_refused_to_everybody(bench: TestClient) -> None:
    long = {**CUP, "minutes": "31", "release_pot_life": "We are quick."}
    answer = bench.post("/cup", data=long)
    assert answer.status_code == 403
    assert "31 min are planned, and at 20 °C the cup lasts 30 min" in answer.text
    # Past the usual share of it an owner may, with a reason.
    assert bench.post("/cup", data={**CUP, "minutes": "25"}).status_code == 409
    assert bench.post("/cup", data={**long, "minutes": "25"}).status_code == 303


def test_lots_in_date_are_asked_for_once_the_shelf_has_any(hub: Hub, hands: Hands, bench: TestClient) -> None:
    good = put_on_shelf(hub, hands, "A", date(2026, 12, 31))
    old = put_on_shelf(hub, hands, "B", date(2026, 3, 1))
    assert "without it no recall will find these rods" in bench.post("/cup", data=CUP).text
    named = {**CUP, "lot_a_id": f"{good}", "lot_b_id": f"{old}"}
    refused = bench.post("/cup", data=named)
    assert refused.status_code == 409
    assert "Lot L-B (part B) is out of date" in refused.text
    assert bench.post("/cup", data={**named, "release_lot": "Tried on a card: hard."}).status_code == 303


def test_a_cup_mixed_earlier_is_written_down_even_where_it_was_cold(bench: TestClient, hands: Hands) -> None:
    hands.forward(minutes=20)
    bench.post("/ways/zones/1", data={"name": "bench", "assumed_c": "9"})
    answer = bench.post("/cup", data={**CUP, "mixed_at": "2026-03-02T09:05"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/mixes/1/closing")
    assert "mixed 09:05" in bench.get("/mixes/1/closing").text


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_places_are_closed_at_the_time_that_is_answered(
    hub: Hub, hands: Hands, bench: TestClient, headers: dict[str, str]
) -> None:
    address = started(bench)
    hands.forward(minutes=25)
    page = bench.get(address).text
    # The later, safer answer stands first and is chosen until somebody says otherwise.
    assert (
        page.index("Closed now") < page.index("10 minutes ago, 09:15") < page.index("20 minutes ago, 09:05")
    )
    assert page.count('value="now" checked') == 2
    answer = bench.post(
        address, data={"when_1": "now", "when_2": "2026-03-02T09:05:00+00:00"}, headers=headers
    )
    assert (answer.status_code, answer.headers["location"]) == (303, "/mixes/1")
    assert closings(hub) == {"26-001": "09:25", "26-002": "09:05"}
    assert "Every place" in bench.get(address).text


def test_a_place_may_be_left_for_later_or_left_out(hub: Hub, hands: Hands, bench: TestClient) -> None:
    address = started(bench)
    hands.forward(minutes=12)
    answers = {"when_1": "left out", "reason_1": "The bore was too tight.", "when_2": "not yet"}
    assert bench.post(address, data=answers).headers["location"] == address
    assert closings(hub) == {"26-001": "The bore was too tight.", "26-002": ""}
    assert bench.post(address, data={"when_2": "other", "ago_2": "7"}).status_code == 303
    assert closings(hub)["26-002"] == "09:05"


def test_after_the_pot_life_its_end_is_the_latest_that_can_be(
    hub: Hub, hands: Hands, bench: TestClient
) -> None:
    address = started(bench)
    hands.forward(minutes=45)
    page = bench.get(address).text
    assert "Closed now" not in page
    assert "Just before the pot life ended, 09:30" in page
    # No answer is the safe one any more, so none is chosen beforehand.
    assert " checked" not in page
    for unsafe in ({"when_1": "now"}, {"when_1": "other", "ago_1": "3"}):
        late = bench.post(address, data=unsafe)
        assert late.status_code == 409
        assert "mix again" in late.text
    ended = {"when_1": "2026-03-02T09:30:00+00:00", "when_2": "too late"}
    assert bench.post(address, data=ended).status_code == 303
    assert closings(hub)["26-002"] == "Not closed within its pot life: mix again."
    assert closings(hub)["26-001"] == "09:30"


@pytest.mark.parametrize(
    ("answers", "field", "says"),
    [
        ({"when_1": "other"}, "ago_1", "How many minutes ago is missing"),
        ({"when_1": "other", "ago_1": "many"}, "ago_1", "must be a number"),
        ({"when_1": "other", "ago_1": "90"}, "when_1", "before its mix was made"),
        ({"when_1": "left out"}, "reason_1", "The reason is missing"),
        ({"when_1": "now", "when_2": "at noon"}, "when_2", "choose again"),
    ],
)
def test_an_answer_that_cannot_be_closes_nothing(
    hub: Hub, hands: Hands, bench: TestClient, answers: dict[str, str], field: str, says: str
) -> None:
    address = started(bench)
    hands.forward(minutes=12)
    answer = bench.post(address, data={"when_2": "now", **answers})
    assert answer.status_code == 422
    assert f'id="e-{field}"' in answer.text
    assert says in answer.text
    assert closings(hub) == {"26-001": "", "26-002": ""}


def test_an_answer_that_comes_too_late_is_not_dropped_in_silence(hands: Hands, bench: TestClient) -> None:
    address = started(bench)
    hands.forward(minutes=12)
    assert bench.post(address, data={"when_1": "now"}).status_code == 303
    stale = bench.post(address, data={"when_1": "other", "ago_1": "1"})
    assert stale.status_code == 409
    assert "The rear grip on 26-001 has been answered for meanwhile." in stale.text


def test_a_rule_released_for_a_cup_stands_on_the_record_of_its_rods(
    hub: Hub, hands: Hands, bench: TestClient
) -> None:
    old = put_on_shelf(hub, hands, "A", date(2026, 3, 1))
    hard = put_on_shelf(hub, hands, "B", date(2026, 12, 31))
    named = {**CUP, "lot_a_id": f"{old}", "lot_b_id": f"{hard}", "release_lot": "Tried on a card: hard."}
    assert bench.post("/cup", data=named).status_code == 303
    told = "from lots A L-A and B L-B. Rule released (lot): Tried on a card: hard."
    assert told in bench.get("/builds/26-001").text
    page = bench.get("/mixes/1").text
    assert "Lot L-A (part A) is out of date" in page
    assert "Tried on a card: hard." in page


def test_a_reason_nobody_asked_for_releases_nothing(hub: Hub, bench: TestClient) -> None:
    assert bench.post("/cup", data={**CUP, "release_lot": "Just in case."}).status_code == 303
    with hub.database.writing(Hands().wall_at) as session:
        assert mix_record(session, 1).releases == []


def test_a_cup_mixed_earlier_keeps_its_amounts(hub: Hub, hands: Hands, bench: TestClient) -> None:
    hands.forward(minutes=20)
    said = {**CUP, "minutes": "15", "mixed_at": "2026-03-02T09:05"}
    assert bench.post("/cup", data=said).status_code == 303
    with hub.database.writing(Hands().wall_at) as session:
        mix = mix_record(session, 1)
        assert (mix.amount_a_ml, mix.planned_minutes) == (4.0, 15.0)


def test_a_lot_that_does_not_last_for_the_cup_is_warned_of_before_it_is_mixed(
    hub: Hub, hands: Hands, bench: TestClient
) -> None:
    year_end = date(2026, 12, 31)
    few = put_on_shelf(hub, hands, "A", year_end, amount_ml=5)
    much = put_on_shelf(hub, hands, "B", year_end, amount_ml=500)
    named = {**CUP, "lot_a_id": f"{few}", "lot_b_id": f"{much}"}
    short = "Lot L-A (part A) has about 1 mL left by the record; this cup takes 4 mL of it."
    assert short not in bench.get("/cup", params=named).text
    assert bench.post("/cup", data={**named, "serve": [ONE]}).status_code == 303
    page = bench.get("/cup", params={**named, "serve": [TWO]}).text
    assert short in page
    assert "L-B (part B) has" not in page
    # It is no reason not to mix: the record may be wrong, and the bottle is in somebody's hand.
    assert "Mixed just now" in page
    assert bench.post("/cup", data={**named, "serve": [TWO]}).status_code == 303


def test_the_closing_is_open_to_the_bench_alone(bench: TestClient, client: TestClient) -> None:
    address = started(bench)
    client.cookies.clear()
    assert client.get(address).headers["location"].startswith("/sign-in")
    assert client.post(address, data={"when_1": "now"}).headers["location"].startswith("/sign-in")


def test_the_mix_says_what_it_was_measured_out_from_and_what_is_still_open(
    hub: Hub, hands: Hands, bench: TestClient
) -> None:
    lot = put_on_shelf(hub, hands, "A", date(2026, 12, 31))
    hard = put_on_shelf(hub, hands, "B", date(2026, 12, 31))
    said = {**CUP, "lot_a_id": f"{lot}", "lot_b_id": f"{hard}", "minutes": "15"}
    assert bench.post("/cup", data=said).status_code == 303
    page = bench.get("/mixes/1").text
    assert 'href="/mixes/1/closing"' in page
    for words in ("Not closed yet", f'href="/shelf/lots/{lot}">L-A</a>', "4.0 mL", "15 min"):
        assert words in page
    bench.post("/mixes/1/closing", data={"when_1": "now", "when_2": "now"})
    assert 'href="/mixes/1/closing"' not in bench.get("/mixes/1").text


def test_a_soft_rod_leads_to_where_it_is_carried_to_another_zone(bench: TestClient) -> None:
    assert "Carry to another zone" not in bench.get("/builds/26-001").text
    address = started(bench)
    bench.post(address, data={"when_1": "now", "when_2": "now"})
    assert 'href="/cures/1#h-moves"' in bench.get("/builds/26-001").text
    assert 'id="h-moves"' in bench.get("/cures/1").text


def test_a_place_that_is_in_another_cup_says_so_and_is_not_mixed_for_twice(
    bench: TestClient, hands: Hands
) -> None:
    started(bench)
    hands.forward(minutes=1)
    page = bench.get("/cup", params=CHOSEN).text
    assert page.count("in the cup of 09:00") == 2
    assert bench.post("/cup", data=CUP).status_code == 422


def test_more_places_in_a_cup_ask_for_no_more_statements(hub: Hub, bench: TestClient) -> None:
    counts = []
    bench.get("/cup", params=CUP)
    for serve in ([ONE], [ONE, TWO]):
        with asked(hub) as statements:
            assert bench.get("/cup", params={**CUP, "serve": serve}).status_code == 200
        counts.append(len(statements))
    assert counts[0] == counts[1] > 0


def test_an_answer_that_is_refused_shows_no_other_as_taken(hub: Hub, hands: Hands, bench: TestClient) -> None:
    address = started(bench)
    hands.forward(minutes=45)
    answers = {"when_1": "left out", "reason_1": "The bore was too tight.", "when_2": "now"}
    refused = bench.post(address, data=answers)
    assert refused.status_code == 409
    assert "Answered already" not in refused.text
    assert 'value="The bore was too tight."' in refused.text
    assert closings(hub) == {"26-001": "", "26-002": ""}
