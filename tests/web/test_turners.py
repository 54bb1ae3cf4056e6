"""The page of the turners: who is on which place until when, looks, stops and inspections."""

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.app import create_app, open_hub
from shop.clock import Clock
from shop.queries.cure_clock import CureClock
from shop.queries.turner_stops import StopView, stops_to_see
from shop.queries.turners import TurnerView, every_turner
from shop.rules.people import Role
from shop.services.adhesives import change_adhesive
from shop.services.zones import change_zone
from shop.web.deps import Hub
from tests.api.filled import FINISH, ZONE
from tests.conftest import PASSWORD, Hands
from tests.turner_shop import FOUR_PIECE, RODS, bench_at, fill_with_turner, lay_coat
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
FIRST, SECOND, THIRD, _ = RODS
TURNER, STAYS, STOP = "/turner", "/turner/stays", "/turner/1/stop"
HANDS = "/turner/stops/1/rods/1"
either_way = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def owner(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        fill_with_turner(session, hands.wall_at)
    return signed_in(Role.OWNER)


def coat(hub: Hub, hands: Hands, number: str = FIRST) -> None:
    with hub.database.writing(hands.wall_at) as session:
        lay_coat(session, bench_at(session, hands.wall_at), number)


def put_on(browser: TestClient, number: str = FIRST, place: int = 1, **more: str) -> None:
    answer = browser.post(STAYS, data={"rod": f"{number}/0", "place": f"1/{place}", **more})
    assert answer.status_code == 303, answer.text


@pytest.fixture
def coated(owner: TestClient, hub: Hub, hands: Hands) -> TestClient:
    """The owner's browser, with a wet rod on place 1 for half an hour."""
    coat(hub, hands)
    put_on(owner)
    hands.forward(minutes=30)
    return owner


@pytest.fixture
def stopped(coated: TestClient) -> TestClient:
    """The same, with the turner standing still."""
    assert coated.post(STOP, data={"ago": "", "note": "breaker"}).status_code == 303
    return coated


def known(hub: Hub) -> tuple[list[TurnerView], list[StopView]]:
    with hub.database.reading() as session:
        warmth = CureClock().warmth(session)
        return every_turner(session, warmth), stops_to_see(session, warmth)


def words(page: str) -> str:
    return " ".join(page.split())


@either_way
def test_a_rod_is_put_on_and_shown_with_until_when(
    owner: TestClient, hub: Hub, hands: Hands, headers: dict[str, str]
) -> None:
    coat(hub, hands)
    assert f"{FIRST} 7 ft (wet coat)" in owner.get(TURNER).text
    hands.forward(minutes=12)
    data = {"rod": f"{FIRST}/0", "place": "1/2", "ago": "10", "at": ""}
    answer = owner.post(STAYS, data=data, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, TURNER)
    page = owner.get(TURNER).text
    assert "comes off not before 13:00" in page
    assert "on since 09:02, owner" in page
    assert "2 of 3 places free" in page
    assert f'value="{FIRST}/0"' not in page
    assert 'value="1/2"' not in page


def test_until_when_is_never_said_a_minute_early(owner: TestClient, hub: Hub, hands: Hands) -> None:
    hands.forward(seconds=1)
    coat(hub, hands)
    put_on(owner)
    assert "comes off not before 13:01" in owner.get(TURNER).text


def test_the_sections_of_a_rod_are_chosen_one_by_one(owner: TestClient) -> None:
    assert f"{FOUR_PIECE} 7 ft, section 4" in owner.get(TURNER).text
    assert owner.post(STAYS, data={"rod": f"{FOUR_PIECE}/4", "place": "1/1"}).status_code == 303
    page = owner.get(TURNER).text
    assert [f'value="{FOUR_PIECE}/{section}"' in page for section in (0, 1, 4)] == [False, True, False]
    assert "no coat is on it yet" in page


@pytest.mark.parametrize(
    ("data", "status", "says"),
    [
        ({"rod": "", "place": "1/1"}, 422, "The rod is missing"),
        ({"rod": "26-001", "place": "1/1"}, 422, "The rod is missing"),
        ({"rod": f"{SECOND}/0", "place": "x/1"}, 422, "The place is missing"),
        ({"rod": f"{SECOND}/0", "place": "1/4"}, 422, "the places 1 to 3"),
        ({"rod": f"{SECOND}/2", "place": "1/2"}, 422, "0 stands for the whole rod"),
        ({"rod": f"{SECOND}/0", "place": "1/2", "at": "noon"}, 422, "must be a date and time"),
        ({"rod": f"{SECOND}/0", "place": "1/2", "at": "2026-03-02T09:31"}, 422, "in the future"),
        ({"rod": f"{SECOND}/0", "place": "1/2", "ago": "x"}, 422, "How long ago"),
        ({"rod": f"{SECOND}/0", "place": "1/2", "ago": "60"}, 422, "before this build was taken on"),
        ({"rod": f"{SECOND}/0", "place": "1/1"}, 409, f"is taken: {FIRST} is on it"),
        ({"rod": f"{FIRST}/0", "place": "1/2"}, 409, "on Rack, place 1, already"),
        ({"rod": "26-777/0", "place": "1/2"}, 404, "no build 26-777"),
        ({"rod": f"{SECOND}/0", "place": "7/2"}, 404, "no turner 7"),
    ],
)
def test_what_cannot_be_put_on_comes_back_as_typed(
    coated: TestClient, hub: Hub, data: dict[str, str], status: int, says: str
) -> None:
    before = known(hub)
    answer = coated.post(STAYS, data=data)
    assert (answer.status_code, says in answer.text) == (status, True)
    assert known(hub) == before
    if status == 422 and "at" in data:
        assert f'value="{data["at"]}"' in answer.text
        assert f'<option value="{data["rod"]}" selected>' in answer.text


@either_way
def test_a_rod_comes_off_once_it_has_turned_long_enough(
    coated: TestClient, hub: Hub, hands: Hands, headers: dict[str, str]
) -> None:
    off = f"{STAYS}/1/off"
    assert form_on(coated.get(TURNER).text, off) == {}
    hands.forward(hours=3, minutes=30)
    page = coated.get(TURNER).text
    assert "since 13:00 it may come off" in page
    assert f'action="{off}"' in page
    answer = coated.post(off, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, TURNER)
    assert known(hub)[0][0].stays == ()
    assert "taken off by owner" in coated.get(f"{STAYS}/1").text
    again = coated.post(off)
    assert (again.status_code, "off already" in again.text) == (409, True)


def test_before_its_time_it_comes_off_only_for_a_reason(coated: TestClient, hub: Hub) -> None:
    off = f"{STAYS}/1/off"
    held = coated.post(off)
    assert held.status_code == 409
    assert "must go on turning (the turning time of its sheet)" in words(held.text)
    bad = coated.post(off, data={"reason": "x" * 501, "ago": "0"})
    assert (bad.status_code, "at most 500 fit" in bad.text) == (422, True)
    assert "x" * 501 in bad.text
    assert known(hub)[0][0].stays
    assert coated.post(off, data={"reason": "The chuck slips"}).status_code == 303
    assert "before its turning time was over: The chuck slips." in coated.get(f"/builds/{FIRST}").text


def test_a_helper_takes_nothing_off_early(coated: TestClient, hub: Hub, signed_in: SignIn) -> None:
    assert form_on(coated.get(f"{STAYS}/1").text, f"{STAYS}/1/off") != {}
    helper = signed_in(Role.HELPER)
    page = helper.get(f"{STAYS}/1").text
    assert form_on(page, f"{STAYS}/1/off") == {}
    assert "It may not come off yet" in page
    assert helper.post(f"{STAYS}/1/off", data={"reason": "I want to"}).status_code == 403
    assert known(hub)[0][0].stays


@pytest.mark.parametrize(
    ("silent", "assumed_c", "says"),
    [(True, 20, "its sheet says no turning time"), (False, 5, "nobody can say until when")],
)
def test_the_page_says_by_what_it_turns(
    coated: TestClient, hub: Hub, hands: Hands, silent: bool, assumed_c: int, says: str
) -> None:
    with hub.database.writing(hands.wall_at) as session:
        if silent:
            change_adhesive(session, FINISH, now=hands.wall_at, by="Nell", turn_minutes=None)
        change_zone(session, ZONE, assumed_c=assumed_c)
    coat(hub, hands, SECOND)
    put_on(coated, SECOND, 2)
    assert says in coated.get(TURNER).text
    assert says in coated.get(f"{STAYS}/2").text


@either_way
def test_a_rod_is_moved(coated: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    move = f"{STAYS}/1/move"
    answer = coated.post(move, data={"place": "1/3"}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, TURNER)
    assert [stay.place_number for stay in known(hub)[0][0].stays] == [3]


@pytest.mark.parametrize(
    ("place", "status", "says"),
    [("", 422, "The place is missing"), ("1/9", 422, "the places 1 to 3"), ("1/2", 409, "is taken")],
)
def test_a_rod_is_not_moved_to_where_it_cannot_be(
    coated: TestClient, hub: Hub, place: str, status: int, says: str
) -> None:
    put_on(coated, SECOND, 2)
    before = known(hub)
    answer = coated.post(f"{STAYS}/1/move", data={"place": place})
    assert (answer.status_code, says in answer.text) == (status, True)
    assert known(hub) == before


@either_way
def test_somebody_is_asked_whether_it_turns_and_says_yes(
    coated: TestClient, hands: Hands, headers: dict[str, str]
) -> None:
    assert "Look again at 11:00" in coated.get(TURNER).text
    hands.forward(minutes=90)
    assert "Still turning? Asked since 11:00" in coated.get(TURNER).text
    answer = coated.post("/turner/1/checks", headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, TURNER)
    # By the time of the next look it will have turned long enough.
    assert "Last seen turning 11:00. No look is due." in coated.get(TURNER).text
    hands.forward(hours=3)
    assert "Still turning?" not in coated.get(TURNER).text


def test_a_look_that_cannot_be_taken_is_refused(coated: TestClient) -> None:
    assert coated.post("/turner/9/checks").status_code == 404


def test_nothing_asks_for_a_look_while_nothing_is_wet(owner: TestClient) -> None:
    assert "No look is due." in owner.get(TURNER).text


@either_way
def test_on_a_stop_the_page_leads_with_what_to_turn_by_hand(
    coated: TestClient, hub: Hub, hands: Hands, headers: dict[str, str]
) -> None:
    coat(hub, hands, SECOND)
    put_on(coated, SECOND, 2)
    hands.forward(minutes=10)
    assert "since it was last seen turning, 09:30" in coated.get(STOP).text
    answer = coated.post(STOP, data={"ago": "10", "note": "breaker"}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, TURNER)
    page = words(coated.get(TURNER).text)
    assert page.index("Turn by hand now, in this order") < page.index("places free")
    assert page.index("<b>place 2</b>") < page.index("<b>place 1</b>")
    assert "Since 09:30, noted by owner: breaker." in page
    assert "no rod may be put on" in page
    assert form_on(page, STAYS) == {}
    fragment = coated.get(TURNER, headers=HTMX).text
    assert "Turn by hand now" in fragment
    assert "<html" not in fragment


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ({"ago": "0", "note": "x" * 501}, "at most 500 fit"),
        ({"ago": "0", "at": "2026-03-02T09:31", "note": ""}, "in the future"),
        ({"ago": "soon", "note": ""}, "How long ago"),
    ],
)
def test_a_stop_that_cannot_be_comes_back_as_typed(
    coated: TestClient, hub: Hub, data: dict[str, str], says: str
) -> None:
    answer = coated.post(STOP, data=data)
    assert (answer.status_code, says in answer.text) == (422, True)
    assert data["note"] in answer.text
    assert known(hub)[1] == []


@either_way
def test_a_stop_before_the_last_look_is_not_offered_and_refused(
    coated: TestClient, hub: Hub, hands: Hands, headers: dict[str, str]
) -> None:
    assert "30 min ago" in coated.get(STOP).text
    assert coated.post("/turner/1/checks").status_code == 303
    hands.forward(minutes=5)
    page = coated.get(STOP).text
    assert ("just now" in page, "10 min ago" in page) == (True, False)
    answer = coated.post(STOP, data={"ago": "10", "note": "the breaker"}, headers=headers)
    assert answer.status_code == 422
    assert "That time lies 5 min before Rack was last seen turning." in answer.text
    assert "the breaker" in answer.text
    assert known(hub)[1] == []


def test_a_stop_just_now_is_of_now_and_a_second_one_is_refused(
    coated: TestClient, hub: Hub, hands: Hands
) -> None:
    assert coated.post(STOP, data={"ago": "0"}).status_code == 303
    assert [stop.stopped_at for stop in known(hub)[1]] == [hands.wall_at]
    again = coated.post(STOP, data={"ago": "0", "note": "again"})
    assert (again.status_code, "on record already" in again.text, "again" in again.text) == (409, True, True)
    refused = coated.post("/turner/1/checks")
    assert (refused.status_code, "stands still since" in refused.text) == (409, True)


@either_way
def test_a_rod_is_turned_by_hand_with_one_tap(stopped: TestClient, headers: dict[str, str]) -> None:
    answer = stopped.post(f"{HANDS}/turned", headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, TURNER)
    assert "turned by hand 09:30, owner" in stopped.get(TURNER).text
    assert stopped.post("/turner/stops/1/rods/9/turned").status_code == 404
    assert stopped.post("/turner/stops/1/end").status_code == 303
    late = stopped.post(f"{HANDS}/turned")
    assert (late.status_code, "no need of it any more" in late.text) == (409, True)


@either_way
def test_it_turns_again_and_its_rods_are_inspected(
    stopped: TestClient, hub: Hub, hands: Hands, headers: dict[str, str]
) -> None:
    still = stopped.post(HANDS, data={"outcome": "good", "note": "as glass"})
    assert (still.status_code, "may still sag" in still.text, "as glass" in still.text) == (409, True, True)
    hands.forward(minutes=20)
    answer = stopped.post("/turner/stops/1/end", headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, TURNER)
    page = words(stopped.get(TURNER).text)
    assert "Inspect the coat of these" in page
    assert "From 09:00 to 09:50" in page
    assert "Inspect the coat after the turner" in stopped.get(f"/builds/{FIRST}").text
    hands.forward(hours=9)
    held = stopped.post(f"{STAYS}/1/off")
    assert (held.status_code, "inspect its coat before its place" in held.text) == (409, True)
    answer = stopped.post(HANDS, data={"outcome": "good", "note": ""}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, TURNER)
    assert known(hub)[1] == []
    assert "Inspect the coat after the turner" not in stopped.get(f"/builds/{FIRST}").text
    assert stopped.post("/turner/stops/1/end").status_code == 409
    assert stopped.post(HANDS, data={"outcome": "good"}).status_code == 409


@pytest.mark.parametrize(
    ("data", "field", "says"),
    [
        ({"outcome": "", "note": "a run"}, "outcome", "good or flawed"),
        ({"outcome": "flawed", "note": ""}, "note", "Say what is wrong"),
        ({"outcome": "good", "note": "x" * 501}, "note", "at most 500 fit"),
    ],
)
def test_an_inspection_that_cannot_be_comes_back_as_typed(
    stopped: TestClient, hub: Hub, data: dict[str, str], field: str, says: str
) -> None:
    stopped.post("/turner/stops/1/end")
    answer = stopped.post(HANDS, data=data)
    assert answer.status_code == 422
    assert says in answer.text.split(f'id="e-{field}"')[1].split("</p>")[0]
    typed = {"note": [data["note"]], **({"outcome": [data["outcome"]]} if data["outcome"] else {})}
    assert form_on(answer.text, HANDS) == typed
    assert len(known(hub)[1]) == 1


def test_what_is_flawed_is_said_to_be_done_anew(stopped: TestClient) -> None:
    stopped.post("/turner/stops/1/end")
    stopped.post(HANDS, data={"outcome": "flawed", "note": "runs at guide 3"})
    assert "Sand and recoat by the sheet, or strip it." in stopped.get(TURNER).text
    assert "flawed: runs at guide 3." in stopped.get(f"/builds/{FIRST}").text


def test_after_a_restart_the_list_is_as_it_was(stopped: TestClient, hub: Hub, hands: Hands) -> None:
    def of_page(browser: TestClient) -> str:
        page = browser.get(TURNER).text
        return page[page.index('<div id="turner-now"') : page.index("Put a rod on")]

    stopped.get(TURNER)
    before = of_page(stopped)
    hub.database.close()
    again = open_hub(hub.settings, Clock(hands.wall, hands.steady))
    with TestClient(create_app(again), base_url="https://testserver", follow_redirects=False) as browser:
        browser.post("/sign-in", data={"name": "owner", "password": PASSWORD})
        assert "Turn by hand now" in before
        assert of_page(browser) == before
    again.database.close()


@pytest.mark.parametrize("path", ["/turner/9/stop", "/turner/stays/9", "/turner/stops/9/rods/1", HANDS])
def test_what_is_not_on_file(owner: TestClient, path: str) -> None:
    assert owner.get(path).status_code == 404


def test_setting_cup_and_ways_lead_to_it(owner: TestClient) -> None:
    for path in ("/setting", "/cup", "/ways"):
        assert f'href="{TURNER}"' in owner.get(path).text
