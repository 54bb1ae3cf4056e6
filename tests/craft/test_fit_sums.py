"""The calculators for grips and seats, from typed text to figures, working and warnings."""

from typing import Any

import pytest

from shop.craft.faults import SumFault
from shop.craft.lengths import NM_PER_INCH, parse_length
from shop.craft.sums import bushing, cutting, reaming, sliding
from shop.craft.sums.base import Outcome, Sum, Table
from shop.craft.sums.reading import read_inputs

ALL = {one.name: one for one in (*cutting.SUMS, *reaming.SUMS, *bushing.SUMS, *sliding.SUMS)}
BLANK = [{"from_butt": "0 in", "od": "0.593 in"}, {"from_butt": "12 in", "od": "0.473 in"}]
EVEN = [{"from_butt": "0 in", "od": "0.5 in"}, {"from_butt": "12 in", "od": "0.5 in"}]


def inch(text: str) -> int:
    return parse_length(f"{text} in")


def answer(name: str, **given: Any) -> Outcome:
    return ALL[name].work(read_inputs(ALL[name], given))


def faults(name: str, **given: Any) -> dict[str, str]:
    with pytest.raises(SumFault) as caught:
        answer(name, **given)
    return caught.value.errors


@pytest.mark.parametrize("calculator", ALL.values(), ids=lambda one: one.name)
def test_every_input_has_a_label_and_a_default_that_can_be_read(calculator: Sum) -> None:
    assert calculator.source
    given = {item.name: item.default for item in calculator.inputs if item.default}
    with pytest.raises(SumFault) as caught:
        read_inputs(calculator, given)
    assert not set(caught.value.errors) & set(given)


def test_cut_length() -> None:
    found = answer("cut-length", visible="3-1/2 in", shoulder="3/8 in")
    assert found.value("cut_length") == inch("3 15/16")
    assert found.working[0].endswith("= 3 15/16 in (100.01 mm).")
    assert answer("cut-length", visible="8 in", shoulder="3/16 in", facing="0 in").value(
        "cut_length"
    ) == inch("8 3/16")
    assert list(faults("cut-length", visible="8", facing="-1 in")) == ["visible", "facing"]


def test_pieces_from_stick() -> None:
    found = answer("pieces-from-stick", stick="12 in", piece="3 15/16 in", wanted="7")
    assert (found.value("pieces"), found.value("leftover"), found.value("sticks")) == (3, 0, 3)
    assert "= 3." in found.working[0]
    short = answer("pieces-from-stick", stick="3 in", piece="3 15/16 in")
    assert (short.value("pieces"), short.value("leftover")) == (0, inch("3"))
    assert "shorter than one piece" in short.warnings[0]
    assert "wanted" in faults("pieces-from-stick", stick="3 in", piece="3 15/16 in", wanted=2)


HOOD = {"hood_bore": "0.875 in", "recess": "7/16 in", "bore": "0.610 in"}


def test_shoulder() -> None:
    found = answer("shoulder", **HOOD, grip_od="1 in")
    assert (found.value("shoulder_od"), found.value("shoulder_length")) == (inch("0.865"), inch("13/32"))
    assert (found.value("wall"), found.value("take_off")) == (inch("0.1275"), inch("0.0675"))
    assert found.warnings == ()
    assert found.working[0].endswith("= 0.865 in (21.97 mm).")


@pytest.mark.parametrize(
    ("material", "bore", "weak"),
    [
        # The shoulder is 21.971 mm: a bore of 15.971 leaves 3 mm, one of 17.971 leaves 2 mm.
        ("cork", "15.971 mm", False),
        ("cork", "15.972 mm", True),
        ("foam", "15.972 mm", False),
        ("foam", "17.972 mm", True),
        ("wood", "17.971 mm", False),
        ("wood", "17.972 mm", True),
        ("other", "17.972 mm", True),
    ],
)
def test_a_thin_wall_is_warned_of(material: str, bore: str, weak: bool) -> None:
    found = answer("shoulder", **(HOOD | {"bore": bore, "material": material}))
    assert [("is weak" in said) for said in found.warnings] == ([True] if weak else [])
    with pytest.raises(LookupError):
        found.value("take_off")


def test_a_shoulder_without_a_wall_is_refused() -> None:
    assert "no wall would be left" in faults("shoulder", **(HOOD | {"bore": "0.865 in"}))["bore"]


def test_bores() -> None:
    found = answer("bores", stations=BLANK, butt_end="1/2 in", length="9 in")
    assert (found.value("butt_bore"), found.value("tip_bore")) == (inch("0.594"), inch("0.504"))
    assert found.value("tip_end") == inch("9 1/2")
    assert found.working[1].endswith("tip →")
    assert found.warnings == ()
    assert "length" in faults("bores", stations=BLANK, butt_end="4 in", length="9 in")
    growing = [BLANK[0], {"from_butt": "12 in", "od": "0.7 in"}]
    assert "thicker end" in answer("bores", stations=growing, butt_end="0 in", length="9 in").warnings[0]


def test_where_it_stops() -> None:
    found = answer("where-it-stops", stations=BLANK, bore="0.533 in", mark="1/2 in")
    assert (found.value("stops_at"), found.value("short")) == (inch("6"), inch("5 1/2"))
    assert found.value("bore_wanted") == inch("0.588")
    assert "Short by 6 in" in found.working[2]
    assert found.warnings == ()
    loose = answer("where-it-stops", stations=BLANK, bore="0.598 in", mark="1/2 in", clearance="0.003 in")
    assert (loose.value("stops_at"), loose.value("short")) == (inch("0.1"), 0)
    assert "0.002 in (0.051 mm) a side" in loose.warnings[0]
    never = answer("where-it-stops", stations=BLANK, bore="0.6 in", mark="1/2 in")
    assert never.value("stops_at") is None
    assert "nowhere that thick" in never.working[1]
    assert "bore" in faults("where-it-stops", stations=BLANK, bore="0.4 in", mark="1/2 in")


def test_pilot_steps() -> None:
    found = answer("pilot-steps", bore="5/16 in", wanted="3/8 in")
    assert found.value("count") == 4
    assert found.value("steps")[0] == (1, inch("5/16"), inch("21/64"))
    assert found.value("steps")[-1] == (4, inch("23/64"), inch("3/8"))
    assert "already as wide" in answer("pilot-steps", bore="3/8 in", wanted="3/8 in").warnings[0]
    assert "already wider" in faults("pilot-steps", bore="1/2 in", wanted="3/8 in")["bore"]


def test_halving_by_the_taper() -> None:
    found = answer("halving", short="6 in", taper="0.010")
    rows = found.value("schedule")
    assert (found.value("passes"), len(rows), found.value("left")) == (6, 6, inch("3/32"))
    assert rows[0] == (1, inch("6"), inch("3"), inch("3"), inch("0.030"))
    assert rows[5] == (6, inch("3/16"), inch("3/32"), inch("3/32"), 23_813)
    assert found.value("bore_wanted") is None
    assert found.working[0].startswith("Passes = ⌈log2(6 in (152.4 mm) ÷ 1/8 in")
    assert found.working[0].endswith("⌉ = 6.")
    assert found.working[1].endswith("3 in (76.2 mm) × 0.01 in/in = 0.030 in (0.76 mm).")
    near = answer("halving", short="1/8 in", taper="0.010")
    assert (near.value("passes"), near.value("left")) == (0, inch("1/8"))
    assert "already within" in near.warnings[0]


def test_halving_by_the_stations() -> None:
    found = answer("halving", short="6 in", stations=BLANK, mark="1/2 in")
    assert found.value("passes") == 6
    assert found.value("schedule")[0][4] == inch("0.030")
    assert found.value("bore_wanted") == inch("0.594")


@pytest.mark.parametrize(
    "given",
    [
        {"stations": EVEN, "mark": "1 in"},
        {"taper": 0, "od_at_mark": "0.5 in"},
        {"taper": -0.01, "od_at_mark": "0.5 in"},
    ],
)
def test_without_taper_the_bore_is_opened_straight(given: dict[str, Any]) -> None:
    found = answer("halving", short="6 in", **given)
    assert (found.value("passes"), found.value("bore_wanted")) == (None, inch("0.506"))
    assert "halving tells nothing" in found.warnings[0]
    assert not any(isinstance(figure, Table) for figure in found.figures)


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({}, "taper"),
        ({"taper": 0}, "od_at_mark"),
        ({"stations": BLANK}, "mark"),
        ({"stations": BLANK, "mark": "1 in", "taper": 0.01}, "taper"),
        ({"stations": BLANK, "mark": "1 in", "od_at_mark": "0.5 in"}, "od_at_mark"),
        ({"stations": BLANK, "mark": "7 in"}, "short"),
        ({"stations": BLANK, "mark": "13 in"}, "mark"),
        ({"taper": 2}, "taper"),
        ({"taper": float("nan")}, "taper"),
    ],
)
def test_halving_refuses(given: dict[str, Any], field: str) -> None:
    assert list(faults("halving", short="6 in", **given)) == [field]


SEAT = {"seat_bore": "0.650 in", "tape": "0.0055 in"}


def test_tape_bushing() -> None:
    found = answer("tape-bushing", **SEAT, od="0.470 in")
    assert (found.value("turns"), found.value("finished_od")) == (15, inch("0.635"))
    assert found.value("clearance_left") == inch("0.0075")
    assert found.value("tape_length") / NM_PER_INCH == pytest.approx(26.0, abs=0.05)
    assert "0.085 in (2.16 mm) a side to fill, more than 1/16 in" in found.warnings[0]
    assert "⌋ = 15." in found.working[0]
    assert answer("tape-bushing", **SEAT, od="0.510 in").value("turns") == 11
    with pytest.raises(LookupError):
        found.value("rings")


def test_rings_of_tape_along_a_seat() -> None:
    found = answer("tape-bushing", **SEAT, od="0.6 in", seat_length="4 in", open_end="1/4 in")
    rows = found.value("rings")
    assert [row[1] for row in rows] == [inch("1/4"), inch("1 13/16"), inch("3 3/8")]
    assert (found.value("gap"), found.value("tape_total")) == (inch("1 3/16"), 3 * rows[0][6])
    assert found.warnings == ()


def test_each_ring_is_worked_for_the_blank_under_it() -> None:
    # Worked by hand: the rings begin at 5-1/4, 6-13/16 and 8-3/8 in, where the blank is 0.5405, 0.524875
    # and 0.50925 in thick; 9.04, 10.46 and 11.88 turns would fill the seat.
    found = answer(
        "tape-bushing", **SEAT, stations=BLANK, seat_at="5 in", seat_length="4 in", open_end="1/4 in"
    )
    rows = found.value("rings")
    assert [row[2] for row in rows] == [inch("0.5405"), inch("0.524875"), inch("0.50925")]
    assert [row[3] for row in rows] == [9, 10, 11]
    assert found.value("turns") == 9
    assert found.value("tape_total") == sum(row[6] for row in rows)


def test_rings_out_of_the_usual_and_turns_that_do_not_fit_are_warned_of() -> None:
    found = answer(
        "tape-bushing", **SEAT, od="0.645 in", seat_length="6 in", ring_width="1 in", open_end="0 in"
    )
    assert found.value("turns") == 0
    assert [said.split(" are ")[0] for said in found.warnings[1:]] == ["Rings", "Open ends"]
    assert "no room for one turn" in found.warnings[0]


@pytest.mark.parametrize(
    ("given", "fields"),
    [
        ({}, ["od"]),
        ({"od": "0.66 in"}, ["seat_bore"]),
        ({"od": "0.5 in", "stations": BLANK}, ["od"]),
        ({"stations": BLANK}, ["seat_at", "seat_length"]),
        ({"stations": BLANK, "seat_at": "5 in"}, ["seat_length"]),
        ({"stations": BLANK, "seat_at": "9 in", "seat_length": "4 in"}, ["seat_at"]),
        ({"od": "0.5 in", "seat_length": "1 in"}, ["rings"]),
    ],
)
def test_tape_bushing_refuses(given: dict[str, Any], fields: list[str]) -> None:
    assert list(faults("tape-bushing", **SEAT, **given)) == fields


def test_arbor() -> None:
    found = answer("arbor", seat_bore="0.650 in", od="0.470 in")
    assert [found.value(name) for name in ("arbor_od", "arbor_bore", "wall")] == [
        inch("0.640"), inch("0.476"), inch("0.082"),
    ]  # fmt: skip
    assert found.warnings == ()
    assert "tape does there" in answer("arbor", seat_bore="0.650 in", od="0.53 in").warnings[0]
    # 0.0787 in is 2 mm, the least of foam: 0.640 - 2 x 0.0787 - 0.006 = 0.4766.
    (thin,) = answer("arbor", seat_bore="0.650 in", od="0.478 in").warnings
    assert "foam wants 0.0787 in (2 mm)" in thin
    assert answer("arbor", seat_bore="0.650 in", od="0.4765 in").warnings == ()
    assert "no wall is left" in faults("arbor", seat_bore="0.650 in", od="0.634 in")["seat_bore"]


PARTS = [
    {"name": "Tip-top", "from_butt": "83 in"},
    {"name": "First guide", "from_butt": "22 in", "goes_on": "wrapped on"},
    {"name": "Butt cap", "from_butt": "0 in", "goes_on": "butt"},
    {"name": "Winding check", "from_butt": "11 in", "bore": "0.49 in"},
    {"name": "Grip", "from_butt": "1/2 in", "length": "9 in", "bore": "0.504 in"},
]


def test_slide_on() -> None:
    found = answer("slide-on", parts=PARTS)
    assert [row[1] for row in found.value("order")] == [
        "Grip", "Winding check", "Tip-top", "First guide", "Butt cap",
    ]  # fmt: skip
    assert found.working[0].startswith("Grip: From the tip, before")
    assert "not compared with the blank" in found.warnings[0]
    assert answer("slide-on", parts=PARTS[:3]).warnings == ()


def test_slide_on_over_a_measured_blank() -> None:
    found = answer("slide-on", parts=PARTS[2:], stations=BLANK)
    assert found.warnings == ("Without a bore, whether it passes the blank was not checked: “Butt cap”.",)
    tight = [*PARTS[2:4], PARTS[4] | {"bore": "0.49 in"}]
    assert list(faults("slide-on", parts=tight, stations=BLANK)) == ["parts.3.bore"]
    assert list(faults("slide-on", parts=[*PARTS, {"name": "Ring"}])) == ["parts.6.from_butt"]
