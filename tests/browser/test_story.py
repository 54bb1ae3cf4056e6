"""The main job in a real browser: logging a stage and being refused, with scripts, without, by keyboard."""

import pytest

from tests.browser.conftest import Windows

NEXT = "#next form[action$='/advance']"


def free_rod(windows: Windows, scripts: bool) -> str:
    """The path of a rod that may be touched now and whose next stage asks for nothing."""
    window = windows.open("/", scripts=scripts)
    links = window.page.locator("section[aria-labelledby=h-free] .rod-name a")
    paths = [str(links.nth(place).get_attribute("href")) for place in range(links.count())]
    assert paths, "nothing is free"
    for path in paths:
        page = windows.open(path, scripts=scripts).page
        if page.locator(f"{NEXT} input[type=checkbox], {NEXT} select").count() == 0:
            return path
    raise AssertionError("every free rod asks for something")


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_a_stage_is_logged_in_two_taps(windows: Windows, scripts: bool) -> None:
    path = free_rod(windows, scripts)
    page = windows.open(path, width_px=768, scripts=scripts).page
    stage = page.locator("#h-next").inner_text().removeprefix("Next: ")
    page.locator(f"{NEXT} button.big").click()
    page.locator("#notice .notice").wait_for()
    assert page.locator("#notice").inner_text().strip() == f"Logged: {stage}."
    done = page.locator(".stage.done .stage-name").all_inner_texts()
    assert any(name.startswith(stage) for name in done)


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_a_joint_that_has_not_set_refuses_the_next_one(windows: Windows, scripts: bool) -> None:
    page = windows.open("/", scripts=scripts).page
    page.locator("section[aria-labelledby=h-curing] .rod-name a").first.click()
    page.wait_for_load_state()
    hold = page.locator(".hold.chemistry").first
    assert "until" in hold.inner_text()
    assert "Nobody may wave it through" in hold.inner_text()
    page.locator("#next details.more > summary", has_text="Log work that was done earlier").click()
    page.locator(f"{NEXT} button", has_text="Log:").click()
    page.locator(".form-errors").wait_for()
    assert page.locator(".form-errors").count() == 1
    assert page.locator(".hold.chemistry").count() >= 1


def test_a_stage_is_logged_with_the_keyboard_alone(windows: Windows) -> None:
    path = free_rod(windows, scripts=False)
    page = windows.open(path, scripts=False).page
    wanted = page.locator(f"{NEXT} button.big").inner_text()
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.innerText") == wanted:
            break
    else:
        raise AssertionError("the big button cannot be reached with the keyboard")
    page.keyboard.press("Enter")
    page.locator("#notice .notice").wait_for()
    assert page.locator("#notice").inner_text().strip().startswith("Logged:")


def test_the_customer_sees_their_rod_and_nothing_else(windows: Windows) -> None:
    path = windows.demo.status_link.removeprefix(windows.demo.address)
    window = windows.open(path, width_px=360, scripts=False, signed_in=False)
    assert window.page.locator("h1").inner_text() == "News of your rod"
    assert window.page.locator(".stage.done").count() >= 3
    assert window.page.locator("nav").count() == 0
    assert window.complaints == []
    assert window.strangers == []


def test_with_scripts_a_form_is_answered_without_loading_the_page_anew(windows: Windows) -> None:
    page = windows.open(free_rod(windows, scripts=True)).page
    page.evaluate("window.sameWindow = true")
    page.locator(f"{NEXT} button.big").click()
    page.locator("#notice .notice").wait_for()
    assert page.evaluate("window.sameWindow") is True
    assert page.locator("main").count() == 1
