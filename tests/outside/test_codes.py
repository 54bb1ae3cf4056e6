"""QR codes: their sizes by the standard's figures, and read back by an independent reader."""

from typing import Any

import pytest
import zxingcpp

from shop.outside.codes import QUIET_ZONE, qr_code
from tests.craft.figures import figure, figures
from tests.outside.pictures import RUN, picture


@pytest.mark.parametrize("version", [1, 2, 3, 4, 5])
def test_a_code_is_the_smallest_that_holds_the_text(version: int) -> None:
    most = figure(f"qr-capacity-v{version}M")["expected"]["bytes"]
    assert qr_code("x" * most).version == version
    assert qr_code("x" * (most + 1)).version == version + 1


@pytest.mark.parametrize("case", figures("qr-modules-"), ids=lambda case: case["id"])
def test_a_code_has_the_modules_of_its_version_and_its_quiet_zone(case: dict[str, Any]) -> None:
    # The largest text of versions 10 and 40 at level M, in bytes (ISO/IEC 18004, table 7).
    longest = {1: 14, 5: 84, 10: 213, 40: 2331}[case["inputs"]["version"]]
    code = qr_code("x" * longest)
    assert code.version == case["inputs"]["version"]
    assert code.size == case["expected"]["with_quiet_zone"]
    assert code.size - 2 * QUIET_ZONE == case["expected"]["modules_per_side"]


@pytest.mark.parametrize("case", figures("qr-url-"), ids=lambda case: case["id"])
def test_an_address_takes_the_version_of_its_length(case: dict[str, Any]) -> None:
    url = case["inputs"]["url"]
    assert len(url.encode()) == case["expected"]["bytes"]
    assert qr_code(url).version == case["expected"]["version"]


@pytest.mark.parametrize(
    "text",
    [
        "https://rods.example.org/builds/26-014",
        "http://127.0.0.1:8000/builds/26-001",
        figure("qr-url-70bytes-M")["inputs"]["url"],
    ],
)
def test_another_reader_reads_the_drawn_code_back(text: str) -> None:
    read = zxingcpp.read_barcodes(picture(qr_code(text)))
    assert [(found.text, found.format, found.ec_level) for found in read] == [
        (text, zxingcpp.BarcodeFormat.QRCode, "M")
    ]


def test_the_quiet_zone_is_empty() -> None:
    code = qr_code("https://rods.example.org/builds/26-014")
    places = [(int(x), int(y), int(long)) for x, y, long, _ in RUN.findall(code.d)]
    inner = code.size - QUIET_ZONE
    assert min(x for x, _, _ in places) == QUIET_ZONE
    assert max(x + long for x, _, long in places) == inner
    assert (min(y for _, y, _ in places), max(y for _, y, _ in places)) == (QUIET_ZONE, inner - 1)


def test_a_text_that_no_code_can_hold_is_refused() -> None:
    with pytest.raises(ValueError, match="too large"):
        qr_code("x" * 3000)
