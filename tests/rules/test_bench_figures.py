"""The figures of a rod's ticket, from its make-up: against sums worked by hand, each led back to its sum."""

from dataclasses import replace
from typing import Any

import pytest

from shop.craft.quantities import Dimension, Quantity, parse_quantity
from shop.craft.sums.catalogue import SUMS
from shop.craft.sums.reading import read_inputs
from shop.rules.bench_figures.base import BenchFigure
from shop.rules.bench_figures.sheet import bench_sheet, meant_of
from shop.rules.make_up import GuideSpot, MakeUp, Part
from shop.rules.sequences import FIGURES
from tests.rules.make_ups import BLANK, CASTING, FINISH, FORE, GUIDES, REAR, SEAT, casting, nm


def figures(value: MakeUp) -> dict[str, BenchFigure]:
    return {figure.name: figure for figure in bench_sheet(value).figures}


# Each worked by hand from the make-up; the rules behind them are common practice, no source.
WORKED: list[tuple[str, str, str]] = [
    ("blank length", "84 in (2133.6 mm)", "± 1/4 in (6.35 mm)"),
    ("blank mass", "62 g", "± 1 g"),
    ("rear grip begins", "1/2 in (12.7 mm) from the butt", "± 1/16 in (1.59 mm)"),
    ("fore grip ends", "16 1/2 in (419.1 mm) from the butt", "± 1/16 in (1.59 mm)"),
    ("handle length", "16 1/2 in (419.1 mm)", "± 1/8 in (3.18 mm)"),
    # 0.593 - 0.006 x 0.5 + 2 x 0.003; at the end of the shoulder 0.593 - 0.006 x (9.5 + 13/32) + 2 x 0.003
    ("rear grip bore, butt end", "0.596 in (15.14 mm)", "± 0.003 in (0.076 mm)"),
    ("rear grip bore, tip end →", "0.5396 in (13.7 mm)", "± 0.003 in (0.076 mm)"),
    # The fore grip's shoulder reaches back into the seat: 0.593 - 0.006 x (14 - 13/32) + 2 x 0.003
    ("fore grip bore, butt end", "0.5174 in (13.14 mm)", "± 0.003 in (0.076 mm)"),
    # 0.875 - 2 x 0.005; wall (0.865 - 0.5396) / 2, over the bore of the end that enters; 7/16 - 1/32
    ("rear grip shoulder diameter", "0.865 in (21.97 mm), wall 0.1627 in (4.13 mm)", "± 0.003 in (0.076 mm)"),
    ("rear grip shoulder length", "13/32 in (10.32 mm)", "± 1/64 in (0.4 mm)"),
    # 9 + 13/32, with and without 2 x 1/32 of facing
    ("rear grip cut length", "9 15/32 in (240.51 mm)", "± 1/32 in (0.79 mm)"),
    ("rear grip length", "9 13/32 in (238.92 mm)", "± 1/32 in (0.79 mm)"),
    # 0.650 - 2 x 0.005, 0.536 + 0.006
    (
        "reel seat, arbor",
        "outside 0.640 in (16.26 mm), bore 0.542 in (13.77 mm), wall 0.049 in (1.24 mm)",
        "",
    ),
    # pi (0.5618 x 0.003 x 9 13/32 + 0.865 x 0.005 x 13/32) in3 = 0.9066 mL, twice for soak and fillets;
    # 0.593 - 0.006 x 5.203 is the mean OD under the grip and its shoulder
    ("rear grip, epoxy to have", "1.813 mL", ""),
    ("one wrap", "125 turns over 3/4 in (19.05 mm)", ""),
    ("brushing one coat", "9 wraps, 11 min: 31 % of the pot life", ""),
    (
        "guide 9 from the tip",
        "52 in (1320.8 mm) from the tip, 32 in (812.8 mm) from the butt: Ring guide 8",
        "± 1/16 in (1.59 mm)",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("name", "said", "tolerance"), WORKED, ids=[case[0] for case in WORKED])
def test_a_figure_is_what_a_builder_works_out_by_hand(name: str, said: str, tolerance: str) -> None:
    figure = figures(CASTING)[name]
    assert (figure.said, figure.tolerance_said) == (said, tolerance)


def test_every_figure_that_is_worked_out_leads_back_to_its_sum() -> None:
    asked = [figure for figure in bench_sheet(CASTING).figures if figure.calculator]
    assert len(asked) > 20
    for figure in asked:
        calculator = SUMS[figure.calculator]
        assert calculator.work(read_inputs(calculator, figure.given)).figures


def test_every_topic_is_one_that_a_stage_can_show() -> None:
    sheet = bench_sheet(CASTING)
    assert {figure.topic for figure in sheet.figures} <= set(FIGURES)
    assert {trouble.topic for trouble in sheet.troubles} <= set(FIGURES)


def test_names_are_told_apart_within_what_is_measured() -> None:
    measured = [figure.name for figure in bench_sheet(CASTING).figures if figure.meant is not None]
    assert len(measured) == len(set(measured))
    assert set(meant_of(bench_sheet(CASTING))) == set(measured)


def test_what_is_meant_is_compared_exactly() -> None:
    meant = meant_of(bench_sheet(CASTING))["rear grip length"]
    assert meant.nominal == Quantity(Dimension.LENGTH, nm("9 13/32"))
    assert meant.tolerance == Quantity(Dimension.LENGTH, nm("1/32"))


def test_a_rod_of_which_nothing_is_known_has_no_figures_and_no_troubles() -> None:
    sheet = bench_sheet(MakeUp(1, "casting"))
    assert (sheet.figures, sheet.troubles) == ([], [])


def troubles(**changes: Any) -> list[str]:
    return [trouble.sentence for trouble in bench_sheet(casting(**changes)).troubles]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "use an arbor"),
        ({"finish": replace(FINISH, pot_life_minutes=12.0)}, "pot life"),
        ({"parts": (replace(REAR, sizes={"bore_tip_end": nm("5/8")}),)}, "already wider than the one wanted"),
        ({"parts": (replace(SEAT, sizes={**SEAT.sizes, "bore": nm("0.53")}),)}, "bore"),
        ({"parts": (replace(REAR, mass_mg=None),)}, "their masses are not on file: rear grip."),
        ({"blank": replace(BLANK, pieces=2, joints=((nm("60"), 0),))}, "from a joint"),
        (
            {"guides": (GuideSpot(0, "Tip-top 5", 5, {"tube_bore": nm("5/64")}),)},
            "does not go over the tip",
        ),
        (
            {"blank": replace(BLANK, stations=BLANK.stations[1:])},
            "lies before the first station",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_or_should_be_looked_at_is_said_plainly(changes: dict[str, Any], words: str) -> None:
    assert [said for said in troubles(**changes) if words in said], troubles(**changes)


def test_a_trouble_is_said_once() -> None:
    sheet = bench_sheet(casting(blank=replace(BLANK, stations=BLANK.stations[1:])))
    said = [(trouble.topic, trouble.sentence) for trouble in sheet.troubles]
    assert len(said) == len(set(said)) > 0


def test_a_mass_that_is_not_whole_is_not_held_against_the_rod() -> None:
    known = meant_of(bench_sheet(CASTING))
    assert {"finished mass", "balance point"} <= set(known)
    unknown = meant_of(bench_sheet(casting(guides=(replace(GUIDES[0], mass_mg=None),))))
    assert not {"finished mass", "balance point"} & set(unknown)


def test_the_mass_of_the_rod_is_that_of_its_parts_with_what_hardens_on_it() -> None:
    # 62 + 38 + 42 + 12 + 9 x 1 = 163 g, with some grams of epoxy and finish.
    mass = meant_of(bench_sheet(CASTING))["finished mass"].nominal.amount
    assert 163_000_000 < mass < 185_000_000


def test_a_grip_with_a_recess_takes_the_hood_in_and_has_no_shoulder() -> None:
    recessed = replace(REAR, sizes={**REAR.sizes, "recess_od": nm("0.9")})
    found = figures(casting(parts=(recessed, SEAT)))
    assert "rear grip shoulder length" not in found
    assert found["rear grip length"].said == "9 in (228.6 mm)"
    # pi x (0.593 - 0.006 x 5) x 0.003 x 9 in3 = 0.7825 mL, twice
    assert found["rear grip, epoxy to have"].said == "1.565 mL"


def test_the_epoxy_of_a_grip_counts_the_film_of_its_shoulder() -> None:
    def given(**changes: Any) -> dict[str, Any]:
        return dict(figures(casting(**changes))["fore grip, epoxy to have"].given)

    # It reaches back into the seat, so it is 13/32 in longer and its middle lies nearer the butt:
    # 0.593 - 0.006 x (16 1/2 - 2 29/32 / 2)
    entered = given()
    assert entered["length"] == "2 29/32 in"
    assert parse_quantity(entered["od"]).amount == pytest.approx(nm("0.502719"), abs=25_400)
    shoulder = {key: entered[key] for key in ("shoulder_od", "shoulder_length", "shoulder_gap")}
    assert shoulder == {"shoulder_od": "0.865 in", "shoulder_length": "13/32 in", "shoulder_gap": "0.005 in"}
    own = replace(FORE, sizes={**FORE.sizes, "shoulder_od": nm("0.7"), "shoulder_length": nm("1/4")})
    alone = given(parts=(own,))
    assert (alone["length"], alone["shoulder_od"], alone["shoulder_length"]) == (
        "2 3/4 in", "0.7 in", "1/4 in",
    )  # fmt: skip
    for without in ({"parts": (FORE,)}, {"ways": replace(CASTING.ways, hood_gap_nm=0)}):
        assert "shoulder_od" not in given(**without)


def test_a_cap_lies_on_the_grip_that_it_covers() -> None:
    cap = Part("butt cap", "butt cap", "Cap", 0, nm("1/2"), 9, {"bore": nm("1.01")}, 9_000)
    value = casting(parts=(cap, replace(REAR, from_butt_nm=0), SEAT))
    # A ring of 0.005 in about 1 in, half an inch long: pi/4 (1.01^2 - 1) 0.5 in3 = 0.1294 mL, and 30 % more.
    assert figures(value)["butt cap, epoxy to have"].said == "0.1682 mL"
    order = [figure.said for figure in bench_sheet(value).figures if figure.topic == "sliding"]
    assert order[-1] == "butt cap, from the butt"
    assert [trouble for trouble in bench_sheet(value).troubles if trouble.topic == "sliding"] == []


def test_a_seat_on_its_arbor_or_on_tape_takes_less_epoxy_than_on_the_bare_blank() -> None:
    arbor = Part("reel seat arbor", "arbor", "Arbor", nm("9 1/2"), nm("14"), 8, {"od": nm("0.640")}, 2_000)
    on_arbor = figures(casting(parts=(SEAT, arbor)))["reel seat, epoxy to have"]
    # pi/4 (0.650^2 - 0.640^2) 4.5 in3 = 0.7472 mL, and 30 % more
    assert on_arbor.said == "0.9713 mL"
    # Three rings of 3/8 in take up 1 1/8 of the 4 1/2 in, with a film on each.
    narrow = replace(SEAT, sizes={**SEAT.sizes, "bore": nm("0.580")})
    taped = figures(casting(parts=(narrow,)))["reel seat, epoxy to have"].given
    assert (taped["length"], taped["films"][0]["length"]) == ("3 3/8 in", "1 1/8 in")
    # Too wide for tape, no arbor laid down yet: reckoned as it will lie, on an arbor of its size.
    assert figures(CASTING)["reel seat, epoxy to have"].said == on_arbor.said


def test_a_wide_gap_is_filled_by_an_arbor_and_a_small_one_by_tape() -> None:
    assert "reel seat, arbor" in figures(CASTING)
    narrow = replace(SEAT, sizes={**SEAT.sizes, "bore": nm("0.580")})
    found = figures(casting(parts=(narrow,)))
    assert "reel seat, tape ring 1" in found
    assert "reel seat, arbor" not in found
    under = Part("reel seat arbor", "arbor", "Arbor", nm("9 1/2"), nm("14"), 8)
    value = casting(parts=(narrow, under))
    assert "reel seat, arbor" in figures(value)
    assert figures(value)["1."].said == "reel seat, after its arbor, from the tip"
    assert [trouble for trouble in bench_sheet(value).troubles if trouble.topic == "sliding"] == []


LAID = Part(
    "reel seat arbor", "arbor", "Foam arbor", nm("9 1/2"), nm("14"), 8,
    {"od": nm("0.640"), "bore": nm("0.542"), "length": nm("4 1/2")}, 2_000,
)  # fmt: skip
IS = "The reel seat arbor (Foam arbor) is"


@pytest.mark.parametrize(
    ("size", "inches", "said"),
    [
        ("od", "0.643", None),
        ("od", "0.6431", "0.6431 in (16.33 mm) outside where 0.640 in (16.26 mm) is wanted: turn it down."),
        ("od", "0.637", None),
        (
            "od",
            "0.63",
            "0.630 in (16 mm) outside where 0.640 in (16.26 mm) is wanted: it lies loose in the seat.",
        ),
        ("bore", "0.545", None),
        (
            "bore",
            "0.6",
            "0.600 in (15.24 mm) inside where 0.542 in (13.77 mm) is wanted: it lies loose on the blank.",
        ),
        ("bore", "0.539", None),
        ("bore", "0.5", "0.500 in (12.7 mm) inside where 0.542 in (13.77 mm) is wanted: ream it."),
        ("length", "4 17/32", None),
        ("length", "6", "6 in (152.4 mm) long where 4 1/2 in (114.3 mm) is wanted: cut it."),
        (
            "length",
            "4",
            "4 in (101.6 mm) long where 4 1/2 in (114.3 mm) is wanted: it does not fill its place.",
        ),
    ],
)
def test_an_arbor_on_file_is_held_against_the_one_that_is_wanted(
    size: str, inches: str, said: str | None
) -> None:
    laid = replace(LAID, sizes={**LAID.sizes, size: nm(inches)})
    found = [sentence for sentence in troubles(parts=(SEAT, laid)) if sentence.startswith(IS)]
    assert found == ([] if said is None else [f"{IS} {said}"])


def test_an_arbor_is_wanted_by_the_blank_where_it_is_laid_and_by_what_is_on_file_of_it() -> None:
    # Two rings under a seat; at 12 in the blank is 0.593 - 0.006 x 12 = 0.521 in; 0.006 in more is wanted.
    first = replace(LAID, to_butt_nm=nm("11"), sizes={"bore": nm("0.542")})
    second = replace(
        LAID, place="second arbor", from_butt_nm=nm("12"), to_butt_nm=nm("13"), sizes={"bore": nm("0.542")}
    )
    sheet = bench_sheet(casting(parts=(SEAT, first, second)))
    (trouble,) = [trouble for trouble in sheet.troubles if "arbor (" in trouble.sentence]
    assert trouble.sentence == (
        "The second arbor (Foam arbor) is 0.542 in (13.77 mm) inside where 0.527 in (13.39 mm) is wanted: "
        "it lies loose on the blank."
    )
    assert (trouble.topic, trouble.calculator, trouble.given["od"]) == ("seat", "arbor", "0.521 in")
    assert not [said for said in troubles(parts=(SEAT, replace(LAID, sizes={}))) if "arbor (" in said]


STIFF = replace(
    BLANK, wall_butt_nm=nm("0.04"), wall_tip_nm=nm("0.02"), test_load_mg=312_000, test_sag_nm=nm("28"),
    most_load_mg=2_500_000,
)  # fmt: skip


def test_the_static_test_is_foretold_from_a_measured_sag() -> None:
    # The blank itself is the check: at the load of its own test the tip comes down as far as was measured.
    ways = replace(CASTING.ways, heavy_load_mg=312_000)
    found = figures(casting(blank=STIFF, ways=ways))
    assert found["heavy load"].said.startswith("312 g: the tip comes down 28 in (711.2 mm)")
    assert "light load" in found
    sheet = bench_sheet(casting(blank=STIFF))
    assert sheet.bent is not None
    assert [len(sheet.bent.value(stage)) for stage in ("light", "middle", "heavy")] == [21, 21, 21]


def test_a_blank_of_unknown_stiffness_is_not_bent() -> None:
    assert not [figure for figure in bench_sheet(CASTING).figures if figure.topic == "static test"]
    assert bench_sheet(CASTING).bent is None


def test_a_load_past_the_limit_of_the_blank_is_refused_in_words() -> None:
    weak = replace(STIFF, most_load_mg=200_000)
    said = troubles(blank=weak)
    assert [sentence for sentence in said if "300 g is more than the 200 g" in sentence]


def test_the_line_is_judged_where_every_guide_has_a_height() -> None:
    assert "line, middle load" in figures(casting(blank=STIFF))
    flat = (replace(GUIDES[0], sizes={}), *GUIDES[1:])
    assert "line, middle load" not in figures(casting(blank=STIFF, guides=flat))
