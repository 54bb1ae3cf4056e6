"""Cutting grip stock: the length of a piece, and the pieces a stick gives, exactly."""

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.faults import SumFault
from shop.craft.fit.cutting import Pieces, cut_length_nm, pieces_from_stick
from shop.craft.lengths import format_mm, parse_length


def inch(text: str) -> int:
    return parse_length(f"{text} in")


@pytest.mark.parametrize(
    ("visible", "shoulder", "facing", "cut", "mm"),
    [
        # Common practice, no source, all of them.
        ("3 1/2", "3/8", "1/32", "3 15/16", "100.0125"),
        ("8", "3/16", "0", "8 3/16", "207.9625"),
        ("8", "0", "0", "8", "203.2"),
    ],
)
def test_the_cut_length(visible: str, shoulder: str, facing: str, cut: str, mm: str) -> None:
    found = cut_length_nm(inch(visible), inch(shoulder), inch(facing))
    assert found == inch(cut)
    assert format_mm(found) == mm


@pytest.mark.parametrize(
    ("stick", "piece", "kerf", "count", "leftover"),
    [
        # Common practice, no source: three exactly, where rounded decimals may say two.
        ("12", "3 15/16", "3/32", 3, "0"),
        # Worked by hand: a 64th shorter and only two come out; a 64th longer changes nothing.
        ("11 63/64", "3 15/16", "3/32", 2, "3 59/64"),
        ("12 1/64", "3 15/16", "3/32", 3, "0"),
        # The last cut takes 3/32 of the 3/32 that is left, and then 1/64 remains.
        ("12 3/32", "3 15/16", "3/32", 3, "0"),
        ("12 7/64", "3 15/16", "3/32", 3, "1/64"),
        ("12", "4", "0", 3, "0"),
        ("12", "13", "3/32", 0, "12"),
        ("12", "12", "3/32", 1, "0"),
    ],
)
def test_the_pieces_from_a_stick(stick: str, piece: str, kerf: str, count: int, leftover: str) -> None:
    found = pieces_from_stick(inch(stick), inch(piece), inch(kerf))
    assert found == Pieces(count, inch(leftover))


@given(st.integers(1, 10**9), st.integers(1, 10**8), st.integers(0, 10**7))
@settings(max_examples=60)
def test_the_pieces_fit_and_one_more_does_not(stick: int, piece: int, kerf: int) -> None:
    found = pieces_from_stick(stick, piece, kerf)
    if found.count:
        assert found.count * piece + (found.count - 1) * kerf <= stick
    assert (found.count + 1) * piece + found.count * kerf > stick
    cuts = found.count if found.leftover_nm else max(0, found.count - 1)
    assert found.count * piece + cuts * kerf + found.leftover_nm <= stick
    assert found.leftover_nm < piece


@pytest.mark.parametrize(
    ("call", "field", "says"),
    [
        (lambda: cut_length_nm(0, 1, 1), "visible", "more than nothing"),
        (lambda: cut_length_nm(5, -1, 1), "shoulder", "less than nothing"),
        (lambda: cut_length_nm(5, 1, -1), "facing", "less than nothing"),
        (lambda: pieces_from_stick(0, 1, 1), "stick", "more than nothing"),
        (lambda: pieces_from_stick(9, 0, 1), "piece", "more than nothing"),
        (lambda: pieces_from_stick(9, 1, -1), "kerf", "less than nothing"),
    ],
)
def test_refuses_lengths_that_cannot_be(call: Callable[[], object], field: str, says: str) -> None:
    with pytest.raises(SumFault) as caught:
        call()
    assert list(caught.value.errors) == [field]
    assert says in caught.value.errors[field]
