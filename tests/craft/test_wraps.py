"""Turns and thread of wraps, spools for a rod, and how thick a thread is."""

from itertools import pairwise
from math import pi
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.faults import SumFault
from shop.craft.lengths import NM_PER_INCH, nm_of_mm
from shop.craft.sums.base import Outcome
from shop.craft.sums.reading import read_inputs
from shop.craft.sums.wraps import SUMS
from shop.craft.wraps import (
    NM_PER_YARD,
    SIZES,
    Wrap,
    helix_nm,
    measured_thread_nm,
    nearest_sizes,
    thread_diameter_nm,
    thread_for_rod,
    turns,
    wrap_thread_nm,
)
from tests.craft.figures import figure, figures

BY_NAME = {calculator.name: calculator for calculator in SUMS}
A = 152_400
EIGHTEEN = {"wraps": [{"count": 18, "length": "3/4 in", "od": "0.25 in"}]}


def work(name: str, given: dict[str, Any]) -> Outcome:
    """What the calculator answers to what is typed."""
    calculator = BY_NAME[name]
    return calculator.work(read_inputs(calculator, given))


def test_the_string_around_a_rod() -> None:
    known = figure("helix-timss-string")  # TIMSS 1995, advanced mathematics
    given_cm = known["inputs"]
    pitch_nm = given_cm["rod_length_cm"] / given_cm["turns"] * 1e7
    length_nm = helix_nm(given_cm["turns"], given_cm["circumference_cm"] * 1e7 / pi, pitch_nm)
    assert length_nm / 1e7 == pytest.approx(known["expected"]["length_cm"], abs=known["tolerance"]["value"])


def test_a_close_wrap() -> None:
    known = figure("helix-closewound-mid")  # closed form
    sizes = known["inputs"]
    thread, length = nm_of_mm(sizes["thread_diameter_mm"]), nm_of_mm(sizes["wrap_length_mm"])
    assert turns(length, thread) == pytest.approx(known["expected"]["turns"])
    laid = wrap_thread_nm(length, nm_of_mm(sizes["rod_diameter_mm"]), thread)
    assert laid / 1e6 == pytest.approx(known["expected"]["thread_length_mm"], rel=1e-6)
    # At the bare blank it would be short by more than a turn each 44: the thread's own middle counts.
    at_the_blank = helix_nm(turns(length, thread), nm_of_mm(sizes["rod_diameter_mm"]), thread)
    assert at_the_blank / 1e6 == pytest.approx(known["expected"]["rod_surface_approx_mm"], rel=3e-5)


def test_the_pitch_hardly_matters() -> None:
    known = figure("helix-pitch-error-negligible")  # closed form
    diameter, pitch = (known["inputs"][name] * 1e6 for name in ("rod_diameter_mm", "pitch_mm"))
    share = helix_nm(1e6, diameter, pitch) / (1e6 * pi * diameter) - 1
    assert share == pytest.approx(known["expected"]["relative_error_ignoring_pitch"], abs=1e-9)


def test_thread_on_one_wrap() -> None:
    answer = work("wrap-thread", {"length": "3/4 in", "thread": "0.006 in", "od": "0.180 in"})
    assert answer.value("turns") == 125  # common practice, no source
    assert answer.value("thread_length") / NM_PER_INCH == pytest.approx(73.0, abs=0.05)
    assert answer.working[0] == "19.05 mm / 0.1524 mm = 125 turns"


def test_thread_for_eighteen_wraps_of_three_quarters_of_an_inch() -> None:
    answer = work("thread-for-rod", EIGHTEEN)
    assert answer.value("needed_yd") == pytest.approx(66, abs=0.5)  # common practice, no source
    assert answer.value("needed_m") == pytest.approx(answer.value("needed_yd") * 0.9144)
    assert answer.value("spools") == 1
    assert answer.value("left") == pytest.approx(100 - answer.value("needed_yd"))
    (row,) = answer.value("rows")
    assert row[:2] == (18, 125)
    assert row[3] == pytest.approx(18 * row[2] / 1e9)


@pytest.mark.parametrize(
    ("spool", "unit", "spools"), [(100, "yd", 1), (66, "yd", 2), (61, "m", 1), (60, "m", 2), (15, "m", 5)]
)
def test_whole_spools(spool: int, unit: str, spools: int) -> None:
    answer = work("thread-for-rod", EIGHTEEN | {"spool": spool, "spool_unit": unit})
    assert answer.value("spools") == spools
    assert 0 <= answer.value("left") < spool


def test_just_a_spool_is_one_spool() -> None:
    wrap = Wrap(1, 19_050_000, 4_572_000)
    just = thread_for_rod([wrap], A, 1, 1, wrap_thread_nm(19_050_000, 4_572_000, A))
    assert (just.spools, just.left_nm) == (1, 0)
    assert thread_for_rod([wrap], A, 1, 1, just.needed_nm - 1).spools == 2


WRAPS = st.builds(
    Wrap, st.integers(1, 30), st.integers(1_000_000, 200_000_000), st.integers(1_500_000, 25_000_000)
)


@settings(max_examples=60)
@given(st.lists(WRAPS, min_size=1, max_size=6), st.floats(1, 2), st.floats(1, 2))
def test_thread_for_a_rod_adds_up(wraps: list[Wrap], feet: float, waste: float) -> None:
    whole = thread_for_rod(wraps, A, feet, waste, 100 * NM_PER_YARD)
    assert whole.on_rod_nm == sum(thread_for_rod([wrap], A, 1, 1, NM_PER_YARD).on_rod_nm for wrap in wraps)
    assert whole.needed_nm == pytest.approx(whole.on_rod_nm * feet * waste)
    assert whole.spools * 100 * NM_PER_YARD - whole.left_nm == whole.needed_nm


@settings(max_examples=60)
@given(
    st.integers(1_500_000, 25_000_000), st.integers(50_000, 400_000), st.integers(1, 500), st.integers(1, 500)
)
def test_thread_adds_up_along_a_wrap(od_nm: int, thread_nm: int, one: int, other: int) -> None:
    whole = wrap_thread_nm((one + other) * thread_nm, od_nm, thread_nm)
    parts = wrap_thread_nm(one * thread_nm, od_nm, thread_nm) + wrap_thread_nm(
        other * thread_nm, od_nm, thread_nm
    )
    assert abs(whole - parts) <= 2


@pytest.mark.parametrize(
    ("measured", "nearest", "off_thou"),
    [
        ("0.080 in", "00", 0),
        ("0.100 in", "00 or A", None),  # half way: 0.005 in
        ("0.123 in", "A", 0.15),
        ("0.145 in", "B", -0.25),
        ("0.210 in", "D", 0),  # within 0.010 to 0.011 in
        ("0.230 in", "D or E", None),
        ("0.300 in", "E", 1),
    ],
)
def test_the_nearest_nominal_size(measured: str, nearest: str, off_thou: float | None) -> None:
    answer = work("thread-size", {"turns": 20, "measured": measured})
    assert answer.value("nearest") == nearest
    off = answer.value("off")
    assert (off if off is None else off / 25_400) == (off_thou and pytest.approx(off_thou))
    assert answer.warnings == ()
    assert answer.value("diameter_by_tex") is None


def test_a_thread_far_from_every_size_is_said_to_be() -> None:
    answer = work("thread-size", {"measured": "0.302 in"})
    assert "lies 0.0011 in (0.028 mm) from the nearest of the sizes 00 to E" in answer.warnings[0]


def test_the_sizes_rise_and_do_not_overlap() -> None:
    ends = [end for size in SIZES for end in (size.least_nm, size.most_nm)]
    assert ends == sorted(ends)
    assert all(one.most_nm < other.least_nm for one, other in pairwise(SIZES))


def test_a_diameter_from_fineness() -> None:
    known = figure("thread-diameter-from-tex")  # closed form, nylon 6.6
    sizes = known["inputs"]
    answer = work(
        "thread-size",
        {
            "measured": "0.232 in",
            "tex": sizes["tex"],
            "fibre_density": sizes["fibre_density_kg_per_m3"],
            "packing": sizes["packing_fraction"],
        },
    )
    by_tex = answer.value("diameter_by_tex")
    assert by_tex / 1e6 == pytest.approx(known["expected"]["diameter_mm"], rel=2e-6)
    assert answer.value("diameter") == 294_640
    assert "70 g/km" in answer.working[-1]


@pytest.mark.parametrize("known", figures("thread-common-practice-"), ids=lambda known: known["id"])
def test_fineness_agrees_with_the_charts(known: dict[str, Any]) -> None:
    inches = thread_diameter_nm(known["inputs"]["tex"], 1140, 0.9) / NM_PER_INCH
    # Trade charts of nylon thread, from memory and nominal.
    assert inches == pytest.approx(known["expected"]["nominal_diameter_in"], rel=known["tolerance"]["value"])


BAD: list[tuple[str, dict[str, Any], str, str]] = [
    ("wrap-thread", {"length": "0.005 in", "od": "0.2 in"}, "length", "less than one turn"),
    ("wrap-thread", {"length": "1 in", "od": "-0.2 in"}, "od", "less than nothing"),
    ("wrap-thread", {"length": "1 in", "od": "0.2 in", "thread": "6"}, "thread", "has no unit"),
    ("thread-for-rod", {}, "wraps", "at least one row"),
    ("thread-for-rod", {"wraps": [{"length": "1 in"}]}, "wraps.1.od", "missing"),
    (
        "thread-for-rod",
        {"wraps": [{"length": "1 in", "od": "5 mm"}, {"length": "0.1 mm", "od": "5 mm"}]},
        "wraps.2.length",
        "in row 2 is 0.0039 in",
    ),
    ("thread-for-rod", EIGHTEEN | {"feet_factor": "0.5"}, "feet_factor", "less than lies on the rod"),
    ("thread-for-rod", EIGHTEEN | {"waste_factor": "0.9"}, "waste_factor", "less than lies on the rod"),
    ("thread-for-rod", EIGHTEEN | {"spool": 0}, "spool", "more than nothing"),
    ("thread-for-rod", EIGHTEEN | {"spool": "1e-12"}, "spool", "more than nothing"),
    ("thread-for-rod", EIGHTEEN | {"spool_unit": "fathoms"}, "spool_unit", "must be one of"),
    ("thread-size", {"measured": "3 mm", "turns": 0}, "turns", "more than nothing"),
    ("thread-size", {"measured": "3 mm", "tex": 70, "packing": "1.1"}, "packing", "at most 1"),
]


@pytest.mark.parametrize(("name", "typed", "field", "sentence"), BAD)
def test_refuses_what_cannot_be(name: str, typed: dict[str, Any], field: str, sentence: str) -> None:
    with pytest.raises(SumFault) as fault:
        work(name, typed)
    assert list(fault.value.errors) == [field]
    assert sentence in fault.value.errors[field]


def test_the_plain_sums_refuse_too() -> None:
    wrap = Wrap(1, A, A)
    for refused, field in (
        (lambda: turns(A, 0), "thread"),
        (lambda: helix_nm(0, A, A), "turns"),
        (lambda: wrap_thread_nm(A, 0, A), "od"),
        (lambda: thread_for_rod([], A, 1, 1, NM_PER_YARD), "wraps"),
        (lambda: thread_for_rod([wrap, Wrap(0, A, A)], A, 1, 1, NM_PER_YARD), "wraps.2.count"),
        (lambda: thread_for_rod([wrap], A, float("nan"), 1, NM_PER_YARD), "feet_factor"),
        (lambda: measured_thread_nm(20, 0), "measured"),
        (lambda: thread_diameter_nm(70, 1140, 1.5), "packing"),
        (lambda: nearest_sizes(0), "diameter"),
    ):
        with pytest.raises(SumFault) as fault:
            refused()
        assert list(fault.value.errors) == [field]
