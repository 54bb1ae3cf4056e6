"""The people of an order in `test_order`: each at a screen of their own, and what goes between them."""

import re
import time
from dataclasses import dataclass
from typing import Any

import httpx
from playwright.sync_api import Browser, Locator, expect

from tests.api.filled import ZONE
from tests.browser.order_shop import KEY, ROD, Shop
from tests.conftest import PASSWORD, Hands
from tests.mail_server import Arrived, PostOffice

HEIGHT_PX = {360: 780, 768: 1024, 1280: 800}
SIDEWAYS = "document.documentElement.scrollWidth - window.innerWidth"
MOST_TABS = 150
# Only ever waited out where something does not come at all.
PATIENCE_MS = 20_000
BEARER = {"Authorization": f"Bearer {KEY}"}
CUSTOMER, HER_MAIL = "Wanda Rusk", "wanda@example.org"
TITLE = "7 ft spinning, for the river pike"
NAVY, GARNET, MOSS = "#1f4e7a", "#7a1f2b", "#3f6b2a"


class Seat:
    """Somebody at a screen. What they open must answer, fit the screen, and ask nobody else for anything."""

    def __init__(self, browser: Browser, shop: Shop, width_px: int, *, scripts: bool = True) -> None:
        self.width_px = width_px
        self.complaints: list[str] = []
        context = browser.new_context(
            base_url=shop.address, java_script_enabled=scripts, reduced_motion="reduce",
            viewport={"width": width_px, "height": HEIGHT_PX[width_px]},
        )  # fmt: skip
        context.set_default_timeout(PATIENCE_MS)
        self.page = page = context.new_page()
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", lambda asked: self._inside(asked.url, shop.address))

    def _inside(self, url: str, address: str) -> None:
        if not url.startswith((address, "data:", "about:")):
            self.complaints.append(f"asked for {url}")

    def sign_in(self, name: str) -> None:
        """Sign in through the page."""
        self.open("/sign-in")
        self.fill(Name=name, Password=PASSWORD)
        self.press("Sign in", then=name)

    def open(self, address: str) -> str:
        """Open an address; gives the words of the page."""
        answer = self.page.goto(address)
        assert answer is not None
        assert answer.status == 200, f"{address}: {answer.status}"
        return self.looked_at()

    def follow(self, link: str, *, then: str = "") -> str:
        """Follow the first link of that name; gives the words of the page that follows."""
        self.page.get_by_role("link", name=link, exact=True).first.click()
        return self._then(then)

    def press(self, button: str, *, then: str = "", within: str = "body") -> str:
        """Press the first button of that name; gives the words of the page once `then` stands on it."""
        self.page.locator(within).get_by_role("button", name=button, exact=True).first.click()
        return self._then(then)

    def _then(self, then: str) -> str:
        self.page.wait_for_load_state()
        if then:
            expect(self.page.locator("body")).to_contain_text(then, timeout=PATIENCE_MS)
        return self.looked_at()

    def fill(self, **typed: str) -> None:
        """Type into fields by their labels, spaces written as underscores."""
        for label, text in typed.items():
            self.field(label.replace("_", " ")).fill(text)

    def field(self, label: str) -> Locator:
        """The first field of that label; whether it is optional stands in the label too."""
        labelled = self.page.get_by_label(re.compile(rf"^{re.escape(label)}( optional)?$"))
        return self.page.locator("input, select, textarea").and_(labelled).first

    def choose(self, label: str, option: str) -> None:
        """Choose what a list offers by its words."""
        self.field(label).select_option(label=option)

    def tick(self, label: str) -> None:
        """Tick a box or choose one of several by its label."""
        self.page.get_by_label(label, exact=True).first.check()

    def unfold(self, summary: str) -> None:
        """Open what is folded away under these words."""
        self.page.locator("summary", has_text=summary).first.click()

    def looked_at(self) -> str:
        """The words of the page, once it has been looked at."""
        assert self.page.evaluate(SIDEWAYS) <= 0, f"{self.page.url} scrolls sideways at {self.width_px} px"
        assert not self.complaints, self.complaints
        return re.sub(r"\s+", " ", self.page.locator("body").inner_text())

    def tab_to(self, wanted: Locator) -> None:
        """Press Tab until a thing has the focus, as who has no mouse does."""
        for _ in range(MOST_TABS):
            if wanted.evaluate("it => it === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"no Tab leads to {wanted}")


@dataclass
class Order:
    """The people at their screens, and what is between them."""

    shop: Shop
    hands: Hands
    office: PostOffice
    desk: Seat
    bench: Seat
    phone: Seat
    stranger: Seat
    stranger_token: str
    news: str = ""
    photo: str = ""
    quote: str = ""

    @property
    def rod(self) -> str:
        return f"/builds/{ROD}"

    def bench_logs(self, stage: str, *, adhesive: int = 0, place: str = "") -> str:
        """A stage logged at the tablet in one tap, with a cup of an adhesive just mixed; gives the page."""
        if adhesive:
            mix = {"adhesive_id": adhesive, "zone_id": ZONE}
            answer = httpx.post(f"{self.shop.address}/api/v1/mixes", json=mix, headers=BEARER)
            assert answer.status_code == 201, answer.text
        self.bench.open(self.rod)
        if place:
            self.bench.field(f"Mix used at the {place}").select_option(index=1)
        return self.bench.press(f"Log: {stage}", then=f"Logged: {stage}.")

    def news_after(self, heading: str) -> str:
        """What the customer's page says from some words on."""
        shown = self.phone.open(self.news)
        assert heading in shown
        return shown.partition(heading)[2]

    def mails(self, about: str, many: int = 1) -> list[Arrived]:
        """The mails that have come whose subject begins so; waits until there are so many."""
        until = time.monotonic() + PATIENCE_MS / 1000
        while time.monotonic() < until:
            subjects = [(mail, str(mail.message["Subject"])) for mail in self.office.arrived]
            found = [mail for mail, subject in subjects if subject.startswith(about)]
            if len(found) >= many:
                return found
            time.sleep(0.05)
        raise AssertionError(f"no mail “{about}” has come: {self.office.arrived}")

    def api(self, call: str) -> Any:
        """What a call of the API answers, items of a list without their frame."""
        answer = httpx.get(f"{self.shop.address}/api/v1{call}", headers=BEARER)
        assert answer.status_code == 200, answer.text
        said = answer.json()
        return said.get("items", said)

    def notes(self, kind: str) -> list[str]:
        """What the record says of a kind of event, in its order."""
        return [event["note"] for event in self.api(f"{self.rod}/events") if event["kind"] == kind]


def token_of(address: str) -> str:
    return address.rpartition("/")[2]


def link_in(mail: Arrived, room: str) -> str:
    """The address of a customer's page in a mail, the same in both of its texts."""
    found = re.search(rf"http\S+{room}\S+", mail.part("plain"))
    assert found is not None
    assert f'href="{found[0]}"' in mail.part("html")
    return found[0]
