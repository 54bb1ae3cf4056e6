"""The bench ticket: what it says of a rod, what it leaves out, and what its code opens."""

import re
from collections.abc import Callable
from html import unescape

import pytest
import zxingcpp
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.rules.ready_made import READY_MADE
from shop.rules.sequences import Hold, HoldKind
from shop.web.deps import Hub
from shop.web.ticket import must_words
from tests.conftest import Hands
from tests.outside.pictures import picture_of
from tests.web.laid_down import CASTING, FLY, SPINNING, lay_down_again, open_bench

SignIn = Callable[[Role], TestClient]
TICKET = f"/builds/{CASTING}/ticket"


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    open_bench(hub, hands)
    return signed_in(Role.OWNER)


def words(page: str) -> str:
    """The page as it is read: without tags, one space between words."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def stage(page: str, name: str) -> str:
    """What the ticket says at one stage."""
    return next(words(part) for part in page.split('<li class="ticket-stage')[1:] if f"<b>{name}</b>" in part)


def log(client: TestClient, to: str, **fields: str) -> None:
    answer = client.post(f"/builds/{CASTING}/advance", data={"to": to, **fields})
    assert answer.status_code == 303, words(answer.text)


def read_code(page: str) -> list[str]:
    """What an independent reader makes of the first code of a page."""
    found = re.search(r'<svg class="code" viewBox="0 0 (\d+) .*?<path d="([^"]+)"', page, re.DOTALL)
    assert found
    return [code.text for code in zxingcpp.read_barcodes(picture_of(found[2], int(found[1])))]


def test_the_head_names_the_rod_its_customer_in_short_and_its_revision(bench: TestClient) -> None:
    page = bench.get(TICKET).text
    said = words(page)
    assert f"{CASTING} 7 ft casting, jerkbaits" in said
    assert "Ada T. · casting" in said
    assert "Thorn" not in page
    assert "Printed 2026-03-02 09:00, revision 1 of the make-up" in said
    assert "a later revision makes this sheet stale" in said


def test_the_code_opens_the_page_of_the_rod(bench: TestClient) -> None:
    assert read_code(bench.get(TICKET).text) == [f"https://testserver/builds/{CASTING}?ticket=1.0"]


@pytest.mark.parametrize(("number", "sequence"), [(CASTING, 0), (SPINNING, 1), (FLY, 2)])
def test_every_stage_stands_in_its_order(bench: TestClient, number: str, sequence: int) -> None:
    page = bench.get(f"/builds/{number}/ticket").text
    named = re.findall(r'<li class="ticket-stage.*?<b>([^<]+)</b>', page, re.DOTALL)
    assert named == [item.name for item in READY_MADE[sequence].stages]


def test_a_stage_shows_its_figures_with_their_tolerance_and_room_to_write(bench: TestClient) -> None:
    page = bench.get(TICKET).text
    fitted = stage(page, "grips fitted")
    assert re.search(r"rear grip ends 9 3/4 in \(247.65 mm\) from the butt ± 1/16 in", fitted)
    assert "butt cap ends" in fitted
    line = page[page.index("<span>blank length</span>") :]
    assert 'class="blank-line"' in line[: line.index("</li>")]
    assert 'href="/sums/' in page


def test_figures_stand_once_and_are_pointed_at_afterwards(bench: TestClient) -> None:
    page = bench.get(TICKET).text
    assert "guide 3 from the tip" in stage(page, "guides laid out")
    wrapped = stage(page, "wrapped")
    assert "Guides : as at “guides laid out”" in wrapped
    assert "guide 3 from the tip" not in wrapped


def test_the_epoxy_stands_at_the_stage_of_its_joint(bench: TestClient) -> None:
    page = bench.get(TICKET).text
    assert "fore grip, A and B" in stage(page, "reel seat and fore grip glued")
    assert "fore grip, A and B" not in stage(page, "rear grip glued")


def test_what_must_be_true_before_is_said_but_not_the_order_of_the_sheet(bench: TestClient) -> None:
    page = bench.get(TICKET).text
    glued = stage(page, "reel seat and fore grip glued")
    assert "First: rear grip set; parts set aside; reel seat and fore grip closed within pot life." in glued
    assert "orientation" in glued
    assert "First: rear grip, reel seat and fore grip fully cured." in stage(page, "handle cured")
    assert "First: the deposit paid; parts set aside." in stage(page, "parts in hand")
    assert "First" not in stage(page, "spine marked")


@pytest.mark.parametrize(
    ("hold", "says"),
    [
        (Hold(HoldKind.ORDER, stages=("wrapped", "inspected")), "after wrapped and inspected"),
        (Hold(HoldKind.SET, places=("rear grip",)), "rear grip set"),
        (Hold(HoldKind.FULL_CURE, places=("a", "b", "c")), "a, b and c fully cured"),
        (Hold(HoldKind.RECOAT, place="guide wraps"), "guide wraps in the recoat window"),
        (Hold(HoldKind.POT_LIFE, places=("rear grip",)), "rear grip closed within pot life"),
        (Hold(HoldKind.CHECK, check="dry fit", second_person=True), "dry fit checked by a second person"),
        (Hold(HoldKind.MEASUREMENT, name="bore"), "bore within tolerance"),
        (Hold(HoldKind.WARM), "warm enough to mix"),
        (Hold(HoldKind.APPROVAL), "the customer's yes"),
        (Hold(HoldKind.CLOCK), "clock"),
    ],
)
def test_each_kind_of_hold_has_its_words(hold: Hold, says: str) -> None:
    assert must_words(hold) == says


def test_what_is_on_record_is_filled_in_and_what_shuts_the_next_stage_is_said(
    bench: TestClient, hands: Hands
) -> None:
    log(bench, "order agreed")
    log(bench, "parts in hand")
    heavy = {"to": "blank checked", "measure-blank mass": "70 g"}
    assert bench.post(f"/builds/{CASTING}/note", data=heavy).status_code == 303
    checked = stage(bench.get(TICKET).text, "blank checked")
    assert "is 70 g, out of tolerance" in checked
    assert "“blank mass” measures 70 g; it should be 60 g ± 1 g." in checked
    log(bench, "blank checked", **{"measure-blank length": "84 1/8 in", "measure-blank mass": "60.5 g"})
    log(bench, "spine marked")
    log(bench, "grips fitted")
    assert bench.post("/cup", data={"adhesive_id": "1", "zone_id": "1"}).status_code == 303
    log(bench, "rear grip glued", **{"mix-rear grip": "1"})
    hands.forward(hours=1)
    page = bench.get(TICKET).text
    checked = stage(page, "blank checked")
    assert ", done Mon 2 Mar 09:00, owner" in checked
    assert "is 84 1/8 in (2136.775 mm), within" in checked
    assert "is 60.5 g, within" in checked
    glued = stage(page, "reel seat and fore grip glued")
    assert "The Riverbed at the rear grip has not set. Not before Mon 2 Mar 19:00." in glued
    closed = "closed Mon 2 Mar 09:00, set Mon 2 Mar 19:00, full cure Tue 3 Mar 09:00."
    assert f"rear grip: Riverbed, mix 1, {closed}" in stage(page, "rear grip glued")
    assert "reel seat: mix closed at fore grip: mix closed at" in glued


def test_a_box_is_ticked_only_where_the_stage_is_reached(bench: TestClient) -> None:
    log(bench, "order agreed")
    page = bench.get(TICKET).text
    rows = page.split('<li class="ticket-stage')[1:]
    assert ["M5 10l4 5 7-10" in row for row in rows] == [True] + [False] * (len(rows) - 1)
    assert [row.startswith(" next") for row in rows].index(True) == 1


def test_each_caution_is_named_where_it_belongs_and_written_out_once(bench: TestClient) -> None:
    page = bench.get(TICKET).text
    assert "Take care: Epoxy, Waste" in stage(page, "rear grip glued")
    assert page.count("Uncured epoxy and hardener can cause a lasting allergy.") == 1


def test_what_should_be_looked_at_stands_first(bench: TestClient) -> None:
    said = words(bench.get(TICKET).text)
    assert "Look at this first There are 0.0656 in (1.67 mm) a side to fill" in said


def test_the_rod_is_drawn_to_scale_with_its_places_in_a_table(bench: TestClient) -> None:
    page = bench.get(TICKET).text
    assert 'aria-label="The rod to scale, 84 in (2133.6 mm) long' in page
    assert "The handle enlarged." in page
    said = words(page)
    assert "rear grip rear cork 1/8 (3.2) 9 3/4 (247.7)" in said
    assert "7 ring 12 41 (1041.4) 43 (1092.2)" in said


@pytest.mark.parametrize(
    ("number", "says"), [(CASTING, "The guides go on the marked side"), (FLY, "guides go opposite the mark")]
)
def test_how_the_rod_faces_is_drawn_and_said(bench: TestClient, number: str, says: str) -> None:
    page = bench.get(f"/builds/{number}/ticket").text
    assert 'aria-label="Seen from the butt: mark' in page
    assert says in words(page)


def test_a_later_revision_is_the_one_that_is_printed(bench: TestClient, hub: Hub, hands: Hands) -> None:
    lay_down_again(hub, hands, CASTING)
    said = words(bench.get(TICKET).text)
    assert "revision 2 of the make-up" in said
    assert "8 ring 12 52 (1320.8)" in said


def test_a_rod_without_a_make_up_keeps_its_plain_drawing(hub: Hub, hands: Hands, signed_in: SignIn) -> None:
    open_bench(hub, hands, laid_down=False)
    page = signed_in(Role.HELPER).get(TICKET).text
    assert "Casting rod, so far: the bare blank." in page
    assert "No make-up is laid down yet" in words(page)
    assert f'href="/builds/{CASTING}/make-up"' in page
    assert "blank length" in stage(page, "blank checked")
    assert "to scale" not in page


@pytest.mark.parametrize(("asked", "paper"), [("", "a4"), ("?paper=letter", "letter"), ("?paper=x", "a4")])
def test_the_paper_is_chosen_by_the_address(bench: TestClient, asked: str, paper: str) -> None:
    page = bench.get(TICKET + asked).text
    assert f'<body class="ticket paper-{paper}">' in page
    current = re.search(r'paper=(\w+)" aria-current="page"', page)
    assert current
    assert current[1] == paper


def test_the_page_of_the_rod_leads_to_the_ticket_and_back(bench: TestClient) -> None:
    assert f'href="{TICKET}"' in bench.get(f"/builds/{CASTING}").text
    assert f'href="/builds/{CASTING}"' in bench.get(TICKET).text


def test_a_rod_that_is_not_on_file_has_no_ticket(bench: TestClient) -> None:
    assert bench.get("/builds/26-999/ticket").status_code == 404


def test_whoever_is_not_signed_in_is_sent_to_the_door(client: TestClient, hub: Hub, hands: Hands) -> None:
    open_bench(hub, hands)
    assert client.get(TICKET).headers["location"].startswith("/sign-in")
