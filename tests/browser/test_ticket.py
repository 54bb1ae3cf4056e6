"""The ticket and the labels as they leave the printer: pages counted, sizes measured, codes read back."""

import io
import re

import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from tests.browser.conftest import Windows

# In millimetres, as printed; what the browser rounds is less than one.
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
KINDS = ("casting", "spinning", "fly")
papers = pytest.mark.parametrize("paper", sorted(SIZES))


def printed(windows: Windows, path: str) -> PdfReader:
    """A page as the browser prints it, on the paper that its own style sheet asks for."""
    page = windows.open(path).page
    return PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))


def text_of(pdf: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in pdf.pages).split())


def numbers_of(windows: Windows, kind: str) -> list[str]:
    """The numbers of the demo's open rods of a kind, the soonest promise first."""
    rows = windows.open("/desk").page.locator("tbody tr").all_inner_texts()
    found = [re.match(r"(\d\d-\d{3})", row.strip()) for row in rows if re.search(rf"\b{kind}\s", row)]
    return [match[1] for match in found if match]


def measured_mm(pdf: PdfReader) -> list[tuple[float, float]]:
    return [
        (float(page.mediabox.width) / 72 * 25.4, float(page.mediabox.height) / 72 * 25.4)
        for page in pdf.pages
    ]


@papers
@pytest.mark.parametrize("kind", KINDS)
def test_a_ticket_takes_one_sheet_of_its_paper_printed_on_both_sides(
    windows: Windows, kind: str, paper: str
) -> None:
    numbers = numbers_of(windows, kind)
    assert numbers
    for number in numbers[:2]:
        pdf = printed(windows, f"/builds/{number}/ticket?paper={paper}")
        assert 1 <= len(pdf.pages) <= 2, number
        for wide, tall in measured_mm(pdf):
            assert (wide, tall) == pytest.approx(SIZES[paper], abs=0.6)


@papers
def test_what_the_bench_needs_is_on_the_paper_and_nothing_of_the_screen(windows: Windows, paper: str) -> None:
    number = numbers_of(windows, "casting")[0]
    pdf = printed(windows, f"/builds/{number}/ticket?paper={paper}")
    said = text_of(pdf)
    for words in (
        number, "revision 1 of the make-up", "a later revision makes this sheet stale",
        "from the butt, inches", "from the tip, inches", "rear grip begins", "rear grip shoulder diameter",
        "guide 1 from the tip", "First: rear grip set", "How it faces", "Uncured epoxy and hardener",
        "handed over",
    ):  # fmt: skip
        assert words in said, words
    for words in ("Sign out", "In hand", "Print this page", "Back to the rod"):
        assert words not in said, words


def test_each_page_of_a_ticket_names_its_rod(windows: Windows) -> None:
    number = numbers_of(windows, "casting")[0]
    pages = printed(windows, f"/builds/{number}/ticket").pages
    assert len(pages) == 2
    assert all(number in page.extract_text() for page in pages)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_code_on_the_ticket_is_read_from_the_screen_by_another_reader(
    windows: Windows, scheme: str
) -> None:
    number = numbers_of(windows, "fly")[0]
    page = windows.open(f"/builds/{number}/ticket", scheme="dark" if scheme == "dark" else "light").page
    picture = Image.open(io.BytesIO(page.locator("svg.code").screenshot()))
    assert [code.text for code in zxingcpp.read_barcodes(picture.convert("L"))] == [
        f"{windows.demo.address}/builds/{number}?ticket=1.0"
    ]


def test_the_drawing_is_true_to_scale_in_the_browser(windows: Windows) -> None:
    """The reel seat is as long, for the rod, as its two marks say."""
    number = numbers_of(windows, "spinning")[0]
    page = windows.open(f"/builds/{number}/ticket").page
    drawing = page.locator("svg.scale").first
    cells = page.locator("tr", has_text="reel seat").first.locator("td").all_inner_texts()
    begins, ends = (float(re.search(r"\(([\d.]+)\)", cell)[1]) for cell in cells)  # type: ignore[index]
    length = float(re.search(r"\(([\d.]+) mm\) long", drawing.get_attribute("aria-label") or "")[1])  # type: ignore[index]
    wide = "e => e.getBBox().width"
    seat, blank = (drawing.locator(f"path.{part}").first.evaluate(wide) for part in ("seat", "blank"))
    assert seat / blank == pytest.approx((ends - begins) / length, rel=0.002)


@papers
def test_labels_lie_where_the_sheet_has_them(windows: Windows, paper: str) -> None:
    numbers = [number for kind in KINDS for number in numbers_of(windows, kind)]
    query = "&".join(f"numbers={number}" for number in numbers)
    window = windows.open(f"/labels/sheet?{query}&paper={paper}&start=2")
    page = window.page
    pdf = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    assert len(pdf.pages) == 1
    assert measured_mm(pdf)[0] == pytest.approx(SIZES[paper], abs=0.6)
    assert all(number in text_of(pdf) for number in numbers)
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 1000, "height": 1200})
    a_mm = 96 / 25.4
    corner = "e => { const box = e.getBoundingClientRect(); return [box.x, box.y]; }"
    first, second, below = (page.locator(".label").nth(place).evaluate(corner) for place in (0, 1, 3))
    across, down = {"a4": (70.0, 37.0), "letter": (2.75 * 25.4, 25.4)}[paper]
    assert (second[0] - first[0]) / a_mm == pytest.approx(across, abs=0.05)
    assert (below[1] - first[1]) / a_mm == pytest.approx(down, abs=0.05)


def test_more_labels_than_a_sheet_holds_go_on_another(windows: Windows) -> None:
    numbers = [number for kind in KINDS for number in numbers_of(windows, kind)]
    query = "&".join(f"numbers={number}" for number in numbers)
    assert len(printed(windows, f"/labels/sheet?{query}&paper=a4&start=22").pages) == 2


def test_labels_are_chosen_and_laid_out_without_a_pointer(windows: Windows, scripts: bool) -> None:
    page = windows.open("/labels", width_px=360, scripts=scripts).page
    page.locator("input[name=numbers]").first.focus()
    page.keyboard.press("Space")
    page.keyboard.press("Enter")
    page.locator(".label").first.wait_for()
    assert page.locator(".label").count() == 1
