"""Every page, on a phone and at the desk, by day and in the dark: nothing for axe-core to find.

The rules are those axe-core tags as WCAG 2.0 to 2.2, A and AA, and its own best practice. Beside them:
nothing sticks out sideways, nothing is asked of another host, and what a gloved hand taps is big enough.
"""

from collections.abc import Iterator
from importlib.resources import files
from itertools import product
from typing import Any

import pytest
from playwright.sync_api import Browser, StorageState

from shop.web.sums import address_of
from tests.browser.conftest import Scheme, Window, Windows
from tests.demo_server import Demo
from tests.house.tree import ROOT
from tests.web.sum_samples import SAMPLES

# CI lays a newer axe-core there; the one that comes with the development tools serves everywhere else.
FRESH_AXE = ROOT / "build" / "axe-core" / "axe.min.js"
AXE = (FRESH_AXE if FRESH_AXE.is_file() else files("axe_playwright_python") / "axe.min.js").read_text("utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RUN_AXE = """async (tags) => {
    const found = await axe.run(document, {runOnly: {type: "tag", values: tags}});
    return found.violations.map(v => ({id: v.id, where: v.nodes.map(n => n.target.join(" ")).slice(0, 5)}));
}"""
TAPPED = "button, nav a, [role=button], input[type=submit], summary"
SMALL_TARGETS = """([tapped, least]) => [...document.querySelectorAll(tapped)]
    .filter(e => e.checkVisibility() && e.getBoundingClientRect().height < least)
    .map(e => `${e.outerHTML.slice(0, 80)}: ${e.getBoundingClientRect().height}`)"""
SIDEWAYS = "document.documentElement.scrollWidth - window.innerWidth"
LEAST_TARGET_PX = 44

SIGNED_IN = ["/", "/setting", "/cup", "/desk", "/shelf", "/ways", "/builds/26-010", "/builds/26-005"]
DEEPER = [
    "/setting?as=table",
    "/desk/finished", "/desk/customers", "/desk/customers/new", "/desk/customers/1", "/desk/enquiries",
    "/desk/enquiries/new", "/builds/26-017/spec", "/builds/26-017/order", "/desk/builds/new",
    "/builds/26-010/edit", "/mixes/1", "/cures/1", "/cures/35", "/events/1", "/shelf/components",
    "/shelf/adhesives",
    "/shelf/blanks/new", "/shelf/blanks/1", "/shelf/components/new", "/shelf/components/1",
    "/shelf/adhesives/new", "/shelf/adhesives/1", "/shelf/ready-made", "/shelf/lots", "/shelf/lots/1",
    "/shelf/lots/8", "/shelf/lots/1/recall", "/shelf/lots/1/edit", "/shelf/lots/new", "/builds/26-005/lots",
    "/shelf/stock", "/shelf/stock/1", "/shelf/purchases", "/shelf/deliveries/1", "/shelf/deliveries/new",
    "/builds/26-016/parts",
    "/builds/26-007/photos",
    "/ways/sequences", "/ways/sequences/1",
    "/ways/sequences/1/stages/6", "/ways/zones", "/ways/zones/1",
    "/ways/zones/1?days=14", "/ways/zones/1/sensors/new", "/ways/sensors/1", "/ways/people", "/ways/keys",
    "/ways/mail", "/ways/mail/kinds/slip", "/ways/mail/trial", "/desk/outbox",
    "/ways/shop", "/ways/taxes", "/ways/quote-terms", "/desk/money", "/builds/26-007/quote",
    "/desk/messages", "/desk/promises", "/builds/26-007/messages", "/builds/26-007/news", "/ways/care-sheet",
    "/builds/26-007/payments",
    "/search?q=cork", "/desk/import",
    "/turner", "/turner/stays/1", "/turner/1/stop", "/ways/turners", "/ways/turners/1",
    "/ways/spine", "/ways/clock", "/ways/you", "/api", "/sums",
    "/sums/quote", "/builds/26-010/ticket", "/labels", "/labels/sheet?numbers=26-010&paper=a4&start=2",
]  # fmt: skip
LOOKS: list[tuple[int, Scheme]] = list(product((360, 1280), ("light", "dark")))
looks = pytest.mark.parametrize(
    ("width", "scheme"), LOOKS, ids=[f"{width}px-{scheme}" for width, scheme in LOOKS]
)


@pytest.fixture(scope="module")
def windows(browser: Browser, demo: Demo, owner: StorageState) -> Iterator[Windows]:
    """Windows that stand open for the whole of this module, whose pages are only looked at."""
    opened = Windows(browser, demo, owner)
    yield opened
    opened.close()


def axe_findings(window: Window) -> list[dict[str, Any]]:
    """What axe-core holds against the page, rule by rule, with where."""
    window.page.evaluate(AXE)
    found: list[dict[str, Any]] = window.page.evaluate(RUN_AXE, TAGS)
    return found


def assert_in_order(window: Window) -> None:
    """The demands that hold for every page."""
    assert axe_findings(window) == []
    assert window.page.evaluate(SIDEWAYS) <= 0
    assert window.page.evaluate(SMALL_TARGETS, [TAPPED, LEAST_TARGET_PX]) == []
    assert window.complaints == []
    assert window.strangers == []


@looks
@pytest.mark.parametrize("path", SIGNED_IN)
def test_a_page_of_the_shop_is_in_order(windows: Windows, path: str, width: int, scheme: Scheme) -> None:
    assert_in_order(windows.turn_to(path, width_px=width, scheme=scheme))


@pytest.mark.parametrize("path", DEEPER)
def test_a_deeper_page_is_in_order_on_a_phone_and_in_the_dark(windows: Windows, path: str) -> None:
    assert_in_order(windows.turn_to(path, width_px=360))
    assert_in_order(windows.turn_to(path, width_px=1280, scheme="dark"))


@pytest.mark.parametrize("name", ["taper", "static-test", "quote"])
def test_an_answer_with_its_rows_is_in_order(windows: Windows, name: str) -> None:
    path = address_of(name, SAMPLES[name])
    for width, scheme in LOOKS:
        window = windows.turn_to(path, width_px=width, scheme=scheme)
        assert window.page.locator("#answer").is_visible()
        assert_in_order(window)


@looks
def test_the_page_of_one_rod_is_in_order(windows: Windows, width: int, scheme: Scheme) -> None:
    link = windows.turn_to("/").page.locator("a[href^='/builds/']").first.get_attribute("href")
    assert link
    assert_in_order(windows.turn_to(link, width_px=width, scheme=scheme))


@looks
def test_the_page_of_the_customer_is_in_order(windows: Windows, width: int, scheme: Scheme) -> None:
    assert_in_order(windows.turn_to(windows.demo.status_link, width_px=width, scheme=scheme, signed_in=False))


@looks
def test_the_page_to_sign_in_is_in_order(windows: Windows, width: int, scheme: Scheme) -> None:
    assert_in_order(windows.turn_to("/", width_px=width, scheme=scheme, signed_in=False))
