"""A real Chromium and a running demo shop, shared by the tests of this folder.

Without Chromium the tests are skipped with the reason on a person's machine and fail in CI. What a page
must show is left to the tests.
"""

import os
import shutil
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, StorageState, sync_playwright

from tests.demo_server import Demo, demo_server

HERE = Path(__file__).parent
CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
# Everything by which Chromium talks to its maker at start is off: the tests watch for other hosts.
CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
HEIGHT_PX = {360: 780, 768: 1024, 1280: 800}
Scheme = Literal["light", "dark"]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of this folder, so that `-m 'not browser'` leaves them out."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="package")
def chromium() -> str:
    """The path of the browser on this machine."""
    found = next(filter(None, map(shutil.which, CHROMIUM_NAMES)), None)
    if found is None:
        reason = f"no browser: none of {', '.join(CHROMIUM_NAMES)} is installed"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    return found


@pytest.fixture(scope="package")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Demo]:
    """The demo shop, served from this checkout until the folder's last test is done."""
    root = str(HERE.parents[1])
    surroundings = {**os.environ, "PYTHONPATH": root}
    with demo_server(
        [sys.executable, "-m", "shop"], tmp_path_factory.mktemp("demo"), surroundings
    ) as running:
        yield running


@pytest.fixture(scope="package")
def browser(chromium: str) -> Iterator[Browser]:
    """One Chromium for all tests of the folder."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=CHROMIUM_FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="package")
def owner(browser: Browser, demo: Demo) -> StorageState:
    """The cookies of the demo's owner, signed in once through the page with scripts off."""
    context = browser.new_context(java_script_enabled=False, base_url=demo.address)
    page = context.new_page()
    page.goto("/")
    page.locator("input[type=password]").fill(demo.password)
    page.locator("form:has(input[type=password]) input[name=name]").fill(demo.name)
    page.locator("form:has(input[type=password]) button").click()
    assert page.locator("input[type=password]").count() == 0, f"{demo.name} could not sign in"
    state = context.storage_state()
    context.close()
    return state


@dataclass
class Window:
    """One open page, with what it complained of and every address outside the shop that it asked for."""

    page: Page
    complaints: list[str] = field(default_factory=list)
    strangers: list[str] = field(default_factory=list)


@dataclass
class Windows:
    """Opens windows as one person would have them and closes them all at the end of a test."""

    browser: Browser
    demo: Demo
    owner: StorageState
    _contexts: list[BrowserContext] = field(default_factory=list)
    _standing: dict[bool, Window] = field(default_factory=dict)

    def open(
        self,
        path: str,
        *,
        width_px: int = 1280,
        scheme: Scheme = "light",
        scripts: bool = True,
        signed_in: bool = True,
    ) -> Window:
        """Open a path of the shop and wait until it has loaded; any status but 200 fails the test."""
        window = self._new_window(width_px, scheme, scripts, signed_in)
        go(window, path)
        return window

    def turn_to(
        self, path: str, *, width_px: int = 1280, scheme: Scheme = "light", signed_in: bool = True
    ) -> Window:
        """As `open` does, but in the window that the call before it left: that takes half as long.

        For pages that are only looked at, since the window keeps what a page has told it to remember.
        """
        window = self._standing.get(signed_in)
        if window is None:
            window = self._standing[signed_in] = self._new_window(width_px, scheme, True, signed_in)
        if "#" in path:
            # Otherwise the same address with another place on the page is not loaded anew.
            window.page.goto("about:blank")
        window.complaints.clear()
        window.strangers.clear()
        window.page.set_viewport_size({"width": width_px, "height": HEIGHT_PX[width_px]})
        window.page.emulate_media(color_scheme=scheme)
        go(window, path)
        return window

    def close(self) -> None:
        """Close every window opened so far."""
        for context in self._contexts:
            context.close()

    def _new_window(self, width_px: int, scheme: Scheme, scripts: bool, signed_in: bool) -> Window:
        context = self.browser.new_context(
            base_url=self.demo.address,
            viewport={"width": width_px, "height": HEIGHT_PX[width_px]},
            color_scheme=scheme,
            java_script_enabled=scripts,
            storage_state=self.owner if signed_in else None,
            reduced_motion="reduce",
        )
        self._contexts.append(context)
        window = Window(context.new_page())
        self._watch(window)
        return window

    def _watch(self, window: Window) -> None:
        page, inside = window.page, (self.demo.address, "data:", "about:", "blob:")
        page.on("pageerror", lambda error: window.complaints.append(str(error)))
        page.on(
            "console",
            lambda said: window.complaints.append(said.text) if said.type in {"error", "warning"} else None,
        )
        page.on(
            "request",
            lambda asked: None if asked.url.startswith(inside) else window.strangers.append(asked.url),
        )


def go(window: Window, path: str) -> None:
    """Load a path and wait until it has loaded; any status but 200 fails the test."""
    answer = window.page.goto(path, wait_until="load")
    assert answer is not None, f"{path} gave no answer"
    assert answer.status == 200, f"{path} gave {answer.status}"


@pytest.fixture
def windows(browser: Browser, demo: Demo, owner: StorageState) -> Iterator[Windows]:
    """A way to open pages of the demo shop at any width, in either scheme, with scripts or without."""
    opened = Windows(browser, demo, owner)
    yield opened
    opened.close()


@pytest.fixture(params=sorted(HEIGHT_PX), ids=lambda width: f"{width}px")
def width_px(request: pytest.FixtureRequest) -> int:
    """The three widths the shop is promised to work at: a phone, the tablet on the wall, a desk."""
    width: int = request.param
    return width


@pytest.fixture(params=[True, False], ids=["scripts", "no-scripts"])
def scripts(request: pytest.FixtureRequest) -> bool:
    """With scripts and without."""
    on: bool = request.param
    return on
