"""The bench sums in a real browser: typed and answered by keyboard alone, with scripts and without."""

import pytest

from tests.browser.conftest import Windows


def test_a_sum_is_typed_and_answered_with_the_keyboard(windows: Windows, scripts: bool) -> None:
    page = windows.open("/sums/cut-length", width_px=360, scripts=scripts).page
    page.locator("#f-visible").focus()
    page.keyboard.type("3 1/2 in")
    page.keyboard.press("Tab")
    page.keyboard.type("3/8 in")
    page.keyboard.press("Enter")
    page.locator("#answer").wait_for()
    assert page.locator("#answer .figure-value").first.inner_text() == "3 15/16 in"
    assert page.evaluate("document.activeElement.id") == "answer"
    assert page.locator("#answer h2").evaluate("e => e.getBoundingClientRect().top") < 780
    page.go_back()
    assert page.locator("#f-visible").is_visible()
    assert page.locator("#answer").count() == 0


def test_more_rows_keep_what_was_typed(windows: Windows, scripts: bool) -> None:
    page = windows.open("/sums/taper", width_px=360, scripts=scripts).page
    page.get_by_label("Stations, row 1, outside diameter").fill("0.593 in")
    page.get_by_role("button", name="More rows").click()
    page.get_by_label("Stations, row 8, outside diameter").wait_for()
    assert page.get_by_label("Stations, row 1, outside diameter").input_value() == "0.593 in"
    assert page.locator(".error").count() == 0


def test_a_fault_leads_to_its_field(windows: Windows, scripts: bool) -> None:
    page = windows.open("/sums/cut-length", scripts=scripts).page
    page.locator("#f-visible").fill("3.5")
    page.get_by_role("button", name="Work it out").click()
    page.locator(".form-errors a").first.click()
    assert page.locator("#f-visible").input_value() == "3.5"
    assert page.evaluate("document.activeElement.id") == "f-visible"


@pytest.mark.parametrize(
    ("name", "stacked_at"), [("taper", ()), ("glue-joint", (360,)), ("slide-on", (360, 768))]
)
def test_rows_stand_on_their_own_where_their_table_is_too_wide(
    windows: Windows, name: str, stacked_at: tuple[int, ...]
) -> None:
    for width_px in (360, 768, 1280):
        page = windows.open(f"/sums/{name}", width_px=width_px).page
        row = page.locator(".sum-rows tbody tr").first
        is_stacked = width_px in stacked_at
        assert row.evaluate("e => getComputedStyle(e).display") == ("grid" if is_stacked else "table-row")
        assert row.locator(".cell-label").first.is_visible() is is_stacked
        assert page.locator(".sum-rows thead").first.is_visible() is not is_stacked
        assert page.evaluate("document.documentElement.scrollWidth") <= width_px
