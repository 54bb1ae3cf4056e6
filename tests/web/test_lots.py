"""The pages of lots: the shelf by state, one lot and what becomes of it, and recalls to print."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy.orm import Session

from shop.queries.lots import LotView, lot_history, lot_view
from shop.queries.mixes import open_suspicion
from shop.rules.people import Role
from shop.services.bench import Bench
from shop.services.cups import CupSaid
from shop.services.cures import close_cure
from shop.services.lots import add_lot, empty_lot, open_lot, quarantine_lot
from shop.services.mixes import make_mix
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.lot_shop import CAME, TODAY, LotShop, bench_at
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
NEW, ONE = "/shelf/lots/new", "/shelf/lots/1"
SAID = {
    "adhesive_id": "1", "part": "kit", "number": "K-77", "received_on": "2026-02-20", "opened_on": "",
    "use_by": "2026-08-01", "opened_life_days": "90", "amount_ml": "236.5", "position": "top shelf",
}  # fmt: skip
HEADERS = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def owner(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    """An owner in a shop with a lot of resin (1) and of hardener (2), a mix (1) of both on the first rod."""
    with hub.database.writing(hands.wall_at) as session:
        shop = LotShop(session, hands.wall_at)
        resin = shop.lot(number="R-2207", use_by=TODAY + timedelta(days=90), amount_ml=473.0)
        hardener = shop.lot("B", "H-1184")
        shop.close(shop.mix(resin.id, hardener.id, (3.5, 1.5)))
        shop.mix(resin.id, None)
    return signed_in(Role.OWNER)


def seen(hub: Hub, lot_id: int = 1) -> LotView:
    with hub.database.reading() as session:
        return lot_view(session, lot_id, TODAY)


def kinds(hub: Hub, lot_id: int = 1) -> list[str]:
    with hub.database.reading() as session:
        return [item.kind for item in lot_history(session, lot_id)]


def beside(page: str, field: str) -> str:
    """The sentence beside a field."""
    return page.split(f'id="e-{field}"')[1].split("</p>")[0]


@HEADERS
def test_a_lot_is_put_on_the_shelf(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    assert 'value="2026-03-02"' in owner.get(NEW).text, "it came today unless somebody says otherwise"
    answer = owner.post(NEW, data=SAID, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/shelf/lots/3")
    lot = seen(hub, 3)
    assert (lot.number, lot.part, lot.opened_life_days, lot.left_ml) == ("K-77", "kit", 90, 236.5)
    page = owner.get("/shelf/lots/3").text
    told = ("a kit of both parts", "90 days, says the bottle", "about 236 of 236 mL", "top shelf")
    for said in ("K-77", *told):
        assert said in page


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"adhesive_id": ""}, "adhesive_id", "please choose one"),
        ({"part": ""}, "part", "must be one of A, B, kit"),
        ({"number": ""}, "number", "is missing"),
        ({"number": "x" * 61}, "number", "at most 60 fit"),
        ({"received_on": ""}, "received_on", "is missing"),
        ({"received_on": "2026-03-03"}, "received_on", "lies in the future"),
        ({"opened_on": "2026-02-19"}, "opened_on", "before it came"),
        ({"use_by": "soon"}, "use_by", "must be a day such as"),
        ({"opened_life_days": "0"}, "opened_life_days", "must lie between 1 and 3650"),
        ({"amount_ml": "a lot"}, "amount_ml", "must be a number"),
        ({"position": "y" * 61}, "position", "at most 60 fit"),
    ],
)
def test_a_lot_that_cannot_be_comes_back_as_typed(
    owner: TestClient, hub: Hub, changes: dict[str, str], field: str, says: str
) -> None:
    answer = owner.post(NEW, data={**SAID, **changes})
    assert answer.status_code == 422
    assert says in beside(answer.text, field)
    typed = form_on(answer.text, NEW)
    told = {**SAID, **changes}
    assert {name: typed[name] for name in typed if name != "part"} == {
        name: [told[name]] for name in typed if name != "part"
    }
    assert "/shelf/lots/3" not in owner.get("/shelf/lots").text
    refused = owner.post(f"{ONE}/edit", data={**SAID, "version": "1", **changes})
    if field != "adhesive_id":
        assert (refused.status_code, says in beside(refused.text, field)) == (422, True)
        assert seen(hub).number == "R-2207"


@HEADERS
def test_what_is_written_down_is_put_right(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    path = f"{ONE}/edit"
    form = form_on(owner.get(path).text, path)
    before = seen(hub)
    assert owner.post(path, data=form, headers=headers).headers["location"] == ONE
    assert seen(hub) == before
    answer = owner.post(path, data={**form, "use_by": "2026-04-01"}, headers=headers)
    assert answer.status_code == 303
    assert f"{seen(hub).use_by}" == "2026-04-01"
    assert "Use by 2026-04-01, was 2026-05-31." in owner.get(ONE).text


@HEADERS
def test_a_lot_is_not_used_up_after_all(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    path = f"{ONE}/edit"
    assert "not_used_up" not in form_on(owner.get(path).text, path)
    assert "not used up after all" not in owner.get(path).text
    owner.post(f"{ONE}/empty", data={})
    assert path in owner.get(ONE).text.split("It is used up.")[1].split("</p>")[0]
    form = form_on(owner.get(path).text, path)
    owner.post(path, data=form, headers=headers)
    assert seen(hub).emptied_on == TODAY
    form = form_on(owner.get(path).text, path)
    faulty = owner.post(path, data={**form, "number": "", "not_used_up": "on"}, headers=headers)
    assert (faulty.status_code, form_on(faulty.text, path)["not_used_up"]) == (422, ["on"])
    assert owner.post(path, data={**form, "not_used_up": "on"}, headers=headers).status_code == 303
    assert seen(hub).emptied_on is None
    assert "Not used up after all, was used up on 2026-03-02." in owner.get(ONE).text


def test_a_lot_says_how_sure_it_is_of_what_is_left(owner: TestClient, hub: Hub, hands: Hands) -> None:
    assert (
        "at most 470 of 473 mL; 1 mix did not say (by the amounts stated on the Cup)" in owner.get(ONE).text
    )
    with hub.database.writing(hands.wall_at) as session:
        bench = bench_at(session, hands.wall_at)
        make_mix(session, bench, adhesive_id=1, zone_id=1, mixed_at=None, cup=CupSaid(lot_a_id=1))
    assert "at most 470 of 473 mL; 2 mixes did not say" in owner.get("/shelf/lots").text


def test_of_two_who_put_a_lot_right_the_second_sees_what_the_first_wrote(owner: TestClient, hub: Hub) -> None:
    path = f"{ONE}/edit"
    form = form_on(owner.get(path).text, path)
    owner.post(path, data={**form, "position": "drawer"})
    answer = owner.post(path, data={**form, "position": "box"})
    assert answer.status_code == 409
    assert "Somebody else changed this lot" in answer.text
    assert "<dd>drawer</dd>" in answer.text
    typed = form_on(answer.text, path)
    assert typed["position"] == ["box"]
    assert seen(hub).position == "drawer"
    assert owner.post(path, data=typed).status_code == 303
    assert seen(hub).position == "box"


# For each move: its fields, and the address that it goes on to.
MOVES: dict[str, tuple[dict[str, str], str]] = {
    "open": ({"opened_on": "2026-02-11"}, ONE),
    "empty": ({"emptied_on": "2026-02-11"}, ONE),
    "quarantine": ({"reason": "It is brown."}, f"{ONE}/recall"),
    "release": ({"reason": "It was the light."}, ONE),
}
KIND = {"open": "opened", "empty": "used up", "quarantine": "quarantined", "release": "released"}


def bar(hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        bench = bench_at(session, hands.wall_at)
        quarantine_lot(session, bench, 1, reason="It is brown.", suspect_mixes=False)


@HEADERS
@pytest.mark.parametrize("move", MOVES)
def test_a_move_is_written_down(
    owner: TestClient, hub: Hub, hands: Hands, move: str, headers: dict[str, str]
) -> None:
    if move == "release":
        bar(hub, hands)
    fields, goes_to = MOVES[move]
    assert f'action="{ONE}/{move}"' in owner.get(ONE).text
    answer = owner.post(f"{ONE}/{move}", data=fields, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, goes_to)
    assert kinds(hub)[-1] == KIND[move]
    assert f'action="{ONE}/{move}"' not in owner.get(ONE).text
    assert owner.get(goes_to).status_code == 200


def test_a_day_left_empty_is_today(owner: TestClient, hub: Hub) -> None:
    owner.post(f"{ONE}/open", data={"opened_on": ""})
    answer = owner.post(f"{ONE}/empty", data={})
    assert (seen(hub).opened_on, seen(hub).emptied_on) == (TODAY, TODAY)
    assert "hazardous%20waste" in answer.headers["set-cookie"]


@pytest.mark.parametrize(
    ("move", "fields", "field", "says"),
    [
        ("open", {"opened_on": "2026-03-03"}, "opened_on", "lies in the future"),
        ("open", {"opened_on": "2026-01-31"}, "opened_on", "came on 2026-02-01 only"),
        ("open", {"opened_on": "Monday"}, "opened_on", "must be a day such as"),
        ("empty", {"emptied_on": "2026-03-03"}, "emptied_on", "lies in the future"),
        ("quarantine", {"reason": ""}, "reason", "The reason is missing"),
        ("quarantine", {"reason": "x" * 401}, "reason", "at most 400 fit"),
        ("release", {"reason": ""}, "reason", "The reason is missing"),
    ],
)
def test_a_move_that_cannot_be_comes_back_as_typed(
    owner: TestClient, hub: Hub, hands: Hands, move: str, fields: dict[str, str], field: str, says: str
) -> None:
    if move == "release":
        bar(hub, hands)
    noted = kinds(hub)
    answer = owner.post(f"{ONE}/{move}", data=fields)
    assert answer.status_code == 422
    assert says in beside(answer.text, field)
    assert form_on(answer.text, f"{ONE}/{move}")[field] == [fields[field]]
    assert kinds(hub) == noted


@pytest.mark.parametrize(
    ("move", "says"),
    [
        ("open", "It was opened on 2026-03-02 already"),
        ("empty", "It was used up on 2026-03-02 already"),
        ("quarantine", "It is quarantined already: It is brown."),
        ("release", "It is not quarantined any more"),
    ],
)
def test_a_move_that_came_second_is_refused_and_says_why(
    owner: TestClient, hub: Hub, hands: Hands, move: str, says: str
) -> None:
    with hub.database.writing(hands.wall_at) as session:
        bench = bench_at(session, hands.wall_at)
        if move == "open":
            open_lot(session, bench, 1)
        elif move == "empty":
            empty_lot(session, bench, 1)
    if move == "quarantine":
        bar(hub, hands)
    noted = kinds(hub)
    answer = owner.post(f"{ONE}/{move}", data=MOVES[move][0])
    assert answer.status_code == 409
    assert says in answer.text
    assert kinds(hub) == noted


def test_a_quarantine_may_hold_the_rods_that_carry_it(owner: TestClient, hub: Hub) -> None:
    data = {"reason": "It is brown.", "suspect_mixes": "on"}
    assert form_on(owner.get(ONE).text, f"{ONE}/quarantine")["suspect_mixes"] == ["on"], "ticked at first"
    answer = owner.post(f"{ONE}/quarantine", data=data)
    page = owner.get(answer.headers["location"]).text
    assert "Mixes put under suspicion: 2." in page
    with hub.database.reading() as session:
        assert open_suspicion(session, 1) is not None
    assert "Lot R-2207 was quarantined: It is brown." in owner.get("/builds/26-001").text


DOUBT = f"{ONE}/suspect-mixes"


@HEADERS
def test_the_mixes_of_a_quarantined_lot_are_doubted(
    owner: TestClient, hub: Hub, hands: Hands, headers: dict[str, str]
) -> None:
    assert DOUBT not in owner.get(ONE).text
    bar(hub, hands)
    assert f'action="{DOUBT}"' in owner.get(ONE).text
    answer = owner.post(DOUBT, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{ONE}/recall")
    assert kinds(hub)[-1] == "mixes doubted"
    with hub.database.reading() as session:
        assert open_suspicion(session, 1) is not None


def test_the_mixes_of_a_lot_in_use_are_not_doubted_by_it(owner: TestClient, hub: Hub) -> None:
    answer = owner.post(DOUBT)
    assert answer.status_code == 409
    assert "It is not quarantined any more" in answer.text
    assert owner.post("/shelf/lots/9/suspect-mixes").status_code == 404
    with hub.database.reading() as session:
        assert open_suspicion(session, 1) is None


def test_a_refused_quarantine_keeps_the_tick(owner: TestClient) -> None:
    answer = owner.post(f"{ONE}/quarantine", data={"reason": "", "suspect_mixes": "on"})
    assert form_on(answer.text, f"{ONE}/quarantine")["suspect_mixes"] == ["on"]
    assert 'class="more" open' in answer.text
    without = owner.post(f"{ONE}/quarantine", data={"reason": ""})
    assert "suspect_mixes" not in form_on(without.text, f"{ONE}/quarantine")


def test_a_lot_says_its_cautions_before_it_is_thrown_away(owner: TestClient) -> None:
    page = owner.get(ONE).text
    for said in ("usually hazardous waste", "Warm the bottle gently", "caps tight", "lasting allergy"):
        assert said in page


TITLES = ("Running out", "In date", "Not to be used", "Used up")


def put(session: Session, bench: Bench, number: str, use_by_in_days: int) -> int:
    """A further lot of the bond on the shelf."""
    return add_lot(
        session, bench, adhesive_id=1, part="A", number=number, received_on=CAME,
        use_by=TODAY + timedelta(days=use_by_in_days),
    ).id  # fmt: skip


def test_the_shelf_shows_lots_by_their_state(owner: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        bench = bench_at(session, hands.wall_at)
        put(session, bench, "in 31 days", 31)
        put(session, bench, "in 30 days", 30)
        put(session, bench, "today", 0)
        put(session, bench, "yesterday", -1)
        barred = put(session, bench, "barred", 99)
        empty = put(session, bench, "empty", 99)
        quarantine_lot(session, bench, barred, reason="It is brown.", suspect_mixes=False)
        empty_lot(session, bench, empty)
    page = owner.get("/shelf/lots").text
    parts = {name: page.split(f">{name}</h2>")[1].split("</section>")[0] for name in TITLES}
    assert {name: numbers(part) for name, part in parts.items()} == {
        "Running out": ["today", "in 30 days"],
        "In date": ["in 31 days", "R-2207", "H-1184"],
        "Not to be used": ["yesterday", "barred"],
        "Used up": ["empty"],
    }
    assert "at most 470 of 473 mL; 1 mix did not say" in parts["In date"]
    assert "no date known" in parts["In date"]
    assert "its use-by date was 2026-03-01" in parts["Not to be used"]


def numbers(part: str) -> list[str]:
    return re.findall(r'href="/shelf/lots/\d+">([^<]+)<', part)


def test_a_shelf_without_lots_says_what_they_are_for(signed_in: SignIn) -> None:
    page = signed_in(Role.HELPER).get("/shelf/lots").text
    assert "No lot is on the shelf yet" in page
    assert NEW not in page


def test_recall_lists_rod_customer_place_and_mix_both_ways(owner: TestClient) -> None:
    page = owner.get(f"{ONE}/recall").text
    for said in (
        "1 rod had it", "26-001 7 ft", "Ada Thorn", "rear grip", "part A", "1, 2026-03-02 09:00",
        "stands, rod in hand", "Mixes from it that closed no place", 'href="/mixes/2"',
    ):  # fmt: skip
        assert said in page
    back = owner.get("/builds/26-001/lots").text
    for said in ("R-2207", "H-1184", "part B", "rear grip", "Ada Thorn"):
        assert said in back
    assert 'href="/builds/26-001/lots"' in owner.get("/builds/26-001").text
    assert "No place on this rod" in owner.get("/builds/26-002/lots").text
    assert "No place on any rod" in owner.get(owner.post(NEW, data=SAID).headers["location"] + "/recall").text


def test_a_rod_says_where_nobody_named_a_lot(owner: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        bench = bench_at(session, hands.wall_at)
        mix = make_mix(session, bench, adhesive_id=1, zone_id=1, mixed_at=None)
        close_cure(session, bench, mix.id, build="26-001", place="fore grip", closed_at=None)
    assert "Closed with mixes that name no lot: fore grip." in owner.get("/builds/26-001/lots").text


def test_other_bottles_of_the_number_are_named(owner: TestClient) -> None:
    assert "another bottle" not in owner.get(ONE).text
    owner.post(NEW, data={**SAID, "number": "R-2207"})
    assert 'href="/shelf/lots/3">another bottle</a>, in date' in owner.get(ONE).text


@pytest.mark.usefixtures("owner")
def test_a_helper_opens_and_quarantines_but_changes_and_releases_nothing(hub: Hub, signed_in: SignIn) -> None:
    helper = signed_in(Role.HELPER)
    page = helper.get(ONE).text
    assert f"{ONE}/edit" not in page
    assert [helper.get(path).status_code for path in (NEW, f"{ONE}/edit")] == [403, 403]
    assert [helper.post(path, data=SAID).status_code for path in (NEW, f"{ONE}/edit")] == [403, 403]
    assert helper.post(f"{ONE}/open", data={}).status_code == 303
    assert helper.post(f"{ONE}/quarantine", data={"reason": "It is brown."}).status_code == 303
    page = helper.get(ONE).text
    assert "Quarantined until an owner releases it." in page
    assert helper.post(f"{ONE}/release", data={"reason": "It was the light."}).status_code == 403
    assert seen(hub).quarantined == "It is brown."


def test_a_lot_that_is_not_on_file(owner: TestClient) -> None:
    paths = ("/shelf/lots/9", "/shelf/lots/9/edit", "/shelf/lots/9/recall", "/builds/26-999/lots")
    assert [owner.get(path).status_code for path in paths] == [404] * 4
    moves = [owner.post(f"/shelf/lots/9/{move}", data=fields) for move, (fields, _) in MOVES.items()]
    assert [answer.status_code for answer in moves] == [404] * 4
