"""Moments in a real browser: called at their instant by line, tone and notification, until they are seen.

The page's clock is moved by hand: timers, `performance.now` and the instant that the server wrote into the
page. What the page makes sound with is counted by wrapping it; the sound itself nobody hears here.
"""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import Window, Windows
from tests.browser.test_accessibility import assert_in_order

COUNTING = """(() => {
    window.waves = 0;
    window.told = [];
    const make = AudioContext.prototype.createOscillator;
    AudioContext.prototype.createOscillator = function () { window.waves += 1; return make.call(this); };
    const Real = window.Notification;
    window.Notification = class {
        constructor(title, more) { window.told.push([title, more.body, more.tag]); }
    };
    for (const name of ["permission", "requestPermission"])
        Object.defineProperty(window.Notification, name, { get: () =>
            name === "permission" ? Real.permission : () => Real.requestPermission() });
})()"""
# A tone is two waves, one after the other.
WAVES_A_TONE = 2
SECOND, MINUTE = 1000, 60_000
# The first moment to come that sounds, and the server's instant moved to so long before it.
BEFORE_NEXT = """(ms) => {
    const line = document.querySelector("#moments .coming [data-sounds]");
    const strip = document.getElementById("moments");
    strip.dataset.now = new Date(Date.parse(line.dataset.at) - ms).toISOString();
    document.dispatchEvent(new Event("htmx:after:swap"));
    return [line.dataset.moment, line.querySelector("a").textContent];
}"""


def abort(route: Route) -> None:
    """The shop's computer out of reach, as for a tablet behind a broken switch."""
    route.abort()


@pytest.fixture
def counted(windows: Windows) -> Iterator[Window]:
    """In hand with everything counted and the clock in the test's hands."""
    window = windows.open("/")
    window.page.clock.install()
    window.page.add_init_script(COUNTING)
    window.page.reload()
    yield window
    assert [words for words in window.complaints if "AudioContext" not in words] == []


def tones(page: Page) -> int:
    waves: int = page.evaluate("window.waves")
    return waves // WAVES_A_TONE


def told(page: Page) -> list[Any]:
    found: list[Any] = page.evaluate("window.told")
    return found


def sound_on(page: Page) -> None:
    page.locator("#alarm-sound").click()
    expect(page.locator("#alarm-says")).to_contain_text("Sound is on.")


def keys(page: Page) -> list[str]:
    """The keys of the moments that have come, as the page shows them."""
    found: list[str] = page.locator("#moments .moment").evaluate_all("all => all.map(e => e.dataset.moment)")
    return found


def called(page: Page) -> Any:
    return page.locator("[role=alert] .moment")


def test_a_moment_is_shown_and_sounded_at_its_instant_and_repeated_for_ten_minutes(counted: Window) -> None:
    page = counted.page
    sound_on(page)
    assert tones(page) == 1
    page.route("**/", abort)
    key, who = page.evaluate(BEFORE_NEXT, 3 * SECOND)
    page.clock.run_for(2 * SECOND)
    assert (called(page).count(), tones(page)) == (0, 1)
    page.clock.run_for(2 * SECOND)
    line = page.locator(f"[role=alert] [data-moment={key}]")
    expect(line).to_be_visible()
    assert who in line.inner_text()
    assert tones(page) == 2
    page.clock.run_for(28 * SECOND)
    assert tones(page) == 2
    page.clock.run_for(3 * SECOND)
    assert tones(page) == 3
    counted.complaints.clear()
    page.clock.run_for(15 * MINUTE)
    assert 19 <= tones(page) - 1 <= 21
    expect(line).to_be_visible()
    # What could not be fetched meanwhile is complained of, and rightly.
    counted.complaints.clear()


def test_seen_takes_it_off_silences_it_and_a_reload_keeps_it_so(counted: Window) -> None:
    page = counted.page
    sound_on(page)
    first, *rest = keys(page)
    assert rest
    page.locator(f"#seen-{first}").click()
    expect(page.locator(f"#moments [data-moment={first}]")).to_have_count(0)
    assert keys(page) == rest
    expect(page.locator("#h-moments")).to_be_focused()
    key, _ = page.evaluate(BEFORE_NEXT, 0)
    page.clock.run_for(SECOND)
    assert key in keys(page)
    before = tones(page)
    page.locator(f"#seen-{key}").click()
    expect(called(page)).to_have_count(0)
    page.clock.run_for(40 * SECOND)
    assert tones(page) == before
    page.reload()
    assert keys(page) == rest
    page.locator("#h-moments").click()
    expect(page.locator("#alarm-says")).to_contain_text("Sound is on.")


def test_on_waking_all_that_has_come_is_shown_at_once(counted: Window) -> None:
    page = counted.page
    page.route("**/", abort)
    page.evaluate(BEFORE_NEXT, 3 * SECOND)
    ahead = page.locator("#moments .coming [data-moment]").evaluate_all("all => all.map(e => e.dataset.at)")
    assert ahead
    page.clock.fast_forward("13:00:00")
    expect(page.locator("#moments .coming [data-moment]")).to_have_count(0)
    assert called(page).count() >= len(ahead)
    counted.complaints.clear()


def test_without_sound_it_says_so_and_is_silent(counted: Window) -> None:
    page = counted.page
    expect(page.locator("#alarm-says")).to_have_text(
        "Sound is off on this tablet: what comes is only shown here."
    )
    page.evaluate(BEFORE_NEXT, 0)
    page.clock.run_for(SECOND)
    assert (called(page).count() > 0, tones(page), told(page)) == (True, 0, [])


def test_a_notification_comes_once_for_a_moment_and_names_rod_and_place(counted: Window) -> None:
    page = counted.page
    page.context.grant_permissions(["notifications"])
    page.locator("#alarm-notify").click()
    expect(page.locator("#alarm-says")).to_contain_text("Notifications are on.")
    assert told(page) == []
    key, who = page.evaluate(BEFORE_NEXT, 0)
    page.clock.run_for(10 * SECOND)
    assert (who, key) in [(title, tag) for title, _, tag in told(page)]
    assert all(body for _, body, _ in told(page))
    assert len({tag for *_, tag in told(page)}) == len(told(page))
    page.reload()
    page.evaluate(BEFORE_NEXT, 0)
    page.clock.run_for(10 * SECOND)
    assert key in keys(page)
    assert told(page) == []


def test_where_they_are_denied_there_are_no_notifications(counted: Window) -> None:
    page = counted.page
    page.context.clear_permissions()
    page.evaluate("window.Notification.requestPermission")
    page.locator("#alarm-notify").click()
    expect(page.locator("#alarm-notes")).to_contain_text("does not allow notifications")
    page.evaluate(BEFORE_NEXT, 0)
    page.clock.run_for(SECOND)
    assert called(page).count() > 0
    assert told(page) == []


def test_time_that_only_the_wall_clock_saw_has_passed(counted: Window) -> None:
    """A tablet's steady clock may stand still in its sleep."""
    page = counted.page
    page.route("**/", abort)
    page.evaluate(BEFORE_NEXT, 60 * MINUTE)
    page.clock.run_for(2 * SECOND)
    assert called(page).count() == 0
    page.evaluate("(ms) => { const was = Date.now; Date.now = () => was() + ms; }", 61 * MINUTE)
    page.clock.run_for(2 * SECOND)
    assert called(page).count() > 0
    counted.complaints.clear()


def test_after_sleep_the_server_is_asked_until_it_answers(counted: Window) -> None:
    page = counted.page
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.route("**/", abort)
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    for times in (2, 3):
        page.clock.run_for(6 * SECOND)
        page.wait_for_timeout(200)
        assert len(asked) >= times
    page.unroute("**/")
    with page.expect_response("**/"):
        page.clock.run_for(6 * SECOND)
    page.wait_for_timeout(500)
    asked.clear()
    page.clock.run_for(20 * SECOND)
    page.wait_for_timeout(200)
    assert asked == []
    counted.complaints.clear()


@pytest.mark.parametrize("kept", ["{oops", "null", '{"a": 1}'])
def test_what_the_tablet_kept_may_be_spoilt(counted: Window, kept: str) -> None:
    page = counted.page
    page.context.grant_permissions(["notifications"])
    page.evaluate("(kept) => localStorage.setItem('tackfree-notified', kept)", kept)
    key, _ = page.evaluate(BEFORE_NEXT, 0)
    page.clock.run_for(2 * SECOND)
    assert key in [tag for *_, tag in told(page)]


def test_the_focus_outlasts_a_refresh(counted: Window) -> None:
    page = counted.page
    link = page.locator("#in-hand .rod-row .rod-name a").first
    link.focus()
    name = link.get_attribute("id")
    with page.expect_response("**/"):
        page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    page.wait_for_timeout(500)
    assert page.evaluate("document.activeElement.id") == name


def test_all_seen_also_takes_what_was_called_since_the_page_was_made(counted: Window) -> None:
    page = counted.page
    key, _ = page.evaluate(BEFORE_NEXT, 0)
    page.clock.run_for(SECOND)
    at = page.locator(f"#moments [data-moment={key}]").get_attribute("data-at") or ""
    sent = page.locator("#moments-all [name=all]").input_value()
    assert datetime.fromisoformat(sent) >= datetime.fromisoformat(at)
    assert page.locator(f"#moments [data-moment={key}] [name=key]").input_value() == f"{key}@{at}"


@pytest.mark.parametrize(("width", "scheme"), [(360, "light"), (1280, "dark")])
def test_a_full_strip_is_in_order(windows: Windows, width: int, scheme: Any) -> None:
    window = windows.open("/", width_px=width, scheme=scheme)
    window.page.locator("#alarm").evaluate("panel => { panel.open = true; }")
    window.page.evaluate(BEFORE_NEXT, -11 * 60 * MINUTE)
    assert called(window.page).count() > 0
    assert_in_order(window)


def test_with_scripts_off_the_strip_is_there_and_seen_is_a_plain_form(windows: Windows) -> None:
    page = windows.open("/", scripts=False).page
    assert page.locator("#alarm").is_hidden()
    first, *rest = keys_without_scripts(page)
    page.locator(f"#seen-{first}").click()
    assert page.url.endswith("/")
    assert keys_without_scripts(page) == rest


def keys_without_scripts(page: Page) -> list[str]:
    lines = page.locator("#moments .moment").all()
    return [line.get_attribute("data-moment") or "" for line in lines]
