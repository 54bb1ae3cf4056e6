"""A logger's file in a real browser, with scripts and without: looked at, put right, taken in."""

from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import FilePayload

from tests.browser.conftest import Windows
from tests.browser.test_accessibility import SIDEWAYS, axe_findings

ZONE = "/ways/zones/2"


def lines(days_ago: int) -> str:
    """A file of two readings so long ago; the demo goes by the machine's own clock."""
    day = datetime.now(UTC).date() - timedelta(days=days_ago)
    return f"time;temperature °C\n{day} 08:00;18,5\n{day} 08:30;19\n"


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_a_file_is_put_right_and_taken_in(windows: Windows, scripts: bool) -> None:
    window = windows.open(ZONE, width_px=360, scripts=scripts)
    page = window.page
    name = "later.csv" if scripts else "sooner.csv"

    def choose(text: str) -> None:
        file = FilePayload(name=name, mimeType="text/csv", buffer=text.encode())
        page.locator("input[type=file]").set_input_files([file])
        page.get_by_role("button", name="Look at it").click()

    choose(lines(9) + "03/04/2026 08:30;20\n")
    assert "may mean day and month" in page.locator("table").inner_text()
    if scripts:
        assert axe_findings(window) == []
    assert page.evaluate(SIDEWAYS) <= 0
    choose(lines(9 if scripts else 10))
    assert name in page.locator("dl.facts").inner_text()
    if scripts:
        assert axe_findings(window) == []
    assert page.evaluate(SIDEWAYS) <= 0
    page.get_by_role("button", name="Take it in").click()
    assert "readings are taken in" in page.locator("#notice").inner_text()
    assert page.url.endswith(ZONE)
