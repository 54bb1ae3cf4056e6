"""One rod's sums, worked by hand from end to end, put to the API as a builder would type them.

The figures are original examples worked by hand; the formulas are common practice, no source, unless a
calculator names one.
"""

from typing import Any

import pytest

from tests.api.conftest import Program

STATIONS = [{"from_butt": "0 in", "od": "0.593 in"}, {"from_butt": "12 in", "od": "0.473 in"}]
BALANCE = [
    {"part": "blank", "mass": "62 g", "position": "34 in"},
    {"part": "grips", "mass": "38 g", "position": "6 in"},
    {"part": "seat", "mass": "42 g", "position": "12 in"},
    {"part": "guides and wraps", "mass": "11 g", "position": "55 in"},
    {"part": "tip-top", "mass": "1 g", "position": "84 in"},
    {"part": "cap", "mass": "9 g", "position": "0.3 in"},
    {"part": "epoxy", "mass": "10 g", "position": "9 in"},
]
REEL = {"reel_mass": "210 g", "reel_position": "11.5 in"}

# Calculator, inputs, which figure, what it should be (a length in inches), and how near.
WORKED: list[tuple[str, dict[str, Any], str, float, float]] = [
    ("cut-length", {"visible": "3 1/2 in", "shoulder": "3/8 in"}, "cut_length", 3.9375, 0),
    (
        "cut-length", {"visible": "8 in", "shoulder": "3/16 in", "facing": "0 in"}, "cut_length", 8.1875, 0,
    ),
    ("pieces-from-stick", {"stick": "12 in", "piece": "3 15/16 in"}, "pieces", 3, 0),
    ("pieces-from-stick", {"stick": "12 in", "piece": "3 15/16 in"}, "leftover", 0, 0),
    (
        "shoulder", {"hood_bore": "0.875 in", "recess": "7/16 in", "bore": "0.610 in", "grip_od": "1 in"},
        "shoulder_od", 0.865, 0,
    ),
    ("shoulder", {"hood_bore": "0.875 in", "recess": "7/16 in", "bore": "0.610 in"}, "wall", 0.1275, 0),
    (
        "shoulder", {"hood_bore": "0.875 in", "recess": "7/16 in", "bore": "0.610 in"},
        "shoulder_length", 13 / 32, 0,
    ),
    ("taper", {"stations": STATIONS, "at": "1/2 in"}, "od", 0.588, 0),
    ("taper", {"stations": STATIONS, "at": "9 1/2 in"}, "od", 0.498, 0),
    ("bores", {"stations": STATIONS, "butt_end": "1/2 in", "length": "9 in"}, "butt_bore", 0.594, 0),
    ("bores", {"stations": STATIONS, "butt_end": "1/2 in", "length": "9 in"}, "tip_bore", 0.504, 0),
    ("halving", {"short": "6 in", "taper": "0.010"}, "passes", 6, 0),
    ("tape-bushing", {"seat_bore": "0.650 in", "tape": "0.0055 in", "od": "0.470 in"}, "turns", 15, 0),
    (
        "tape-bushing", {"seat_bore": "0.650 in", "tape": "0.0055 in", "od": "0.470 in"},
        "finished_od", 0.635, 0,
    ),
    (
        "tape-bushing", {"seat_bore": "0.650 in", "tape": "0.0055 in", "od": "0.470 in"},
        "tape_length", 26.0, 0.05,
    ),
    ("tape-bushing", {"seat_bore": "0.650 in", "tape": "0.0055 in", "od": "0.510 in"}, "turns", 11, 0),
    ("arbor", {"seat_bore": "0.650 in", "od": "0.470 in"}, "arbor_od", 0.640, 0),
    ("arbor", {"seat_bore": "0.650 in", "od": "0.470 in"}, "arbor_bore", 0.476, 0),
    ("arbor", {"seat_bore": "0.650 in", "od": "0.470 in"}, "wall", 0.082, 0),
    (
        "glue-joint",
        {
            "bore_start": "0.650 in", "bore_end": "0.650 in", "rod_start": "0.490 in", "rod_end": "0.490 in",
            "length": "2.5 in",
        },
        "open_ml", 5.87, 0.005,
    ),
    ("grip-film", {"od": "0.543 in", "length": "9 in"}, "film_ml", 0.75, 0.005),
    ("grip-film", {"od": "0.543 in", "length": "9 in"}, "volume_ml", 1.5, 0.05),
    ("mix-amounts", {"volume": "8.113 mL", "density_a": "1.16", "density_b": "1"}, "mass_a_g", 4.7, 0.05),
    ("mix-amounts", {"volume": "8.113 mL", "density_a": "1.16", "density_b": "1"}, "mass_b_g", 4.1, 0.05),
    ("mix-error", {"part_a": "1 mL", "part_b": "1 mL"}, "error_percent", 22, 0.5),
    ("mix-error", {"part_a": "3 mL", "part_b": "3 mL"}, "error_percent", 7, 0.5),
    (
        "guide-heights",
        {"spool_height": "2.20 in", "spool_diameter": "1 3/4 in", "guides": [{"from_spool": "18 in"}]},
        "choke", 47.25, 0,
    ),
    ("safe-gap", {"radius": "20 in", "ring_height": "0.30 in", "span": "6 in"}, "left", 0.075, 0.0005),
    ("safe-gap", {"radius": "20 in", "ring_height": "0.30 in"}, "longest", 6.9, 0.05),
    ("wrap-thread", {"length": "0.75 in", "od": "0.180 in"}, "turns", 125, 0),
    ("wrap-thread", {"length": "0.75 in", "od": "0.180 in"}, "thread_length", 73.0, 0.05),
    (
        "thread-for-rod", {"wraps": [{"count": 18, "length": "0.75 in", "od": "0.25 in"}]}, "needed_yd",
        66, 0.5,
    ),
    ("finish-volume", {"od": "0.262 in", "length": "13.5 in"}, "first_ml", 1.3, 0.05),
    ("finish-volume", {"od": "0.262 in", "length": "13.5 in"}, "later_ml", 1.5, 0.05),
    ("brush-time", {"wraps": 18, "pot_life": "40"}, "minutes", 22, 0.5),
    ("balance", {"parts": BALANCE}, "mass_g", 173, 0),
    ("balance", {"parts": BALANCE}, "balance", 20.9, 0.05),
    ("balance", {"parts": BALANCE, **REEL}, "balance_with_reel", 15.8, 0.05),
    ("counterweight", {"parts": BALANCE, **REEL, "target": "14 1/2 in"}, "counterweight_g", 34.5, 0.05),
    ("tip-top-size", {"tip_od": "0.084 in"}, "size_64ths", 5.5, 0),
]  # fmt: skip


def plain(figure: Any) -> float:
    """A figure as one number: a length in inches, anything else as it stands."""
    return float(figure["mm"] / 25.4 if isinstance(figure, dict) else figure)


@pytest.mark.parametrize(
    ("name", "given", "figure", "worked", "near"), WORKED, ids=[f"{case[0]} {case[2]}" for case in WORKED]
)
def test_a_sum_worked_by_hand_comes_out_the_same(
    desk: Program, name: str, given: dict[str, Any], figure: str, worked: float, near: float
) -> None:
    answer = desk.post(f"/sums/{name}", **given)
    assert plain(answer["figures"][figure]) == pytest.approx(worked, abs=near or 1e-9, rel=0)
    assert answer["working"]


def test_guides_are_spaced_as_the_progression_says_and_the_last_lands_exactly(desk: Program) -> None:
    answer = desk.post("/sums/guide-spacing", count=9, first="4 in", last="52 in")
    rows = answer["figures"]["guides"]
    assert rows[-1]["from_tip"] == {"mm": 1320.8, "in": "52"}
    # To the nearest sixteenth, as they are marked.
    places = [round(plain(row["from_tip"]) * 16) / 16 for row in rows]
    assert places == [4, 8.4375, 13.3125, 18.6875, 24.4375, 30.6875, 37.3125, 44.4375, 52]


def test_a_train_that_stands_on_ferrules_is_laid_out_anew(desk: Program) -> None:
    ferrules = [{"from_tip": f"{at} in"} for at in (27, 54, 81)]
    given = {"count": 10, "first": "4 in", "last": "78 in", "ferrules": ferrules, "clear": "2 1/2 in"}
    answer = desk.post("/sums/guides-clear-of-ferrules", **given)
    rows = [round(plain(row["from_tip"]), 2) for row in answer["figures"]["guides"]]
    assert (plain(answer["figures"]["first"]), rows[4], rows[7]) == (4.5, 29.83, 56.53)


def test_halving_goes_down_by_halves(desk: Program) -> None:
    rows = desk.post("/sums/halving", short="6 in", taper="0.010")["figures"]["schedule"]
    assert [row["ream_until"]["in"] for row in rows] == ["3", "1 1/2", "3/4", "3/8", "3/16", "3/32"]
    growth = [round(plain(row["bore_growth"]), 4) for row in rows]
    assert growth == [0.03, 0.015, 0.0075, 0.0038, 0.0019, 0.0009]


def test_the_quote_is_right_to_the_cent(desk: Program) -> None:
    answer = desk.post(
        "/sums/quote", parts_total="186.40", consumables="6.20", hours="6.5", rate="38.00",
        overhead_percent="15", basis="margin", percent="30", day="2026-03-02", us_excise=True,
        taxes=[{"name": "sales tax", "percent": "6.25", "from": "2020-01-01"}], deposit_percent="50",
    )["figures"]  # fmt: skip
    assert (answer["cost"], answer["price"]) == (50554, 72220)
    assert [tax["amount"] for tax in answer["taxes"]] == [4514, 1000]
    assert (answer["total"], answer["deposit"]) == (77734, 38867)
