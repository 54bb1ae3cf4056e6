"""The page of a build's parts, and the parts in short on the page of the rod."""

import re
from collections.abc import Callable
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient

from shop.queries.build_parts import BuildPartView, parts_of_build
from shop.queries.builds import build_view
from shop.rules.build_parts import LOOK_ALIKE_CHECK
from shop.rules.people import Role
from shop.rules.sequences import Hold, HoldKind, Sequence, Stage
from shop.services.builds import change_build, take_on_build
from shop.services.events import Logged, advance
from shop.services.make_ups import save_make_up
from shop.services.sequences import add_sequence
from shop.web.deps import Hub
from tests.api.filled import CUSTOMER
from tests.conftest import Hands
from tests.lot_shop import bench_at
from tests.make_up_shop import BLANK, SEAT, WHOLE
from tests.stock_shop import ROD, SECOND, THREAD_A, fill_with_stock
from tests.web.bench_shop import HTMX
from tests.web.forms_read import form_on
from tests.web.test_stocks import beside

SignIn = Callable[[Role], TestClient]
PAGE = f"/builds/{ROD}/parts"
HEADERS = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def helper(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    """A helper: whoever stands at the bench sets aside and scans."""
    with hub.database.writing(hands.wall_at) as session:
        fill_with_stock(session, hands.wall_at)
    return signed_in(Role.HELPER)


def part(hub: Hub, name: str, number: str = ROD) -> BuildPartView:
    with hub.database.reading() as session:
        parts = parts_of_build(session, build_view(session, number).id)
    return next(item for item in parts if item.name == name)


def counts(hub: Hub, name: str) -> tuple[int, int, int]:
    item = part(hub, name)
    return item.needed, item.set_aside, item.used


def use_up(hub: Hub, hands: Hands, *stages: str) -> None:
    with hub.database.writing(hands.wall_at) as session:
        for stage in stages:
            advance(session, ROD, bench_at(session, hands.wall_at), Logged(stage))


def test_the_page_says_what_there_is_of_each_part(helper: TestClient, hub: Hub) -> None:
    page = helper.get(PAGE).text
    rows = {row.split("<")[0].strip(): row for row in page.split('class="part-name">')[1:]}
    assert set(rows) == {"Heron 70", "Cork rear grip", "Casting seat", "Cork fore grip", "Ring guide 8"}
    for name, says in (
        ("Heron 70", "not counted"), ("Casting seat", "1 missing"), ("Ring guide 8", "3 missing"),
        ("Ring guide 8", "takes 3; 6 free on the shelf"),
    ):  # fmt: skip
        assert says in rows[name]
    # Guides are many and are laid out before they are bound; they are not held up one by one.
    assert [name for name, row in rows.items() if "This is it" in row] == [
        "Heron 70", "Cork rear grip", "Casting seat", "Cork fore grip",
    ]  # fmt: skip
    helper.post(f"/builds/{SECOND}/parts/set-aside", data={"part": f"{part(hub, 'Casting seat', SECOND).id}"})
    assert "takes 1; none free on the shelf; here by Thu 12 Mar if ordered today" in helper.get(PAGE).text


def test_the_rod_says_in_short_how_it_stands_for_parts(helper: TestClient, hub: Hub, hands: Hands) -> None:
    def says() -> str:
        return helper.get(f"/builds/{ROD}").text.split("<b>Parts</b>")[1].split("</p>")[0]

    assert PAGE in helper.get(f"/builds/{ROD}").text
    assert "Missing: 1 × Cork rear grip, 1 × Casting seat, 3 × Ring guide 8." in says()
    helper.post(f"{PAGE}/set-aside")
    assert "Every counted part is set aside or on the rod." in says()
    use_up(hub, hands, "agreed", "parts in hand", "fitted", "glued", "laid out")
    assert "All its parts are on the rod." in says()
    assert "This is it" not in helper.get(PAGE).text, "what is on the rod is held against it no more"
    page = helper.get("/builds/26-001").text
    assert "None of its parts is counted." in page


@HEADERS
def test_all_that_is_there_is_set_aside_with_one_tap(
    helper: TestClient, hub: Hub, headers: dict[str, str]
) -> None:
    answer = helper.post(f"{PAGE}/set-aside", headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, PAGE)
    assert [counts(hub, name) for name in ("Ring guide 8", "Casting seat")] == [(3, 3, 0), (1, 1, 0)]
    page = helper.get(PAGE).text
    assert "Set aside: 1 × Cork rear grip, 1 × Casting seat, 3 × Ring guide 8." in page
    assert "Set aside all that is there" not in page
    again = helper.post(f"{PAGE}/set-aside", headers=headers)
    assert (again.status_code, "has every counted part that it takes" in again.text) == (409, True)


@HEADERS
def test_one_part_is_set_aside_and_put_back(helper: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    rings = f"{part(hub, 'Ring guide 8').id}"
    for count, left in (("2", 2), ("", 3)):
        answer = helper.post(
            f"{PAGE}/set-aside", data={"part": rings, f"count-{rings}": count}, headers=headers
        )
        assert (answer.status_code, counts(hub, "Ring guide 8")[1]) == (303, left)
    for count, left in (("1", 2), ("", 0)):
        answer = helper.post(
            f"{PAGE}/put-back", data={"part": rings, f"count-{rings}": count}, headers=headers
        )
        assert (answer.status_code, counts(hub, "Ring guide 8")[1]) == (303, left)


def test_a_count_that_cannot_be_comes_back_as_typed(helper: TestClient, hub: Hub) -> None:
    rings = f"{part(hub, 'Ring guide 8').id}"
    field = f"count-{rings}"
    helper.post(f"{PAGE}/set-aside", data={"part": rings, field: "1"})
    for move, typed, says in (
        ("set-aside", "0", "must lie between 1"), ("set-aside", "two", "must be a number"),
        ("set-aside", "3", "takes only 2 more"), ("put-back", "2", "Only 1 × Ring guide 8"),
    ):  # fmt: skip
        answer = helper.post(f"{PAGE}/{move}", data={"part": rings, field: typed})
        assert answer.status_code == 422
        assert says in beside(answer.text, field)
        assert f'name="{field}" value="{typed}"' in answer.text
        assert '<details class="more" open>' in answer.text
    assert "please choose one" in helper.post(f"{PAGE}/put-back", data={"part": "x"}).text
    assert counts(hub, "Ring guide 8") == (3, 1, 0)


def test_what_another_rod_has_is_refused(helper: TestClient, hub: Hub) -> None:
    helper.post(f"/builds/{SECOND}/parts/set-aside")
    seat = f"{part(hub, 'Casting seat').id}"
    answer = helper.post(f"{PAGE}/set-aside", data={"part": seat})
    assert answer.status_code == 409
    assert "the one on the shelf is set aside for another rod" in answer.text
    assert helper.post(f"{PAGE}/put-back", data={"part": seat}).status_code == 409
    assert counts(hub, "Casting seat") == (1, 0, 0)


@HEADERS
def test_a_scan_says_whether_the_part_is_the_right_one(
    helper: TestClient, hub: Hub, headers: dict[str, str]
) -> None:
    # A scanner that is a keyboard types the code and Enter: a form of one field.
    assert form_on(helper.get(PAGE).text, f"{PAGE}/confirm")["code"] == [""]
    answer = helper.post(f"{PAGE}/confirm", data={"code": "SEAT16"}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, PAGE)
    page = helper.get(PAGE).text
    assert "Right: Casting seat is for this rod." in page
    assert "Held against the rod 09:00, helper" in page
    chosen = {"part": f"{part(hub, 'Cork fore grip').id}"}
    assert helper.post(f"{PAGE}/confirm", data=chosen, headers=headers).status_code == 303
    assert part(hub, "Cork fore grip").confirmed_by == "helper"


@pytest.mark.parametrize(
    ("code", "says"),
    [
        ("", "Scan the part, or type its code."),
        ("NONE", "Nothing on the shelf has the code “NONE”."),
        ("SEAT16L", "in hand is “Casting seat, long”, and the reel seat of this rod is “Casting seat”."),
        ("x" * 61, "at most 60 fit"),
    ],
)
def test_a_wrong_part_is_refused_and_both_are_named(
    helper: TestClient, hub: Hub, code: str, says: str
) -> None:
    answer = helper.post(f"{PAGE}/confirm", data={"code": code})
    assert answer.status_code == 422
    assert says in beside(answer.text, "code")
    assert form_on(answer.text, f"{PAGE}/confirm")["code"] == [code]
    assert part(hub, "Casting seat").confirmed_at is None


def test_a_second_press_moves_nothing_more(helper: TestClient, hub: Hub) -> None:
    rings = part(hub, "Ring guide 8")
    typed = {"part": f"{rings.id}", f"count-{rings.id}": "1", "seen": "0-0"}
    assert f'name="seen" value="{typed["seen"]}"' in helper.get(PAGE).text
    assert helper.post(f"{PAGE}/set-aside", data=typed).status_code == 303
    answer = helper.post(f"{PAGE}/set-aside", data=typed)
    assert answer.status_code == 409
    assert "Something was done with Ring guide 8 since this page was shown" in answer.text
    assert part(hub, "Ring guide 8").set_aside == 1
    # The page comes back as it stands, with what was typed: whoever means it presses once more.
    assert 'name="seen" value="1-0"' in answer.text
    assert helper.post(f"{PAGE}/set-aside", data=typed | {"seen": "1-0"}).status_code == 303
    assert part(hub, "Ring guide 8").set_aside == 2


def test_what_the_rod_takes_no_more_is_put_back_with_one_tap(
    helper: TestClient, hub: Hub, hands: Hands
) -> None:
    helper.post(f"{PAGE}/set-aside")
    with hub.database.writing(hands.wall_at) as session:
        fewer = replace(WHOLE, guides=WHOLE.guides[:2])
        save_make_up(session, ROD, bench_at(session, hands.wall_at), fewer, revision=1)
    row = helper.get(PAGE).text.split('part-name">Ring guide 8')[1].split("</li>")[0]
    assert "1 too many set aside" in row
    form = row.split(f'action="{PAGE}/put-back"')[1].split("</form>")[0]
    typed = dict(re.findall(r'name="([^"]+)" value="([^"]+)"', form))
    assert helper.post(f"{PAGE}/put-back", data=typed).status_code == 303
    assert part(hub, "Ring guide 8").set_aside == 2
    assert helper.post(f"{PAGE}/put-back", data=typed).status_code == 409, "the second tap"


@HEADERS
def test_what_came_off_lies_there_again_and_what_is_spoilt_is_taken_anew(
    helper: TestClient, hub: Hub, hands: Hands, headers: dict[str, str]
) -> None:
    helper.post(f"{PAGE}/set-aside")
    use_up(hub, hands, "agreed", "parts in hand", "fitted", "glued", "laid out")
    rings = f"{part(hub, 'Ring guide 8').id}"
    came = helper.post(f"{PAGE}/came-off", data={"part": rings, f"count-{rings}": "2"}, headers=headers)
    assert (came.status_code, counts(hub, "Ring guide 8"), part(hub, "Ring guide 8").free) == (
        303, (3, 0, 1), 5,
    )  # fmt: skip
    spoilt = {"part": rings, f"count-{rings}": "", f"reason-{rings}": "Bent."}
    assert helper.post(f"{PAGE}/spoilt", data=spoilt, headers=headers).status_code == 303
    assert (counts(hub, "Ring guide 8"), part(hub, "Ring guide 8").on_shelf) == ((3, 0, 0), 5)
    assert "Spoilt, to be taken anew: 1 × Ring guide 8. Bent." in helper.get(f"/builds/{ROD}").text
    for move in ("came-off", "spoilt"):
        refused = helper.post(f"{PAGE}/{move}", data={"part": rings}, headers=headers)
        assert (refused.status_code, "No Ring guide 8 is on this rod" in refused.text) == (409, True)


def test_more_than_were_used_cannot_come_off(helper: TestClient, hub: Hub, hands: Hands) -> None:
    helper.post(f"{PAGE}/set-aside")
    use_up(hub, hands, "agreed", "parts in hand", "fitted", "glued")
    seat = f"{part(hub, 'Casting seat').id}"
    for move in ("came-off", "spoilt"):
        data = {"part": seat, f"count-{seat}": "2", f"reason-{seat}": "Split."}
        answer = helper.post(f"{PAGE}/{move}", data=data)
        assert answer.status_code == 422
        assert "Only 1 × Casting seat" in beside(answer.text, f"count-{seat}")
        assert f'name="reason-{seat}" value="Split."' in answer.text
    too_long = helper.post(f"{PAGE}/spoilt", data={"part": seat, f"reason-{seat}": "x" * 501})
    assert "at most 500 fit" in beside(too_long.text, f"reason-{seat}")


@HEADERS
def test_thread_is_named_by_hand(helper: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    data = {"component_id": f"{THREAD_A}", "needed": "1"}
    answer = helper.post(PAGE, data=data, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, PAGE)
    assert counts(hub, "Thread A, garnet") == (1, 0, 0)
    assert helper.post(PAGE, data={**data, "needed": "0"}, headers=headers).status_code == 303
    assert "Thread A, garnet <" not in helper.get(PAGE).text


def test_what_cannot_be_named_comes_back_as_typed(helper: TestClient) -> None:
    for changes, field, says in (
        ({"component_id": ""}, "component_id", "please choose one"), ({"needed": ""}, "needed", "is missing"),
        ({"needed": "201"}, "needed", "must lie between 0 and 200"),
        ({"component_id": f"{SEAT}"}, "component_id", "goes on a rod by its make-up"),
    ):  # fmt: skip
        data = {"component_id": f"{THREAD_A}", "needed": "2", **changes}
        answer = helper.post(PAGE, data=data)
        assert answer.status_code == 422
        assert says in beside(answer.text, field)
        assert form_on(answer.text, PAGE)["needed"] == [data["needed"]]


def test_a_finished_rod_takes_nothing_more(helper: TestClient, hub: Hub, hands: Hands) -> None:
    helper.post(f"{PAGE}/set-aside")
    use_up(hub, hands, "agreed", "parts in hand", "fitted", "glued", "laid out", "wrapped", "handed over")
    page = helper.get(PAGE).text
    assert "This is it" not in page
    assert "Came off whole" in page
    for move, data in (
        ("", {"component_id": f"{THREAD_A}", "needed": "1"}),
        ("/confirm", {"code": "SEAT16"}),
    ):
        answer = helper.post(f"{PAGE}{move}", data=data)
        assert (answer.status_code, "26-002 is finished" in answer.text) == (409, True)


def test_who_sees_money_sees_what_the_parts_cost(
    helper: TestClient, hub: Hub, hands: Hands, signed_in: SignIn
) -> None:
    helper.post(PAGE, data={"component_id": f"{THREAD_A}", "needed": "1"})
    helper.post(f"{PAGE}/set-aside")
    use_up(hub, hands, "agreed", "parts in hand", "fitted", "glued", "laid out", "wrapped")
    assert "What its used parts cost" not in helper.get(PAGE).text
    assert "What its used parts cost: 0.60 EUR, 5 parts without a cost on file." in signed_in(
        Role.OWNER
    ).get(PAGE).text  # fmt: skip


def test_a_rod_that_nothing_is_said_of_is_shown_the_way(helper: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        change_build(session, "26-001", bench_at(session, hands.wall_at), blank_id=None)
    page = helper.get("/builds/26-001/parts").text
    assert "Neither a blank nor a make-up says what this rod takes." in page
    assert "<b>Parts</b>" not in helper.get("/builds/26-001").text


def test_the_rod_asks_for_the_parts_to_be_held_up_where_the_shop_wants_it(
    helper: TestClient, hub: Hub, hands: Hands
) -> None:
    hold = Hold(HoldKind.CHECK, check=LOOK_ALIKE_CHECK)
    wanting = Sequence("wanting", "casting", (Stage("glued", holds=(hold,), uses=("blank",)),))
    with hub.database.writing(hands.wall_at) as session:
        sequence = add_sequence(session, now=hands.wall_at, sequence=wanting)
        number = take_on_build(
            session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft",
            rod_kind="casting", sequence_id=sequence.id, blank_id=BLANK,
        ).number  # fmt: skip
    assert "Scan each of them at the rod&#39;s parts" in helper.get(f"/builds/{number}").text
