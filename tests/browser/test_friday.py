"""A whole Friday at the bench, and the weekend after it, in a real browser with scripts off.

A coat past its window, a turner that stops, one cup for six rods, places closed late, a cold night that a
logger remembers, a tacky puddle, a mix under suspicion; and then the record, which must tell it truthfully.
The shop is a real server in this process, whose clock is moved by hand.
"""

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import Browser, Page

from shop.craft.quantities import parse_quantity
from shop.rules.facts import Tick
from shop.rules.people import Role
from shop.services.builds import take_on_build
from shop.services.cures import close_cure
from shop.services.events import Logged, advance
from shop.services.lots import add_lot
from shop.services.mixes import make_mix
from shop.services.sensors import add_sensor
from shop.services.tokens import hash_of, new_token
from shop.services.turners import add_turner
from shop.services.users import add_user, start_session
from shop.web.deps import Hub
from tests.api.filled import BOND, CUSTOMER, FINISH, SEQUENCE, ZONE, fill
from tests.conftest import PASSWORD, Hands
from tests.live_server import served
from tests.lot_shop import bench_at

SIX = [f"26-00{number}" for number in range(1, 7)]
COATED = "26-007"
FRIDAY = datetime(2026, 3, 6, 8, 0, tzinfo=UTC)


def at(hub: Hub, hands: Hands, when: datetime) -> None:
    """Let time pass up to an instant, as it should."""
    hands.forward(seconds=(when - hands.wall_at).total_seconds())
    assert hub.clock.now() == when
    assert not hub.clock.doubt


def log(hub: Hub, hands: Hands, number: str, to: str, **said: object) -> None:
    with hub.database.writing(hands.wall_at) as session:
        advance(session, number, bench_at(session, hands.wall_at), Logged(to, **said))  # type: ignore[arg-type]


def close(hub: Hub, hands: Hands, number: str, place: str, adhesive_id: int) -> None:
    with hub.database.writing(hands.wall_at) as session:
        bench = bench_at(session, hands.wall_at)
        mix = make_mix(session, bench, adhesive_id=adhesive_id, zone_id=ZONE, mixed_at=None)
        close_cure(session, bench, mix.id, build=number, place=place, closed_at=None)


def fill_the_week(hub: Hub, hands: Hands) -> None:
    """Six rods whose grips fit, and one whose first coat was laid on Thursday at nine."""
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
        add_turner(session, now=hands.wall_at, name="long turner", places=4, check_minutes=120, zone_id=ZONE)
        add_sensor(session, now=hands.wall_at, zone_id=ZONE, name="loft logger")
        for number in range(7):
            take_on_build(
                session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER,
                title=f"7 ft casting, {number + 1}", rod_kind="casting", sequence_id=SEQUENCE,
            )  # fmt: skip
    for rod in (*SIX, COATED):
        log(hub, hands, rod, "agreed")
        log(hub, hands, rod, "fitted", measured={"rear bore": parse_quantity("12 mm")})
    close(hub, hands, COATED, "rear grip", BOND)
    log(hub, hands, COATED, "grip glued")
    hands.forward(hours=11)
    close(hub, hands, COATED, "reel seat", BOND)
    log(hub, hands, COATED, "seat glued", ticks=(Tick("orientation", "Ada"),))
    at(hub, hands, FRIDAY - timedelta(hours=23))
    log(hub, hands, COATED, "hard")
    close(hub, hands, COATED, "guide wraps", FINISH)
    log(hub, hands, COATED, "first coat")
    with hub.database.writing(hands.wall_at) as session:
        for part, lot in (("A", "R-118"), ("B", "H-20")):
            add_lot(
                session, bench_at(session, hands.wall_at), adhesive_id=BOND, part=part, number=lot,
                received_on=date(2026, 2, 2), use_by=date(2026, 12, 31),
            )  # fmt: skip


@pytest.fixture
def shop(hub: Hub, hands: Hands, browser: Browser) -> Iterator[Page]:
    """A page at which the owner sits; on Friday morning at eight."""
    fill_the_week(hub, hands)
    at(hub, hands, FRIDAY)
    token = new_token()
    with hub.database.writing(hands.wall_at) as session:
        owner = add_user(
            session, hub.passwords, now=hands.wall_at, name="Maren", role=Role.OWNER, password=PASSWORD
        )
        start_session(session, now=hands.wall_at, user_id=owner.id, token_hash=hash_of(token))
    with served(hub) as address:
        context = browser.new_context(base_url=address, java_script_enabled=False)
        context.add_cookies([{"name": "tackfree", "value": token, "url": address}])
        yield context.new_page()
        context.close()


def words(page: Page) -> str:
    return re.sub(r"\s+", " ", page.locator("main").inner_text())


def press(page: Page, button: str) -> str:
    """Press the first button of that name; gives the words of the page that follows."""
    page.get_by_role("button", name=button).first.click()
    return words(page)


def opened(page: Page, address: str) -> str:
    answer = page.goto(address)
    assert answer is not None
    assert answer.status == 200, f"{address}: {answer.status}"
    return words(page)


def start_cup(page: Page, adhesive: int, rods: list[str], place: str, **stated: str) -> str:
    """Choose a product, its lots and the rods, and start the cup; gives the words of its closing."""
    opened(page, f"/cup?adhesive_id={adhesive}&zone_id={ZONE}")
    for part in ("a", "b"):
        choices = page.locator(f"[name=lot_{part}_id] option")
        if choices.count() > 1:
            page.select_option(f"[name=lot_{part}_id]", index=1)
    for rod in rods:
        page.locator(f'[name=serve][value="{rod} {place}"]').check()
    for name, value in stated.items():
        page.fill(f"[name={name}]", value)
    press(page, "Work out the cup")
    return press(page, "Mixed just now")


def a_coat_past_its_window(page: Page) -> None:
    shown = opened(page, f"/builds/{COATED}")
    assert "The recoat window of the Stillwater at the guide wraps has shut: wash, scuff and wipe it" in shown
    assert "When was it closed?" in start_cup(page, FINISH, [COATED], "guide wraps")
    assert "Closed: " not in press(page, "That is how it was")
    opened(page, f"/builds/{COATED}")
    assert "Next: second coat" in press(page, "Log: second coat")
    page.locator('[name="check-prep"]').check()
    assert "Next: handed over" in press(page, "Log: second coat")
    opened(page, "/turner")
    rod = page.locator("[name=rod] option", has_text=COATED).first.get_attribute("value")
    page.select_option("[name=rod]", rod)
    page.select_option("[name=place]", index=1)
    assert COATED in press(page, "Put on")


def a_turner_that_stops(page: Page) -> None:
    opened(page, "/turner")
    page.get_by_role("link", name="It stands still").click()
    page.locator('[name=ago][value="30"]').check()
    page.fill("[name=note]", "The breaker tripped.")
    stopped = press(page, "It stands still")
    assert "Turn by hand now, in this order" in stopped
    assert COATED in stopped
    press(page, "Turned by hand")
    assert "Inspect the coat of these" in press(page, "It turns again")
    held = opened(page, f"/builds/{COATED}")
    assert "turner" in held
    opened(page, "/turner")
    page.get_by_role("link", name=f"Inspect {COATED}").click()
    page.locator('[name=outcome][value="good"]').check()
    press(page, "Note it")


def one_cup_for_six(page: Page, hands: Hands) -> str:
    """One cup for six rods, closed late and one by one; gives the mix's id."""
    asked = start_cup(page, BOND, SIX, "rear grip", volume_ml="24", minutes="20")
    assert all(rod in asked for rod in SIX)
    hands.forward(minutes=24)
    mix = page.url.split("/")[-2]
    opened(page, f"/mixes/{mix}/closing")
    answers = [
        "Closed now",
        "Closed now",
        "10 minutes",
        "10 minutes",
        "20 minutes",
        "Some other minutes",
    ]
    for position, answer in enumerate(answers):
        question = page.locator(".closing").nth(position)
        question.locator("label", has_text=answer).first.locator("input").check()
    page.locator(".closing").nth(5).locator("[name^=ago_]").fill("15")
    press(page, "That is how it was")
    for rod in SIX:
        opened(page, f"/builds/{rod}")
        assert "Next: seat glued" in press(page, "Log: grip glued")
    closed = opened(page, f"/mixes/{mix}/closing")
    assert [closed.count(f"rear grip {when}") for when in ("15:54", "15:44", "15:34", "15:39")] == [
        2,
        2,
        1,
        1,
    ]
    return mix


def a_cold_night(page: Page, tmp_path: Path) -> None:
    """By the assumed 20 °C the grips set at two in the night; the logger says how cold it was."""
    assert "has not set" not in opened(page, f"/builds/{SIX[0]}")
    # A thermometer in the loft says otherwise: ten degrees from six in the evening on.
    rows = ["time;temperature"]
    moment = FRIDAY + timedelta(hours=7)
    while moment <= FRIDAY + timedelta(hours=24):
        cold = FRIDAY + timedelta(hours=10) <= moment
        rows.append(f"{moment:%Y-%m-%dT%H:%M:%SZ};{'10,4' if cold else '20,1'}")
        moment += timedelta(minutes=15)
    file = tmp_path / "loft.csv"
    file.write_text("\n".join(rows) + "\n")
    opened(page, f"/ways/zones/{ZONE}")
    page.set_input_files("[name=file]", file)
    page.locator("form[enctype] [name=sensor]").select_option(label="loft logger")
    looked = press(page, "Look at it")
    assert "Nothing is stored yet" in looked
    assert "10.4 °C" in looked
    press(page, "Take it in")
    shown = opened(page, f"/builds/{SIX[0]}")
    assert "The Riverbed at the rear grip has not set." in shown


def a_tacky_puddle_and_a_suspicion(page: Page, mix: str) -> None:
    assert "due now" in opened(page, f"/mixes/{mix}")
    press(page, "Tacky")
    assert "tacky" in opened(page, f"/builds/{SIX[3]}")
    opened(page, f"/mixes/{mix}")
    page.locator('[name=suspect_choice][value="tacky puddle"]').check()
    held = press(page, "Hold every rod that carries this mix")
    assert all(rod in held for rod in SIX)
    page.locator('[name=verdict][value="wait"]').check()
    page.locator('[name=wait][value="soon"]').check()
    page.fill("[name=verdict_reason]", "A cold night; it may only be late.")
    assert "The verdict so far is to wait" in press(page, "Give the verdict")


def found_firm_after_all(page: Page, mix: str) -> None:
    opened(page, f"/mixes/{mix}")
    press(page, "Firm")
    opened(page, f"/mixes/{mix}")
    page.locator('[name=verdict][value="good"]').check()
    page.fill("[name=verdict_reason]", "Firm, and no dent at a hidden edge.")
    press(page, "Give the verdict")


def record(page: Page, rod: str) -> list[str]:
    """The lines of a rod's record from the first on: what happened, and what was said of it."""
    opened(page, f"/builds/{rod}")
    lines = page.locator("ol.record > li > div").all()
    told = [line.locator("p:not(.by)").all_inner_texts() for line in reversed(lines)]
    return [": ".join(part.strip() for part in line) for line in told]


SIXTH = [
    "agreed",
    "fitted: rear bore: 15/32 in (12 mm)",
    "cup mixed: Riverbed mixed for the rear grip, from lots A R-118 and B H-20.",
    "closed: Riverbed closed at the rear grip.",
    "grip glued",
    "puddle touched: The puddle of the Riverbed was found tacky.",
    "under suspicion: The mix of Riverbed is under suspicion: tacky puddle.",
    "verdict: The mix of Riverbed stays under suspicion; wait, then look again: A cold night; it may only be "
    "late. To be looked at again 02:00.",
    "puddle touched: The puddle of the Riverbed was found firm.",
    "verdict: The mix of Riverbed is judged good: Firm, and no dent at a hidden edge.",
]
TURNED = [
    "first coat",
    "cup mixed: Stillwater mixed for the guide wraps.",
    "closed: Stillwater closed at the guide wraps.",
    "second coat: prep ticked by Maren",
    "turner: Put on long turner, place 1: the whole rod.",
    "turner: long turner stood still (The breaker tripped) with the whole rod wet on it, place 1: turn it by "
    "hand, then inspect the coat.",
    "turner: Turned by hand while long turner stands still: the whole rod.",
    "turner: long turner turns again; it stood still for 30 min.",
    "turner: The coat of the whole rod was inspected after the stop of long turner: good.",
]


def test_a_whole_friday(shop: Page, hub: Hub, hands: Hands, tmp_path: Path) -> None:
    a_coat_past_its_window(shop)
    at(hub, hands, FRIDAY + timedelta(hours=2))
    a_turner_that_stops(shop)
    at(hub, hands, FRIDAY + timedelta(hours=7, minutes=30))
    mix = one_cup_for_six(shop, hands)
    at(hub, hands, FRIDAY + timedelta(hours=24))
    a_cold_night(shop, tmp_path)
    at(hub, hands, FRIDAY + timedelta(hours=36))
    a_tacky_puddle_and_a_suspicion(shop, mix)
    at(hub, hands, FRIDAY + timedelta(hours=43))
    found_firm_after_all(shop, mix)
    assert record(shop, SIX[5]) == SIXTH
    assert record(shop, COATED)[-len(TURNED) :] == TURNED
