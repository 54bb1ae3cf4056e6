"""The line through guides on arcs worked by hand, and layouts that are never made worse."""

from itertools import pairwise
from math import cos, degrees, pi, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.faults import SumFault
from shop.craft.flex.beam import bend
from shop.craft.flex.layout import Layout, even_out
from shop.craft.flex.line import Guide, Rig, line_path
from shop.craft.flex.shape import Shape
from tests.craft.flex_blanks import blank

RADIUS = 500.0
REEL = Guide(10.0, 8.0)


def arc(points: int = 2001) -> Shape:
    """A quarter of a circle of 500 mm radius, level at the butt and straight down at the tip."""
    turns = [pi / 2 * n / (points - 1) for n in range(points)]
    return Shape(
        tuple(RADIUS * turn for turn in turns),
        tuple(RADIUS * sin(turn) for turn in turns),
        tuple(RADIUS * (1 - cos(turn)) for turn in turns),
        tuple(turns),
        0.0,
        0.0,
    )


def even(count: int, height_mm: float) -> list[Guide]:
    """Guides on the arc, one every tenth of its length, from the tip."""
    length = RADIUS * pi / 2
    return [Guide(length * (1 - number / 10), height_mm) for number in range(1, count + 1)]


@pytest.mark.parametrize("on_top", [True, False])
def test_on_an_arc_each_guide_turns_the_line_by_a_span(on_top: bool) -> None:
    # By hand: ring centres on a circle, a tenth of a right angle apart; chords turn by as much.
    path = line_path(arc(), lambda _: 6.0, even(8, 5.0), Rig(on_top, 5.0, REEL))
    assert path.turns_deg[:7] == pytest.approx([9.0] * 7, abs=1e-6)
    # The last chord leaves the tip at half a span short of straight down.
    assert path.tip_top_turn_deg == pytest.approx(4.5, abs=1e-6)


@pytest.mark.parametrize(("height_mm", "touches"), [(5.0, False), (1.2, True)])
def test_the_room_over_an_arc(height_mm: float, touches: bool) -> None:
    # By hand: the chord's middle is (R + r + h)·cos(half a span) from the arc's centre, the blank R + r.
    path = line_path(arc(), lambda _: 6.0, even(8, height_mm), Rig(True, height_mm, REEL))
    wanted = (RADIUS + 3.0 + height_mm) * cos(pi / 40) - RADIUS - 3.0
    assert path.gaps_mm[:8] == pytest.approx([wanted] * 8, abs=1e-3)
    assert (wanted < 0) is touches


def test_below_the_blank_the_line_draws_away_between_guides() -> None:
    path = line_path(arc(), lambda _: 6.0, even(8, 5.0), Rig(False, 5.0, REEL))
    # Least at the guides, where the chord meets the ring at half a span from square.
    assert path.gaps_mm[:8] == pytest.approx([8.0 * cos(pi / 40) - 3.0] * 8, abs=0.05)
    assert min(path.gaps_mm) > 4.8


def test_the_reel_turns_the_last_guide() -> None:
    # By hand: a straight blank of 1 m hardly bent, reel 20 mm over it, one guide 10 mm over it 400 mm on.
    shape = bend(blank(), 1e-6)
    path = line_path(shape, lambda _: 0.0, [Guide(1500.0, 10.0)], Rig(True, 10.0, Guide(1100.0, 20.0)))
    assert path.turns_deg == pytest.approx([degrees(-0.024994793)], abs=1e-4)
    assert path.tip_top_turn_deg == pytest.approx(90.0, abs=1e-3)
    assert path.gaps_mm == pytest.approx([10.0, 10.0], abs=0.01)


@pytest.mark.parametrize(
    ("guides", "rig", "field", "says"),
    [
        ([], Rig(True, 1.0, REEL), "guides", "There is no guide"),
        ([Guide(900, 5), Guide(950, 5)], Rig(True, 1.0, REEL), "guides.2.from_tip", "farther from the tip"),
        ([Guide(2000, 5)], Rig(True, 1.0, REEL), "guides.1.from_tip", "than the tip-top"),
        ([Guide(-1, 5)], Rig(True, 1.0, Guide(-2, 1)), "guides.1.from_tip", "past the butt"),
        ([Guide(900, -5)], Rig(True, 1.0, REEL), "guides.1.height", "inside the blank"),
        ([Guide(900, 5)], Rig(True, 1.0, Guide(900, 9)), "reel_from_butt", "behind the last guide"),
        ([Guide(900, 5)], Rig(True, -1.0, REEL), "tip_top_height", "cannot lie inside"),
        ([Guide(900, 5)], Rig(True, 1.0, Guide(10, -1)), "reel_height", "leave the reel inside"),
    ],
)
def test_what_no_line_runs_through(guides: list[Guide], rig: Rig, field: str, says: str) -> None:
    with pytest.raises(SumFault, match=says) as fault:
        line_path(bend(blank(), 2.0), blank().od_at, guides, rig)
    assert field in fault.value.errors


def progressive(count: int, first: float, last: float) -> list[Guide]:
    step = 2 * (last - count * first) / (count * (count - 1))
    return [
        Guide(2000.0 - (k * first + step * k * (k - 1) / 2), 4.0 + k * k / 6.0) for k in range(1, count + 1)
    ]


RIG = Rig(True, 3.0, Guide(250.0, 25.0))


def test_ten_guides_are_evened_out() -> None:
    shape = bend(blank(), 2.5)
    before, after = even_out(shape, blank().od_at, progressive(10, 80.0, 1450.0), RIG)
    # The reel and the tip-top stay, and bound how even the turns can be made.
    assert before.spread_deg > 3.5
    assert after.spread_deg < 0.5 * before.spread_deg
    path = line_path(shape, blank().od_at, after.guides, RIG)
    assert path.turns_deg == pytest.approx(after.turns_deg)
    assert max(after.turns_deg) < max(before.turns_deg)


def test_on_an_arc_the_even_layout_is_found_from_an_uneven_one() -> None:
    # By hand: on a circle, evenly bent spans are even spans.
    uneven = [Guide(at, 5.0) for at in (700.0, 650.0, 600.0, 300.0, 250.0, 100.0)]
    _, after = even_out(arc(), lambda _: 6.0, uneven, Rig(True, 5.0, REEL))
    gaps = [outer.from_butt_mm - inner.from_butt_mm for outer, inner in pairwise(after.guides)]
    assert max(gaps) / min(gaps) < 1.5


@settings(max_examples=60, deadline=None)
@given(
    st.floats(-0.7, 1.2).map(lambda power: 10.0**power),
    st.lists(st.floats(300.0, 1950.0), min_size=3, max_size=14, unique=True),
    st.booleans(),
    st.booleans(),
)
def test_no_layout_is_made_less_even(
    load_n: float, places: list[float], on_top: bool, gaps_grow: bool
) -> None:
    shape = bend(blank(), load_n, points=80)
    guides = [Guide(at, 2.0 + 0.01 * (2000.0 - at)) for at in sorted(places, reverse=True)]
    rig = Rig(on_top, 2.0, Guide(250.0, 25.0))
    before, after = even_out(shape, blank().od_at, guides, rig, gaps_grow)
    assert after.spread_deg <= before.spread_deg
    assert [guide.from_butt_mm for guide in before.guides] == [guide.from_butt_mm for guide in guides]
    assert (after.guides[0], after.guides[-1]) == (guides[0], guides[-1])
    assert [guide.height_mm for guide in after.guides] == [guide.height_mm for guide in guides]
    gaps = [outer.from_butt_mm - inner.from_butt_mm for outer, inner in pairwise(after.guides)]
    assert min(gaps) > 0.0
    if gaps_grow and after is not before:
        assert all(inner >= outer - 1e-6 for outer, inner in pairwise(gaps))
    assert even_out(shape, blank().od_at, guides, rig, gaps_grow) == (before, after)


def test_it_goes_on_while_it_finds_more_even_layouts() -> None:
    # Found by trial: the first round leaves 0.871° of the 2.807°, the fourth 0.566°, and the eighth 0.393°.
    places = (1900.0, 1800.0, 1700.0, 1600.0, 1500.0, 1400.0, 1300.0, 1200.0, 1000.0, 800.0)
    guides = [Guide(at, 2.0 + 0.01 * (2000.0 - at)) for at in places]
    before, after = even_out(bend(blank(), 1.0), blank().od_at, guides, RIG, gaps_grow=False)
    assert before.spread_deg == pytest.approx(2.807, abs=0.01)
    assert after.spread_deg == pytest.approx(0.393, abs=0.01)


def test_two_guides_leave_none_to_move() -> None:
    with pytest.raises(SumFault, match="2 guides leave none to move") as fault:
        even_out(bend(blank(), 2.0), blank().od_at, progressive(2, 80.0, 1450.0), RIG)
    assert list(fault.value.errors) == ["guides"]


def test_the_spread_of_a_layout() -> None:
    assert Layout((), (3.0, 7.5, 4.0)).spread_deg == 4.5
