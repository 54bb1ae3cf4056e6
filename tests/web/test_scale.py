"""The rod to scale: everything at its place, to one scale, with labels that do not cover each other."""

import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.lengths import parse_length
from shop.craft.spine import GuidesGo
from shop.rules.make_up import Bare, GuideSpot, MakeUp, Part
from shop.web.orientation import FacingDrawing, draw_facing
from shop.web.scale import MARGIN, WIDTH, ScaleDrawing, draw_handle, draw_to_scale
from shop.web.scale_labels import Label, spread

LENGTH = 84
PLACES = (
    ("rear grip", "grip", 0.25, 9.75),
    ("reel seat", "reel seat", 9.75, 14.5),
    ("fore grip", "grip", 14.5, 18),
)
GUIDES = (0, 4.25, 9, 14.5, 51.5)


def inch(count: float) -> int:
    return round(count * parse_length("1 in"))


def blank(**other: object) -> Bare:
    stations = ((0, inch(0.5)), (inch(LENGTH), inch(0.1)))
    return Bare("blank", inch(LENGTH), **{"stations": stations, **other})  # type: ignore[arg-type]


def rod(kind: str = "casting", **other: object) -> MakeUp:
    parts = tuple(
        Part(place, what, place, inch(a), inch(b), sizes={"od": inch(1)}) for place, what, a, b in PLACES
    )
    guides = tuple(GuideSpot(inch(at), "ring", sizes={"ring_od": inch(0.25)}) for at in GUIDES)
    return MakeUp(1, kind, **{"blank": blank(), "parts": parts, "guides": guides, **other})  # type: ignore[arg-type]


def drawn(make_up: MakeUp) -> ScaleDrawing:
    drawing = draw_to_scale(make_up)
    assert drawing is not None
    return drawing


def outlines(drawing: ScaleDrawing, part: str) -> list[str]:
    return [shape.d for shape in drawing.shapes if shape.part == part]


def numbers(d: str) -> list[float]:
    return [float(number) for number in re.findall(r"-?\d+\.\d", d)]


def place_of(at: float, span: float = LENGTH) -> float:
    """Where a place `at` inches from the butt lies in a drawing that shows `span` inches."""
    return round(MARGIN + at * (WIDTH - 2 * MARGIN) / span, 1)


def times_of(drawing: ScaleDrawing) -> int:
    found = re.search(r"(\d) times", drawing.caption)
    return int(found[1]) if found else 1


def test_parts_and_guides_are_measured_where_they_really_are() -> None:
    measured = {numbers(d)[0] for d in outlines(drawn(rod()), "leader")}
    ends = {place_of(at) for at in (0.25, 9.75, 14.5, 18)}
    assert measured == ends | {place_of(LENGTH - at) for at in GUIDES}


def test_each_measure_is_written_in_inches_from_its_named_datum() -> None:
    said = [words.text for words in drawn(rod()).words]
    assert said[:9] == ["1/4", "9 3/4", "14 1/2", "18", "51 1/2", "14 1/2", "9", "4 1/4", "0"]
    assert said[9:] == ["▸ from the butt, inches", "from the tip, inches ◂"]


def test_thickness_is_drawn_as_many_times_as_large_as_the_caption_says() -> None:
    drawing = drawn(rod())
    assert times_of(drawing) > 1
    butt_top, butt_low = numbers(outlines(drawing, "blank")[0])[1], numbers(outlines(drawing, "blank")[0])[-1]
    a_inch = place_of(1) - place_of(0)
    assert butt_low - butt_top == pytest.approx(0.5 * a_inch * times_of(drawing), abs=0.6)


def test_the_handle_alone_is_larger_and_names_every_part_in_both_units() -> None:
    drawing = draw_handle(rod())
    assert drawing is not None
    said = [words.text for words in drawing.words]
    assert said[:3] == ["rear grip", "reel seat", "fore grip"]
    assert said[5:7] == ["9 3/4", "247.7"]
    assert not outlines(drawing, "ring")
    ends = {numbers(d)[0] for d in outlines(drawing, "leader")}
    assert place_of(9.75, 18 * 1.06) in ends


@pytest.mark.parametrize(
    ("kind", "on_top"),
    [("casting", True), ("boat", True), ("spinning", False), ("fly", False), ("surf", False)],
)
def test_guides_stand_on_the_side_of_the_kind_of_rod(kind: str, on_top: bool) -> None:
    drawing = drawn(rod(kind))
    axis = (
        sum(numbers(outlines(drawing, "blank")[0])[1::2][:1] + numbers(outlines(drawing, "blank")[0])[-1:])
        / 2
    )
    for guide in outlines(drawing, "ring"):
        ring = numbers(guide[: guide.index("a")])[-1]
        assert (ring < axis) is on_top


def test_joints_are_drawn_and_said() -> None:
    drawing = drawn(rod("fly", blank=blank(pieces=2, joints=((inch(42), inch(2)),))))
    assert numbers(outlines(drawing, "joint")[0])[0] == pytest.approx(place_of(42), abs=2)
    assert outlines(drawing, "inserted")
    assert "joint 42" in [words.text for words in drawing.words]
    assert "In 2 pieces; joints from the butt: 42 in." in drawing.description


def test_only_a_casting_seat_has_a_trigger() -> None:
    assert len(outlines(drawn(rod("casting")), "seat")) == 2
    assert len(outlines(drawn(rod("spinning")), "seat")) == 1


def test_what_is_not_on_file_is_drawn_by_eye_and_said_so() -> None:
    assert "by eye" not in drawn(rod()).caption
    assert "by eye" in drawn(rod(blank=blank(stations=()))).caption


def test_an_arbor_is_seen_through_its_seat() -> None:
    arbor = Part("reel seat arbor", "arbor", "arbor", inch(10), inch(14), sizes={"od": inch(0.6)})
    parts = [shape.part for shape in drawn(rod(parts=(arbor, *rod().parts))).shapes]
    assert parts.index("arbor") > parts.index("seat")


@pytest.mark.parametrize("kind", ["gimbal", "butt cap", "winding check", "other"])
def test_every_kind_of_part_has_an_outline(kind: str) -> None:
    part = Part("end", kind, "end", 0, inch(0.5))
    assert len(drawn(rod(parts=(part,))).shapes) > len(drawn(rod(parts=())).shapes)


def test_without_a_blank_there_is_no_drawing_and_without_a_handle_none_of_it() -> None:
    assert draw_to_scale(rod(blank=None)) is None
    assert draw_handle(rod(blank=None)) is None
    assert draw_handle(rod(parts=())) is None
    bare = drawn(rod(parts=(), guides=()))
    assert bare.words == ()
    assert "No handle is laid down. No guides are laid down." in bare.description


def test_the_description_says_what_the_picture_shows() -> None:
    said = drawn(rod()).description
    assert said.startswith("The rod to scale, 84 in (2133.6 mm) long, butt at the left.")
    assert "rear grip 1/4 to 9 3/4; reel seat 9 3/4 to 14 1/2; fore grip 14 1/2 to 18." in said
    assert said.endswith("Guides from the tip, in inches: 0, 4 1/4, 9, 14 1/2, 51 1/2.")


places = st.lists(st.floats(0, WIDTH), min_size=1, max_size=40)


@given(places)
def test_labels_keep_their_order_and_do_not_cover_each_other(xs: list[float]) -> None:
    labels = [Label(x, ("19 23/64",)) for x in sorted(xs)]
    placed = spread(labels, WIDTH)
    assert [item.label for item in placed] == labels
    for row in {item.row for item in placed}:
        line = [item for item in placed if item.row == row]
        for before, after in pairwise(line):
            apart = (before.label.wide + after.label.wide) / 2
            assert after.x - before.x >= apart - 1e-6
        assert all(
            item.label.wide / 2 - 1e-6 <= item.x <= WIDTH - item.label.wide / 2 + 1e-6 for item in line
        )


@given(st.floats(100, 900))
def test_a_label_alone_stands_at_its_place(x: float) -> None:
    assert spread([Label(x, ("9",))], WIDTH)[0].x == pytest.approx(x)


def said_of(kind: str, rule: str) -> FacingDrawing:
    facing = draw_facing(kind, rule)
    assert facing is not None
    return facing


@pytest.mark.parametrize(
    ("kind", "rule", "says"),
    [
        ("casting", GuidesGo.ON_MARK, "mark, reel and guides top, trigger underneath."),
        ("casting", GuidesGo.OPPOSITE, "reel and guides top, mark and trigger underneath."),
        ("boat", GuidesGo.ON_MARK, "mark, reel and guides top."),
        ("spinning", GuidesGo.OPPOSITE, "mark top, reel and guides underneath."),
        ("fly", GuidesGo.ON_MARK, "mark, reel and guides underneath."),
        (
            "surf",
            GuidesGo.IGNORED,
            "reel and guides underneath. The mark is ignored: the straightest axis counts.",
        ),
    ],
)
def test_how_a_rod_faces_is_drawn_and_said(kind: str, rule: str, says: str) -> None:
    facing = said_of(kind, rule)
    assert facing.description == f"Seen from the butt: {says}"
    parts = {shape.part for shape in facing.shapes}
    assert ("spine-mark" in parts) is (rule != GuidesGo.IGNORED)
    assert ("trigger" in parts) is (kind == "casting")


def test_mark_and_guides_are_drawn_on_their_sides() -> None:
    middle = 85
    for rule, above in ((GuidesGo.OPPOSITE, True), (GuidesGo.ON_MARK, False)):
        mark = next(shape for shape in said_of("spinning", rule).shapes if shape.part == "spine-mark")
        point = int(mark.d.split("L")[0].split()[1])
        assert (point < middle) is above


def test_a_repair_faces_as_it_came() -> None:
    assert draw_facing("repair", "as it came") is None
