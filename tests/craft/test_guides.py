"""Guides against published layouts, worked numbers, plane geometry, and what no blank can carry."""

from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from math import acos, cos

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from shop.craft.faults import SumFault
from shop.craft.guides.count import count_rules
from shop.craft.guides.gap import (
    clearance_left,
    clearance_on_arc,
    height_needed,
    longest_gap,
    longest_gap_on_arc,
)
from shop.craft.guides.heights import StockGuide, choke_of_spool, height_at, place_guides
from shop.craft.guides.spacing import MOST_TRIALS, Search, clashes, clear_train, nearest_ferrule, train
from shop.craft.lengths import NM_PER_INCH, format_inches, parse_length


def inch(text: str) -> int:
    return parse_length(text, "in")


FERRULES = tuple(inch(at) for at in ("27", "54", "81"))
TWO_AND_A_HALF = Search(inch("2 1/2"), inch("1"), inch("1/8"))


@pytest.mark.parametrize(
    ("length", "least", "most"),
    [("9 ft", 10, 10), ("8 ft", 9, 9), ("7 ft 6 in", 8, 9), ("6 ft 11 in", 7, 8)],
)
def test_one_a_foot_plus_one(length: str, least: int, most: int) -> None:
    # Published by a club for an 8 ft rod: nine; half a foot may be read either way, so both are offered.
    (rule,) = count_rules(parse_length(length))
    assert (rule.least, rule.most) == (least, most)
    assert rule.source == "club and blog articles"


def test_every_rule_is_offered_with_its_source() -> None:
    rules = count_rules(parse_length("7 ft"), True, running_nm=inch("40"), last_nm=inch("52"))
    # 7 + 1 = 8; 9 to 10; (52 − 4)/5 + 1 = 10.6; 40/5 + 1 = 9. Worked by hand.
    assert [(rule.least, rule.most) for rule in rules] == [(8, 8), (9, 10), (10, 11), (9, 9)]
    assert [rule.figure for rule in rules] == [8, 9, Fraction("10.6"), 9]
    assert [rule.counts for rule in rules] == ["all", "all", "all", "running guides only"]
    assert len({rule.source for rule in rules}) == 4


@pytest.mark.parametrize(
    ("count", "first", "last", "wanted"),
    [
        # Common practice, no source; the sixteenths are rounded from the exact positions by hand.
        (9, "4", "52", "4, 8 7/16, 13 5/16, 18 11/16, 24 7/16, 30 11/16, 37 5/16, 44 7/16, 52"),
        # Published for an 8 ft fly rod: 66 = 36 + 36x, so x = 0.83 in; k·4 + x·k(k−1)/2 by hand.
        (9, "4", "66", "4, 8 13/16, 14 1/2, 21, 28 5/16, 36 1/2, 45 1/2, 55 5/16, 66"),
        # No step at all: equal gaps are the edge of what can be.
        (5, "4", "20", "4, 8, 12, 16, 20"),
        (2, "4", "11", "4, 11"),
        (1, "4", "4", "4"),
    ],
)
def test_progressive_spacing(count: int, first: str, last: str, wanted: str) -> None:
    laid = train(count, inch(first), inch(last))
    assert ", ".join(format_inches(at, 16) for at in laid.from_tip_nm) == wanted
    assert (laid.count, laid.first_nm, laid.from_tip_nm[-1]) == (count, inch(first), inch(last))


@pytest.mark.parametrize(
    ("count", "first", "last", "step"),
    [(9, "4", "52", "0.4444"), (9, "4", "66", "0.8333"), (10, "4 1/2", "79", "0.7556")],
)
def test_the_step_of_published_trains(count: int, first: str, last: str, step: str) -> None:
    # By hand 2(52 − 36)/72; published for fly rods: x = 0.83, and 79 = 45 + 45x, which makes 34/45.
    assert f"{float(train(count, inch(first), inch(last)).step_nm / NM_PER_INCH):.4f}" == step


POSSIBLE = st.tuples(st.integers(2, 30), st.integers(1_000, 10**9), st.integers(0, 3 * 10**9)).map(
    lambda drawn: (drawn[0], drawn[1], drawn[0] * drawn[1] + drawn[2])
)


@settings(max_examples=60, deadline=None)
@given(POSSIBLE)
def test_a_train_ends_exactly_and_its_gaps_never_shrink(possible: tuple[int, int, int]) -> None:
    count, first, last = possible
    laid = train(count, first, last)
    assert (laid.count, laid.from_tip_nm[0], laid.from_tip_nm[-1]) == (count, first, last)
    assert laid.gaps_nm[0] == first
    assert sum(laid.gaps_nm) == last
    # Each position is rounded to a whole nanometre, so a gap may be off by one.
    assert all(after - before >= -2 for before, after in pairwise(laid.gaps_nm))
    assert all(abs(after - before - laid.step_nm) <= 2 for before, after in pairwise(laid.gaps_nm))


def test_what_would_do_does() -> None:
    with pytest.raises(SumFault) as caught:
        train(9, inch("6"), inch("52"))
    sentence = caught.value.errors["first"]
    # 52/9 = 5.777…, which is 5 49/64 when cut down to a 64th; 52/6 = 8.67, so eight guides.
    assert "shrink toward the butt" in sentence
    assert "Take a first gap of at most 5 49/64 in (146.45 mm), or at most 8 guides." in sentence
    assert train(9, inch("5 49/64"), inch("52")).step_nm >= 0
    assert train(8, inch("6"), inch("52")).step_nm >= 0
    with pytest.raises(SumFault):
        train(9, inch("5 50/64"), inch("52"))


def test_a_guide_too_near_a_ferrule_is_found() -> None:
    # Common practice, no source: 28.44 − 27 = 1.44 and 55.64 − 54 = 1.64 in.
    found = clashes(train(10, inch("4"), inch("78")), FERRULES, inch("2"))
    assert [(clash.guide, clash.ferrule_nm) for clash in found] == [(5, FERRULES[0]), (8, FERRULES[1])]
    assert [f"{clash.from_tip_nm / NM_PER_INCH:.2f}" for clash in found] == ["28.44", "55.64"]
    assert [f"{clash.apart_nm / NM_PER_INCH:.2f}" for clash in found] == ["1.44", "1.64"]


def test_the_whole_train_moves_clear_of_the_ferrules() -> None:
    laid = clear_train(10, inch("4"), inch("78"), FERRULES, TWO_AND_A_HALF)
    assert laid == train(10, inch("4 1/2"), inch("78"))
    assert [f"{laid.from_tip_nm[k] / NM_PER_INCH:.2f}" for k in (4, 7)] == ["29.83", "56.53"]


@pytest.mark.parametrize(
    ("clear", "step", "first"),
    # Worked by hand: at 4 3/16 in guide 5 is 1.965 in from a ferrule, at 4 1/4 in 2.089 in.
    [
        ("2", "1/8", "4 1/4"),
        ("2", "1/16", "4 1/4"),
        ("1 3/4", "1/8", "4 1/8"),
        ("1", "1/8", "4"),
        ("0", "1/8", "4"),
    ],
)
def test_the_nearest_first_gap_is_taken(clear: str, step: str, first: str) -> None:
    search = Search(inch(clear), inch("1"), inch(step))
    assert clear_train(10, inch("4"), inch("78"), FERRULES, search).first_nm == inch(first)


def test_of_two_first_gaps_equally_near_the_shorter_is_taken() -> None:
    # Two guides at a and 20: a ferrule at 5 forbids 4 < a < 6, so 4 and 6 are equally near to 5.
    search = Search(inch("1"), inch("2"), inch("1"))
    assert clear_train(2, inch("5"), inch("20"), [inch("5")], search).first_nm == inch("4")


def test_a_first_gap_of_nothing_is_not_tried() -> None:
    # Shorter than 1/2 in there is only nothing and less; the next longer one, 1 in, is clear.
    search = Search(inch("1/4"), inch("2"), inch("1/2"))
    assert clear_train(2, inch("1/2"), inch("20"), [inch("1/2")], search).first_nm == inch("1")


@settings(max_examples=60, deadline=None)
@given(
    st.integers(2, 14),
    st.integers(12, 24),
    st.integers(60 * 16, 90 * 16),
    st.lists(st.integers(10 * 16, 100 * 16), min_size=1, max_size=4),
    st.integers(0, 3 * 16),
)
def test_a_clear_train_is_clear_and_none_nearer_is(
    count: int, quarters: int, last: int, ferrules: list[int], clear: int
) -> None:
    sixteenth = NM_PER_INCH // 16
    wanted, last_nm, at = quarters * 4 * sixteenth, last * sixteenth, [f * sixteenth for f in ferrules]
    search = Search(clear * sixteenth, NM_PER_INCH, NM_PER_INCH // 8)
    tried = [wanted + n * search.step_nm for n in range(-8, 9)]
    works = [
        first
        for first in tried
        if 0 < count * first <= last_nm and not clashes(train(count, first, last_nm), at, search.clear_nm)
    ]
    if not works:
        with pytest.raises(SumFault):
            clear_train(count, wanted, last_nm, at, search)
        return
    laid = clear_train(count, wanted, last_nm, at, search)
    assert abs(laid.first_nm - wanted) == min(abs(first - wanted) for first in works)
    assert laid.from_tip_nm[-1] == last_nm
    assert laid.step_nm >= 0
    assert all((nearest_ferrule(here, at) or 0) >= search.clear_nm for here in laid.from_tip_nm)


SPOOL, H0 = inch("1 3/4"), inch("2.20")


@pytest.mark.parametrize(("at", "height"), [("18", "1.36"), ("29", "0.85"), ("37", "0.48")])
def test_reduction_heights(at: str, height: str) -> None:
    # Common practice, no source: 27 × 1 3/4 = 47 1/4 in, then a straight line.
    choke = choke_of_spool(SPOOL)
    assert choke == inch("47 1/4")
    found = height_at(inch(at), H0, choke)
    assert found is not None
    assert f"{found / NM_PER_INCH:.2f}" == height


def test_there_is_no_height_at_the_choke_nor_beyond() -> None:
    choke = choke_of_spool(SPOOL)
    assert height_at(choke - 1, H0, choke) == 0
    assert height_at(choke, H0, choke) is None
    assert height_at(inch("60"), H0, choke) is None


STOCK = (
    StockGuide("tall", inch("1.3")),
    StockGuide("runner", inch("0.2")),
    StockGuide("middle", inch("0.8")),
    StockGuide("low", inch("0.4")),
)


def test_guides_are_chosen_by_centre_height() -> None:
    placed = place_guides(
        [inch(at) for at in ("18", "29", "37", "47 1/4", "55")], H0, choke_of_spool(SPOOL), STOCK
    )
    names = [place.guide and place.guide.name for place in placed]
    assert names == ["tall", "middle", "low", "runner", "runner"]


def test_of_two_equally_near_the_lower_is_taken() -> None:
    # Half way to the choke half the height is wanted: 1 in, and 0.9 and 1.1 are equally near.
    stock = [
        StockGuide("high", inch("1.1")),
        StockGuide("first", inch("0.9")),
        StockGuide("second", inch("0.9")),
    ]
    (placed,) = place_guides([inch("10")], inch("2"), inch("20"), stock)
    assert placed.guide == stock[1]
    assert place_guides([inch("10")], inch("2"), inch("20"))[0].guide is None


LENGTHS = st.integers(1, 2 * 10**9)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(LENGTHS, min_size=1, max_size=10, unique=True).map(sorted),
    LENGTHS,
    LENGTHS,
    st.lists(LENGTHS, min_size=1, max_size=8),
)
def test_no_guide_is_taller_than_the_one_before(
    places: list[int], height: int, choke: int, heights: list[int]
) -> None:
    stock = [StockGuide(str(number), tall) for number, tall in enumerate(heights)]
    placed = place_guides(places, height, choke, stock)
    chosen = [place.guide.centre_height_nm for place in placed if place.guide]
    assert len(chosen) == len(places)
    assert chosen == sorted(chosen, reverse=True)
    assert all(
        place.wanted_nm is not None or tall == min(heights)
        for place, tall in zip(placed, chosen, strict=True)
    )


def test_the_gap_of_top_mounted_guides() -> None:
    # Common practice, no source: 36/160 = 0.225; 56.25/160 = 0.352; √(8 × 20 × 0.30) = 6.928 in.
    radius, height = inch("20"), inch("0.30")
    assert clearance_left(inch("6"), radius, height) == inch("0.075")
    assert f"{height_needed(inch('7 1/2'), radius) / NM_PER_INCH:.3f}" == "0.352"
    assert clearance_left(inch("7 1/2"), radius, height) < 0
    assert f"{longest_gap(radius, height) / NM_PER_INCH:.1f}" == "6.9"


def test_the_gap_on_a_true_arc() -> None:
    # Plane geometry with nothing rearranged: (R + h)·cos(L/2R) − R and 2R·arccos(R/(R + h)).
    radius, height, span = inch("20"), inch("0.30"), inch("6")
    assert clearance_on_arc(span, radius, height) == pytest.approx(
        (radius + height) * cos(span / (2 * radius)) - radius, abs=2
    )
    assert longest_gap_on_arc(radius, height) == pytest.approx(
        2 * radius * acos(radius / (radius + height)), abs=2
    )


@settings(max_examples=60, deadline=None)
@given(st.integers(10**6, 10**10), st.integers(10**5, 10**8))
def test_the_longest_gap_just_clears(radius: int, height: int) -> None:
    longest = longest_gap(radius, height)
    assume(longest + 1 < 3 * radius)
    assert clearance_left(longest, radius, height) >= 0
    assert longest**2 <= 8 * radius * height < (longest + 1) ** 2
    on_arc = longest_gap_on_arc(radius, height)
    assert on_arc <= longest
    assert abs(clearance_on_arc(on_arc, radius, height)) <= 2 + height // 10**6


REFUSED: list[tuple[Callable[[], object], str, str]] = [
    (lambda: count_rules(0), "length", "longer than nothing"),
    (lambda: count_rules(inch("84"), running_nm=inch("84")), "running", "must lie within the rod"),
    (lambda: count_rules(inch("84"), last_nm=inch("90")), "last", "90 in"),
    (lambda: count_rules(inch("84"), last_nm=inch("3")), "last", "the first is at 4 in"),
    (lambda: train(0, inch("4"), inch("52")), "count", "at least one guide"),
    (lambda: train(3, 0, inch("52")), "first", "more than nothing"),
    (lambda: train(1, inch("4"), inch("52")), "last", "one distance from the tip"),
    (lambda: train(3, inch("4"), inch("4")), "last", "farther from it than the first"),
    (lambda: train(2, inch("4"), inch("7")), "first", "at most 3 1/2 in (88.9 mm)."),
    (
        lambda: clear_train(10, inch("4"), inch("78"), FERRULES, Search(inch("4"), inch("1"), inch("1/8"))),
        "last",
        "Move the last guide",
    ),
    (
        lambda: clear_train(10, inch("4"), inch("78"), FERRULES, Search(inch("3"), inch("1/2"), inch("1/8"))),
        "first",
        "the best is 4 1/2 in (114.3 mm), which leaves 2 17/32 in",
    ),
    (
        lambda: clear_train(10, inch("12"), inch("78"), FERRULES, TWO_AND_A_HALF),
        "first",
        "shrink toward the butt",
    ),
    (
        lambda: clear_train(2, inch("4"), inch("78"), [inch("9"), 0], TWO_AND_A_HALF),
        "ferrules.2.from_tip",
        "tip",
    ),
    (lambda: clear_train(2, inch("4"), inch("78"), [], Search(-1, 1, 1)), "clear", "less than nothing"),
    (lambda: clear_train(2, inch("4"), inch("78"), [], Search(1, -1, 1)), "range", "less than nothing"),
    (lambda: clear_train(2, inch("4"), inch("78"), [], Search(1, 1, 0)), "step", "more than nothing"),
    (lambda: clear_train(2, inch("4"), inch("78"), [], Search(1, MOST_TRIALS + 1, 1)), "step", "too many"),
    (lambda: choke_of_spool(0), "spool_diameter", "wider than nothing"),
    (lambda: height_at(0, H0, inch("47")), "from_spool", "more than nothing"),
    (lambda: height_at(1, -1, inch("47")), "spool_height", "more than nothing"),
    (lambda: height_at(1, H0, 0), "choke", "more than nothing"),
    (lambda: place_guides([0], H0, inch("47")), "guides.1.from_spool", "ahead of the spool"),
    (lambda: place_guides([inch("18"), inch("18")], H0, inch("47")), "guides.2.from_spool", "the one before"),
    (
        lambda: place_guides([1], H0, inch("47"), [STOCK[0], StockGuide("flat", 0)]),
        "stock.2.centre_height",
        "“flat” must stand above",
    ),
    (lambda: height_needed(0, inch("20")), "span", "more than nothing"),
    (lambda: longest_gap(0, inch("0.3")), "radius", "more than nothing"),
    (lambda: longest_gap_on_arc(inch("20"), -1), "ring_height", "more than nothing"),
    (lambda: clearance_left(inch("63"), inch("20"), inch("0.3")), "span", "more than half a circle"),
    (lambda: clearance_on_arc(inch("63"), inch("20"), inch("0.3")), "span", "more than half a circle"),
]


@pytest.mark.parametrize(("work", "name", "words"), REFUSED)
def test_what_cannot_be_is_refused(work: Callable[[], object], name: str, words: str) -> None:
    with pytest.raises(SumFault) as caught:
        work()
    assert set(caught.value.errors) == {name}
    assert words in caught.value.errors[name]
