"""The pages of repairs: taken in, looked over, signed, printed, and brought to what is to be done."""

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.queries.shop import shop_record
from shop.rules.intakes import items_for
from shop.rules.people import Role
from shop.rules.sequences import Sequence, Stage
from shop.services.events import Logged, advance
from shop.services.photos import StoredPhoto, add_photos
from shop.services.sequences import add_sequence
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.repair_shop import ROD, STILL_HERE, open_repairs_desk, take_in
from tests.spec_shop import bench_of
from tests.web.bench_shop import HTMX
from tests.web.test_specs import error
from tests.web.test_ticket import words

SignIn = Callable[[Role], TestClient]
REPAIR = "26-003"
HERE = f"/builds/{REPAIR}"
NEW = {
    "customer_id": "1", "rod": "7 ft casting, dark green", "wish": "A new tip-top.", "guides": "2",
    "brought_on": "2026-03-02", "work": "Repair: new tip-top", "own_number": "",
}  # fmt: skip
each_way = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def people(hub: Hub, hands: Hands, signed_in: SignIn) -> SignIn:
    with hub.database.writing(hands.wall_at) as session:
        open_repairs_desk(hub, session, hands.wall_at)
    return signed_in


@pytest.fixture
def desk(people: SignIn) -> TestClient:
    return people(Role.BUILDER)


@pytest.fixture
def taken(desk: TestClient) -> TestClient:
    assert desk.post("/desk/repairs/new", data=NEW).status_code == 303
    return desk


def listed(
    state: str = "sound", guides: int = 2, version: int = 1, **more: str
) -> dict[str, str | list[str]]:
    """The form of a list on which everything is in one state."""
    items = list(items_for(guides))
    return {
        "version": str(version), "rod": NEW["rod"], "wish": NEW["wish"], "brought_on": NEW["brought_on"],
        "guides": str(guides), "row_item": items, "row_state": [state] * len(items),
        "row_note": ["as seen"] * len(items), **more,
    }  # fmt: skip


@each_way
def test_a_rod_is_taken_in(desk: TestClient, headers: dict[str, str]) -> None:
    form = desk.get("/desk/repairs/new?customer=1").text
    assert '<option value="1" selected>Ada Thorn</option>' in form
    answer = desk.post("/desk/repairs/new", data=NEW, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{HERE}/intake")
    page = words(desk.get(f"{HERE}/intake").text)
    assert "It follows: new tip-top." in page
    assert "No photo yet of the left and right side" in page
    assert "guide 2 wrap" in page
    assert "guide 3 ring" not in page
    repairs = words(desk.get("/desk/repairs").text)
    assert f"{REPAIR} Repair: 7 ft casting, dark green" in repairs
    assert "not signed" in repairs
    assert "No repair has been lying ready" in repairs
    assert f'href="{HERE}/intake"' in desk.get(HERE).text


def test_our_own_rod_is_named_from_its_page(desk: TestClient) -> None:
    form = desk.get(f"/desk/repairs/new?rod={ROD}").text
    assert f'value="{ROD}"' in form
    answer = desk.post("/desk/repairs/new", data={**NEW, "own_number": ROD, "rod": ""})
    assert answer.status_code == 303
    assert f'href="/builds/{ROD}/as-built"' in desk.get(f"{HERE}/as-built").text
    page = desk.get(f"{HERE}/intake").text
    assert f"Built here as {ROD} . The warranty runs until 2027-03-02." in words(page)
    assert f'href="/builds/{ROD}/came-back"' in page
    assert "The warranty runs until 2027-03-02." in desk.get(f"{HERE}/receipt").text
    assert "Write down why it came back" in page
    desk.post(f"/builds/{ROD}/came-back", data={"returned_on": "2026-03-02", "cause": "rust"})
    assert "It came back: rust" in desk.get(f"{HERE}/intake").text


@pytest.mark.parametrize("own", ["", ROD])
def test_a_second_press_takes_nothing_further_in(hands: Hands, desk: TestClient, own: str) -> None:
    data = {**NEW, "own_number": own, "rod": "" if own else NEW["rod"]}
    went = [desk.post("/desk/repairs/new", data=data).headers["location"] for _ in range(2)]
    assert went == [f"{HERE}/intake"] * 2
    other = desk.post("/desk/repairs/new", data={**data, "own_number": "", "rod": "the blue one"})
    assert other.headers["location"] == "/builds/26-004/intake"
    hands.forward(minutes=2)
    later = desk.post("/desk/repairs/new", data=data)
    if own:
        assert f"is in the shop for repair already, as {REPAIR}." in error(later.text, "own_number")
    else:
        assert later.headers["location"] == "/builds/26-005/intake"


@pytest.mark.parametrize(
    ("data", "key", "says"),
    [
        ({"customer_id": ""}, "customer_id", "please choose one"),
        ({"rod": ""}, "rod", "Say which rod it is"),
        ({"wish": ""}, "wish", "Say what is to be done"),
        ({"guides": "31"}, "guides", "between 0 and 30"),
        ({"guides": ""}, "guides", "missing"),
        ({"brought_on": ""}, "brought_on", "missing"),
        ({"brought_on": "2026-03-03"}, "brought_on", "cannot lie after today"),
        ({"own_number": STILL_HERE}, "own_number", "was never handed over"),
        ({"own_number": "26-099"}, "own_number", "There is no build"),
        ({"work": "a miracle"}, "work", "Choose what is to be done"),
    ],
)
def test_bad_input_is_said_beside_its_field_and_nothing_typed_is_lost(
    desk: TestClient, data: dict[str, str], key: str, says: str
) -> None:
    answer = desk.post("/desk/repairs/new", data={**NEW, "rod": "the blue one", "wish": "mend it", **data})
    assert answer.status_code == 422
    assert says in error(answer.text, key)
    assert data.get("wish", "mend it") in answer.text
    assert "26-003" not in desk.get("/desk/repairs").text


@each_way
def test_the_list_is_saved_signed_and_printed(taken: TestClient, headers: dict[str, str]) -> None:
    saved = taken.post(f"{HERE}/intake", data=listed("worn"), headers=headers)
    assert (saved.status_code, saved.headers["location"]) == (303, f"{HERE}/intake")
    page = words(taken.get(f"{HERE}/intake").text)
    assert "On file: 13 of 13 points amiss, 0 not looked at." in page
    receipt = words(taken.get(f"{HERE}/receipt").text)
    assert "Name, day and signature" in receipt
    signing = {"signed_name": "Ada Thorn", "version": "2"}
    signed = taken.post(f"{HERE}/intake/sign", data=signing, headers=headers)
    assert (signed.status_code, signed.headers["location"]) == (303, f"{HERE}/intake")
    page = taken.get(f"{HERE}/intake").text
    assert "2026-03-02 09:00 by Ada Thorn." in words(page)
    assert "row_state" not in page
    receipt = words(taken.get(f"{HERE}/receipt").text)
    assert f"Repair {REPAIR}" in receipt
    assert "guide 1 wrap worn : as seen" in receipt
    assert "by Ada Thorn." in receipt
    # Signing is what the first stage waits for.
    assert taken.post(f"{HERE}/advance", data={"to": "taken in"}).status_code == 303


def test_more_guides_get_more_rows_and_what_was_typed_stays(taken: TestClient) -> None:
    shown = taken.post(f"{HERE}/intake", data=listed("cracked", what="rows") | {"guides": "3"})
    assert shown.status_code == 200
    assert "guide 3 wrap" in shown.text
    assert shown.text.count('value="as seen"') == 13
    assert shown.text.count('value="cracked" selected') == 13
    rest = taken.post(f"{HERE}/intake", data=listed("not looked at", what="sound"))
    assert rest.text.count('value="sound" selected') == 13
    assert taken.post(f"{HERE}/intake", data=listed(guides=3)).status_code == 303


@pytest.mark.parametrize(
    ("data", "key", "says"),
    [
        ({"wish": ""}, "wish", "Say what is to be done"),
        ({"brought_on": "soon"}, "brought_on", "must be a day"),
        ({"row_state": ["so so"] * 13}, "conditions.1.state", "Row 1: the state must be one of"),
    ],
)
def test_a_list_that_cannot_be_comes_back_as_typed(
    taken: TestClient, data: dict[str, str | list[str]], key: str, says: str
) -> None:
    answer = taken.post(f"{HERE}/intake", data=listed("worn") | {"rod": "the blue one"} | data)
    assert answer.status_code == 422
    assert says in error(answer.text, key)
    assert 'value="the blue one"' in answer.text
    assert answer.text.count('value="as seen"') == 13


def test_what_is_refused_says_why_and_keeps_what_was_typed(taken: TestClient) -> None:
    taken.post(f"{HERE}/intake", data=listed())
    stale = taken.post(f"{HERE}/intake", data=listed("worn", rod="the blue one"))
    assert stale.status_code == 409
    assert "Somebody else has written on this list" in stale.text
    assert 'value="the blue one"' in stale.text
    assert stale.text.count('value="worn" selected') == 13
    nobody = taken.post(f"{HERE}/intake/sign", data={"signed_name": "", "version": "2"})
    assert (nobody.status_code, "Say who signs" in nobody.text) == (422, True)
    late = taken.post(f"{HERE}/intake/sign", data={"signed_name": "Ada", "version": "1"})
    assert (late.status_code, 'value="Ada"' in late.text) == (409, True)
    for path in ("intake", "receipt"):
        assert taken.get(f"/builds/{ROD}/{path}").status_code == 404


@each_way
def test_what_is_to_be_done_is_chosen_anew(taken: TestClient, headers: dict[str, str]) -> None:
    chosen = taken.post(f"{HERE}/work", data={"work": "Repair: joint glued again"}, headers=headers)
    assert (chosen.status_code, chosen.headers["location"]) == (303, f"{HERE}/intake")
    assert "It follows: joint glued again." in words(taken.get(f"{HERE}/intake").text)
    wrong = taken.post(f"{HERE}/work", data={"work": "a miracle"}, headers=headers)
    assert (wrong.status_code, "Choose what is to be done" in wrong.text) == (422, True)


def test_work_is_not_chosen_anew_past_the_point(hub: Hub, hands: Hands, people: SignIn) -> None:
    with hub.database.writing(hands.wall_at) as session:
        number = take_in(session, bench_of(hub, session, hands.wall_at))
    desk = people(Role.OWNER)
    desk.post(f"/builds/{number}/close", data={"reason": "the price"})
    refused = desk.post(f"/builds/{number}/work", data={"work": "Repair: new tip-top"})
    assert (refused.status_code, "is cancelled" in refused.text) == (409, True)


def test_what_lies_ready_too_long_is_listed_with_its_days(hub: Hub, hands: Hands, people: SignIn) -> None:
    with hub.database.writing(hands.wall_at) as session:
        stages = (Stage("taken in"), Stage("mended"), Stage("handed over"))
        add_sequence(session, now=hands.wall_at, sequence=Sequence("Repair: quick", "repair", stages))
        shop_record(session).unclaimed_days = 1
        bench = bench_of(hub, session, hands.wall_at)
        number = take_in(session, bench, work="quick")
        for stage in ("taken in", "mended"):
            advance(session, number, bench, Logged(stage))
    desk = people(Role.BUILDER)
    hands.forward(hours=24)
    page = words(desk.get("/desk/repairs").text)
    assert "ready to be fetched" in page
    assert "No repair has been lying ready for more than 1 days." in page
    hands.forward(hours=30)
    page = words(desk.get("/desk/repairs").text)
    assert "Ready for more than 1 days" in page
    assert "Mon 2 Mar 09:00 2 " in page


def test_photos_of_both_sides_end_the_asking(hub: Hub, hands: Hands, taken: TestClient) -> None:
    for side in ("left", "right"):
        with hub.database.writing(hands.wall_at) as session:
            photo = StoredPhoto(f"{side}0123456789", 10, 10, 100)
            add_photos(session, REPAIR, bench_of(hub, session, hands.wall_at), [photo], side=side)
        page = words(taken.get(f"{HERE}/intake").text)
        assert ("No photo yet of the right side" in page) is (side == "left")
    assert "Both sides are photographed." in page


def test_a_helper_has_no_business_with_the_desk(people: SignIn) -> None:
    helper = people(Role.HELPER)
    for path in ("/desk/repairs", "/desk/repairs/new", f"/builds/{ROD}/intake"):
        assert helper.get(path).status_code == 403
