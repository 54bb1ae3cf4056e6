"""The taper of a blank: diameters between stations, mass of frusta, sections put together."""

from fractions import Fraction
from itertools import pairwise
from math import pi
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.faults import SumFault
from shop.craft.lengths import NM_PER_INCH, NM_PER_MM, parse_length
from shop.craft.sums.reading import read_inputs
from shop.craft.sums.taper import SECTIONS, TAPER
from shop.craft.taper import (
    Make,
    Section,
    Station,
    check_stations,
    exact_od,
    frustum_mass,
    joined,
    largest_od,
    mass_centre_nm,
    mass_share,
    od_at,
    taper_rate,
)
from tests.craft.figures import figure, figures


def inch(text: str) -> int:
    return parse_length(f"{text} in")


# Common practice, no source: a rear grip's end of a blank.
BUTT = ((inch("0"), inch("0.593")), (inch("12"), inch("0.473")))
STATIONS = st.lists(
    st.tuples(st.integers(1, 10**9), st.integers(NM_PER_MM, 30 * NM_PER_MM)), min_size=2, max_size=6
).map(lambda steps: tuple((sum(step for step, _ in steps[: n + 1]), od) for n, (_, od) in enumerate(steps)))


@pytest.mark.parametrize(
    ("at", "od"), [("0", "0.593"), ("1/2", "0.588"), ("9 1/2", "0.498"), ("12", "0.473")]
)
def test_the_diameter_between_two_stations(at: str, od: str) -> None:
    assert od_at(BUTT, inch(at)) == inch(od)


def test_half_a_nanometre_is_rounded_away_from_nothing() -> None:
    stations = ((0, 11), (2, 10))
    assert exact_od(stations, 1) == Fraction(21, 2)
    assert od_at(stations, 1) == 11


def test_the_taper_is_that_of_the_span_towards_the_tip_and_at_the_end_of_the_last_one() -> None:
    stations = (*BUTT, (inch("24"), inch("0.413")))
    rates = [taper_rate(stations, inch(at)) for at in ("0", "11.999", "12", "24")]
    assert rates == [Fraction(1, 100), Fraction(1, 100), Fraction(1, 200), Fraction(1, 200)]
    assert taper_rate(((0, 5), (10, 7)), 3) == Fraction(-1, 5)


def test_the_largest_diameter_on_a_stretch_may_be_in_its_middle() -> None:
    stations = ((0, 10), (100, 20), (200, 10))
    assert largest_od(stations, 50, 150) == 20
    assert largest_od(stations, 120, 160) == 18


@given(STATIONS, st.fractions(0, 1))
@settings(max_examples=60)
def test_a_diameter_lies_between_those_of_its_stations(stations: tuple[Station, ...], part: Fraction) -> None:
    for (start, butt), (end, tip) in pairwise(stations):
        place = start + int((end - start) * part)
        assert min(butt, tip) <= od_at(stations, place) <= max(butt, tip)
    assert [od_at(stations, place) for place, _ in stations] == [od for _, od in stations]


@pytest.mark.parametrize(
    ("stations", "field", "says"),
    [
        ((), "stations", "at least two"),
        (((0, 5),), "stations", "at least two"),
        (((0, 5), (0, 4)), "stations.2.from_butt", "nearer the tip than the one before it"),
        (((5, 5), (10, 5), (7, 4)), "stations.3.from_butt", "nearer the tip"),
        (((-1, 5), (3, 4)), "stations.1.from_butt", "below the butt end"),
        (((0, 5), (3, 0)), "stations.2.od", "more than nothing"),
        (((0, -5), (3, 4)), "stations.1.od", "more than nothing"),
    ],
)
def test_refuses_stations_that_cannot_be(stations: tuple[Station, ...], field: str, says: str) -> None:
    for refused in (lambda: check_stations(stations), lambda: od_at(stations, 1)):
        with pytest.raises(SumFault) as caught:
            refused()
        assert list(caught.value.errors) == [field]
        assert says in caught.value.errors[field]


@pytest.mark.parametrize(
    ("at", "nearest"), [("12.001", "past the last station, which is at 12 in (304.8 mm)"), ("13", "12 in")]
)
def test_nothing_is_guessed_past_the_last_station(at: str, nearest: str) -> None:
    with pytest.raises(SumFault) as caught:
        od_at(BUTT, inch(at), "butt_end")
    assert nearest in caught.value.errors["butt_end"]


def test_nothing_is_guessed_before_the_first_station() -> None:
    stations = ((inch("1/2"), inch("0.588")), BUTT[1])
    with pytest.raises(SumFault) as caught:
        taper_rate(stations, inch("1/4"))
    assert "before the first station, which is at 1/2 in (12.7 mm)" in caught.value.errors["at"]


# MathWorld, “Conical Frustum”, and the lateral surface of a frustum for a thin shell.
@pytest.mark.parametrize("case", figures("cg-solid-frustum"), ids=lambda case: case["id"])
def test_a_solid_frustum_balances_where_the_handbook_says(case: dict[str, Any]) -> None:
    mass, moment = frustum_mass(*sizes(case), Make.SOLID)
    assert float(moment / mass) == pytest.approx(case["expected"]["z_from_base"], rel=1e-7)


@pytest.mark.parametrize("case", figures("cg-shell-frustum"), ids=lambda case: case["id"])
def test_a_thin_shell_balances_where_the_handbook_says(case: dict[str, Any]) -> None:
    mass, moment = frustum_mass(*sizes(case), Make.TUBE)
    assert float(moment / mass) == pytest.approx(case["expected"]["z_from_base"], rel=1e-7)


def sizes(case: dict[str, Any]) -> tuple[int, int, int]:
    given = case["inputs"]
    return given["h"], 2 * given["R_base"], 2 * given["R_top"]


def test_the_mass_of_a_solid_is_that_of_the_frustum_s_volume() -> None:
    # MathWorld, “Conical Frustum”: V = πh/3 (R1² + R1R2 + R2²).
    case = figure("frustum-volume-exact")
    given = case["inputs"]
    length, butt, tip = (round(given[name] * NM_PER_MM) for name in ("L_mm", "D1_mm", "D2_mm"))
    volume = float(frustum_mass(length, butt, tip, Make.SOLID)[0]) * pi / 4 / NM_PER_MM**3
    assert volume == pytest.approx(case["expected"]["volume_mm3"], rel=1e-7)


def test_a_thick_tube_weighs_what_two_frusta_leave() -> None:
    # π/4 (D² − (D − 2w)²) = πw(D − w): the tube is the outer frustum less the bore's.
    length, butt, tip, wall = 1000, 30, 14, 3
    for which in (0, 1):
        outer = frustum_mass(length, butt, tip, Make.SOLID)[which]
        inner = frustum_mass(length, butt - 2 * wall, tip - 2 * wall, Make.SOLID)[which]
        assert (outer - inner) / (4 * wall) == frustum_mass(length, butt, tip, Make.TUBE, wall)[which]


def test_shares_of_mass_by_hand() -> None:
    # Worked by hand: a thin tube from 3 to 1 over 2 long; the butt half has (3 + 2) / 2 of (3 + 1).
    stations = ((0, 3_000), (2_000, 1_000))
    assert mass_share(stations, 0, 1_000) == Fraction(5, 8)
    # Solid: (9 + 6 + 4) of (9 + 6 + 4) + (4 + 2 + 1).
    assert mass_share(stations, 0, 1_000, Make.SOLID) == Fraction(19, 26)
    # A wall of 0.5 leaves 2.5 … 0.5, so (2.5 + 1.5) of (2.5 + 0.5) · 2.
    assert mass_share(stations, 0, 1_000, Make.TUBE, 500) == Fraction(2, 3)
    # An even tube over two spans: by length, and it balances in the middle.
    even = ((100, 7), (200, 7), (700, 7))
    assert mass_share(even, 100, 250) == Fraction(1, 4)
    assert mass_centre_nm(even) == 400


@given(STATIONS, st.fractions(0, 1), st.sampled_from(Make))
@settings(max_examples=60)
def test_the_parts_of_a_blank_weigh_the_whole(
    stations: tuple[Station, ...], part: Fraction, make: Make
) -> None:
    first, last = stations[0][0], stations[-1][0]
    cut = first + int((last - first) * part)
    parts = mass_share(stations, first, cut, make) + mass_share(stations, cut, last, make)
    assert parts == 1
    assert first <= mass_centre_nm(stations, make) <= last


@pytest.mark.parametrize(
    ("call", "field", "says"),
    [
        (lambda: mass_share(BUTT, 5, 4), "to", "nearer the tip"),
        (lambda: mass_share(BUTT, 0, inch("13")), "to", "past the last station"),
        (lambda: mass_share(BUTT, -1, 4), "at", "before the first station"),
        (lambda: mass_centre_nm(BUTT, Make.TUBE, inch("0.237")), "wall", "twice the wall"),
        (lambda: mass_centre_nm(BUTT, Make.TUBE, -1), "wall", "less than nothing"),
        (lambda: mass_share(BUTT, 0, 4, Make.SOLID, 5), "wall", "no wall"),
    ],
)
def test_refuses_masses_that_cannot_be(call: Any, field: str, says: str) -> None:
    with pytest.raises(SumFault) as caught:
        call()
    assert list(caught.value.errors) == [field]
    assert says in caught.value.errors[field]


def test_a_wall_of_half_the_least_diameter_still_fits() -> None:
    assert mass_centre_nm(((0, 30), (100, 10)), Make.TUBE, 5) < 50


FOUR = (Section(2745, (), 0), *(Section(2795, (), 50) for _ in range(3)))


def test_four_sections_on_one_axis() -> None:
    # Worked by hand: each joint takes one overlap from the length.
    into = joined(FOUR)
    assert into.length_nm == 2745 + 3 * 2745
    assert into.starts_nm == (0, 2695, 5440, 8185)
    assert into.ferrules_nm == (2745, 5490, 8235)
    over = joined([FOUR[0], *(Section(s.length_nm, (), s.insertion_nm, True) for s in FOUR[1:])])
    assert (over.length_nm, over.starts_nm) == (into.length_nm, into.starts_nm)
    assert over.ferrules_nm == (2695, 5440, 8185)


def test_the_outer_part_of_a_joint_is_what_is_seen() -> None:
    lower, upper = ((0, 200), (1000, 100)), ((0, 140), (1000, 40))
    over = joined([Section(1000, lower), Section(1000, upper, 100, over=True)])
    # The sleeve of the upper one hides the last 100 of the lower one.
    assert over.stations == ((0, 200), (899, 110), (900, 140), (1900, 40))
    into = joined([Section(1000, lower), Section(1000, upper, 100)])
    assert into.stations == ((0, 200), (999, 100), (1000, 130), (1900, 40))
    assert od_at(over.stations, 950) == 135


@given(
    st.lists(st.tuples(st.integers(1000, 5000), st.integers(0, 400), st.booleans()), min_size=1, max_size=5)
)
@settings(max_examples=60)
def test_joined_stations_rise_and_span_the_blank(pieces: list[tuple[int, int, bool]]) -> None:
    sections = [
        Section(length, ((0, 300), (length // 2, 260), (length, 200)), overlap if index else 0, over)
        for index, (length, overlap, over) in enumerate(pieces)
    ]
    whole = joined(sections)
    check_stations(whole.stations)
    assert (whole.stations[0][0], whole.stations[-1][0]) == (0, whole.length_nm)
    assert whole.length_nm == sum(s.length_nm - s.insertion_nm for s in sections)
    for start, section in zip(whole.starts_nm, sections, strict=True):
        middle = section.length_nm // 2
        assert (start + middle, 260) in whole.stations


@pytest.mark.parametrize(
    ("sections", "field", "says"),
    [
        ([], "sections", "at least one"),
        ([Section(0)], "sections.1.length", "longer than nothing"),
        ([Section(100, (), 5)], "sections.1.insertion", "Nothing lies below"),
        ([Section(100), Section(100, (), -1)], "sections.2.insertion", "less than nothing"),
        ([Section(900), Section(100, (), 100)], "sections.2.insertion", "only"),
        ([Section(100), Section(900, (), 100)], "sections.2.insertion", "nothing to be seen of section 1"),
        (
            [Section(900), Section(100, (), 60), Section(900, (), 40)],
            "sections.3.insertion",
            "nothing to be seen of section 2",
        ),
        ([Section(100, ((0, 9), (100, 8))), Section(100, (), 10)], "sections.2.stations", "at least two"),
        ([Section(100, ((0, 9), (101, 8)))], "sections.1.stations", "past the end"),
        ([Section(100, ((0, 9), (0, 8)))], "sections.1.stations.2.from_butt", "nearer the tip"),
        # Measured, but not as far as where the joint is seen.
        (
            [Section(100, ((0, 9), (80, 8))), Section(100, ((0, 8), (100, 5)), 10)],
            "sections.1.stations",
            "past the last station",
        ),
        (
            [Section(100, ((0, 9), (100, 8))), Section(100, ((20, 8), (100, 5)), 10)],
            "sections.2.stations",
            "before the first station",
        ),
    ],
)
def test_refuses_sections_that_cannot_be(sections: list[Section], field: str, says: str) -> None:
    with pytest.raises(SumFault) as caught:
        joined(sections)
    assert list(caught.value.errors) == [field]
    assert says in caught.value.errors[field]


ROWS = [{"from_butt": "0 in", "od": "0.593 in"}, {"from_butt": "12 in", "od": "0.473 in"}]


def test_the_taper_calculator() -> None:
    answer = TAPER.work(read_inputs(TAPER, {"stations": ROWS, "at": "1/2 in", "to": "9-1/2 in"}))
    assert (answer.value("od"), answer.value("od_to")) == (inch("0.588"), inch("0.498"))
    assert answer.value("taper_rate") == pytest.approx(0.010)
    assert answer.value("taper_mm_per_m") == pytest.approx(10)
    assert answer.value("mass_share_percent") == pytest.approx(100 * 0.543 * 9 / (0.533 * 12))
    assert answer.working[0].startswith(
        "OD at 1/2 in (12.7 mm) = 0.593 in (15.06 mm) + (0.473 in (12.01 mm) −"
    )
    assert answer.working[0].endswith("= 0.588 in (14.94 mm).")
    assert answer.warnings == ()


def test_the_two_places_may_be_given_in_either_order() -> None:
    there, back = (
        TAPER.work(read_inputs(TAPER, {"stations": ROWS, "at": at, "to": to, "made": "solid"}))
        for at, to in (("2 in", "7 in"), ("7 in", "2 in"))
    )
    assert there.value("mass_share_percent") == back.value("mass_share_percent")


def test_a_blank_that_grows_towards_the_tip_is_asked_about() -> None:
    rows = [*ROWS, {"from_butt": "20 in", "od": "0.5 in"}]
    answer = TAPER.work(read_inputs(TAPER, {"stations": rows, "at": "0 in"}))
    assert "thicker at 20 in (508 mm)" in answer.warnings[0]
    with pytest.raises(LookupError):
        answer.value("od_to")


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"stations": ROWS, "at": "13 in"}, "at"),
        ({"stations": ROWS, "at": "1 in", "to": "13 in"}, "to"),
        ({"stations": ROWS, "at": "1 in", "wall": "0.3 in"}, "wall"),
        ({"stations": ROWS, "at": "1 in", "made": "solid", "wall": "0.04 in"}, "wall"),
        ({"stations": ROWS[:1], "at": "1 in"}, "stations"),
        (
            {"stations": [ROWS[0], {"from_butt": "12", "od": "0.473 in"}], "at": "1 in"},
            "stations.2.from_butt",
        ),
    ],
)
def test_the_taper_calculator_refuses(given: dict[str, Any], field: str) -> None:
    with pytest.raises(SumFault) as caught:
        TAPER.work(read_inputs(TAPER, given))
    assert list(caught.value.errors) == [field]


def test_the_sections_calculator() -> None:
    # Worked by hand: 28 + 28 + 28 − 2 × 1-1/2.
    rows = [{"length": "28 in"}, *({"length": "28 in", "insertion": "1-1/2 in"} for _ in range(2))]
    answer = SECTIONS.work(read_inputs(SECTIONS, {"sections": rows}))
    assert answer.value("joined_length") == inch("81")
    assert answer.value("joints") == ((1, inch("26 1/2")), (2, inch("53")))
    assert answer.value("starts")[2] == (3, inch("53"), inch("81"))
    assert "Section 2 begins at 28 in (711.2 mm) − 1 1/2 in (38.1 mm) = 26 1/2 in" in answer.working[0]
    into = SECTIONS.work(read_inputs(SECTIONS, {"sections": rows, "ferrule": "tip into butt"}))
    assert into.value("joints") == ((1, inch("28")), (2, inch("54 1/2")))
    assert into.value("joined_length") == inch("81")


def test_sections_measured_at_both_ends_show_the_outside() -> None:
    rows = [
        {"length": "40 in", "butt_od": "0.5 in", "tip_od": "0.3 in"},
        {"length": "40 in", "insertion": "2 in", "butt_od": "0.34 in", "tip_od": "0.08 in"},
    ]
    answer = SECTIONS.work(read_inputs(SECTIONS, {"sections": rows}))
    stations = answer.value("stations")
    assert stations[2] == (inch("38"), inch("0.34"))
    assert stations[-1] == (inch("78"), inch("0.08"))
    assert stations[1][0] == 38 * NM_PER_INCH - 1
    del rows[1]["tip_od"]
    with pytest.raises(SumFault) as caught:
        SECTIONS.work(read_inputs(SECTIONS, {"sections": rows}))
    assert list(caught.value.errors) == ["sections.2.tip_od"]
