"""The two pictures: a rod shows what is on it and nothing else; a ruler puts instants where they belong."""

import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.web.drawing import PARTS, RodDrawing, draw_rod
from shop.web.ruler import RulerBar, RulerCure, draw_mini_ruler, draw_ruler
from shop.web.templating import make_environment

KINDS = ("casting", "spinning", "fly", "surf", "boat", "repair")
ZONE = ZoneInfo("Europe/Berlin")
# Thursday 26 November 2026, 14:20 in the shop.
NOW = datetime(2026, 11, 26, 13, 20, tzinfo=UTC)
THREAD = "#8a1f2d"


def hours(count: float) -> datetime:
    return NOW + timedelta(hours=count)


def cure(closed: float, set_: float | None, full: float | None, **more: object) -> RulerCure:
    at = {name: None if value is None else hours(value) for name, value in (("set", set_), ("full", full))}
    window = more.get("recoat", (None, None))
    assert isinstance(window, tuple)
    begins, ends = (None if value is None else hours(value) for value in window)
    stalled = bool(more.get("stalled", False))
    return RulerCure("26-014 rear grip", "/x", hours(closed), at["set"], at["full"], begins, ends, stalled)


def parts_drawn(rod: RodDrawing) -> set[str]:
    return {path.part.split()[0] for path in rod.paths}


def right_edge(d: str) -> float:
    """The largest absolute x at which a stroke of an outline begins."""
    return max(float(x) for x in re.findall(r"M(-?[\d.]+)", d))


@pytest.mark.parametrize(
    ("on_it", "drawn"),
    [
        (set(), {"blank"}),
        ({"rear grip"}, {"blank", "grip"}),
        ({"reel seat"}, {"blank", "seat"}),
        ({"tip-top"}, {"blank", "ring"}),
        ({"guides", "wraps"}, {"blank", "ring", "wrap"}),
        ({"butt cap"}, {"blank", "cap"}),
    ],
)
def test_a_rod_shows_only_what_is_on_it(on_it: set[str], drawn: set[str]) -> None:
    rod = draw_rod("casting", 1, frozenset(on_it), THREAD, compact=True)
    assert parts_drawn(rod) == drawn


def test_the_words_say_what_is_on_and_what_is_not() -> None:
    rod = draw_rod("casting", 1, frozenset({"rear grip", "reel seat"}), THREAD)
    assert rod.description == (
        "Casting rod, so far: rear grip, reel seat. "
        "Not yet: fore grip, tip-top, guides, wraps, gloss, butt cap."
    )


def test_a_bare_blank_in_pieces_and_a_finished_rod_say_so() -> None:
    bare = draw_rod("spinning", 2, frozenset(), THREAD, compact=True)
    assert bare.description == "Spinning rod in 2 pieces, so far: the bare blank."
    assert draw_rod("surf", 1, frozenset(PARTS), THREAD).description.endswith("Nothing is missing.")


def test_a_fly_rod_has_its_one_grip_ahead_of_the_seat_whatever_the_sequence_calls_it() -> None:
    rear = draw_rod("fly", 4, frozenset({"rear grip", "reel seat"}), THREAD)
    fore = draw_rod("fly", 4, frozenset({"fore grip", "reel seat"}), THREAD)
    assert rear == fore
    outlines = {path.part: path.d for path in rear.paths}
    assert right_edge(outlines["grip"]) > right_edge(outlines["seat"])
    assert "rear grip" not in rear.description


def test_casting_guides_stand_above_the_blank_and_spinning_guides_below() -> None:
    legs = {}
    for kind in ("casting", "spinning"):
        paths = draw_rod(kind, 1, frozenset({"guides"}), THREAD, compact=True).paths
        ring = next(path.d for path in paths if path.part == "ring")
        legs[kind] = float(re.findall(r"v(-?[\d.]+)", ring)[0])
    assert legs["casting"] < 0 < legs["spinning"]


def test_every_joint_between_pieces_is_marked() -> None:
    for pieces in (1, 2, 3, 4):
        paths = draw_rod("fly", pieces, frozenset(), THREAD).paths
        marks = "".join(path.d for path in paths if path.part == "mark")
        assert marks.count("M") == pieces - 1


def test_the_thread_keeps_its_colour_on_the_wraps_alone() -> None:
    rod = draw_rod("boat", 1, frozenset(PARTS), THREAD)
    assert [path.part for path in rod.paths if path.fill] == ["wrap"]
    assert next(path.fill for path in rod.paths if path.part == "wrap") == THREAD


@pytest.mark.parametrize(
    ("kind", "pieces", "on_it", "colour"),
    [
        ("kite", 1, frozenset(), THREAD),
        ("fly", 0, frozenset(), THREAD),
        ("fly", 1, frozenset({"sail"}), THREAD),
        ("fly", 1, frozenset(), "red"),
        ("fly", 1, frozenset(), "#8a1f2d\n"),
        ("fly", 1, frozenset(), '#8a1f2d"/>'),
    ],
)
def test_what_cannot_be_drawn_is_refused(kind: str, pieces: int, on_it: frozenset[str], colour: str) -> None:
    with pytest.raises(ValueError, match=r"\."):
        draw_rod(kind, pieces, on_it, colour)


@given(
    kind=st.sampled_from(KINDS),
    pieces=st.integers(1, 8),
    on_it=st.frozensets(st.sampled_from(PARTS)),
    compact=st.booleans(),
)
def test_any_rod_is_well_formed_and_inside_its_box(
    kind: str, pieces: int, on_it: frozenset[str], compact: bool
) -> None:
    rod = draw_rod(kind, pieces, on_it, THREAD, compact=compact)
    for path in rod.paths:
        assert re.fullmatch(r"[MLlhHvVcamz0-9. -]+", path.d)
        assert 0 <= right_edge(path.d) <= rod.width


@pytest.mark.parametrize("kind", KINDS)
def test_a_row_of_the_bench_stays_short(kind: str) -> None:
    """Sixty of these go into one page; a whole rod may take a kilobyte, a usual one much less."""
    macros = make_environment().get_template("macros/rod.html").module
    whole = draw_rod(kind, 2, frozenset(PARTS), THREAD, compact=True)
    usual = draw_rod(kind, 2, frozenset(PARTS[:4]), THREAD, compact=True)
    rod = vars(macros)["rod"]
    assert len(rod(whole)) < 1000
    assert len(rod(usual)) < 600


@pytest.mark.parametrize(
    ("one", "state", "kinds"),
    [
        (cure(-1, 4, 20), "setting", ["hatched", "light", "solid"]),
        (cure(-4, 0, 20), "set", ["hatched", "light", "solid"]),
        (cure(-4, 1 / 60, 20), "setting", ["hatched", "light", "solid"]),
        (cure(-9, -4, 0), "full", ["hatched", "light", "solid"]),
        (cure(-9, -4, 1 / 60), "set", ["hatched", "light", "solid"]),
        (cure(-1, None, None, stalled=True), "stalled", ["stalled"]),
        (cure(-9, -4, None, stalled=True), "stalled", ["hatched", "stalled"]),
        (cure(-9, -4, None), "set", ["hatched", "light"]),
        (cure(-1, 60, 90), "setting", ["hatched"]),
        (cure(-90, -80, -70), "full", ["solid"]),
        (cure(-9, -4, 20)._replace(tacky=True), "held", ["hatched"]),
        (cure(-90, -80, -70)._replace(tacky=True), "held", ["hatched"]),
    ],
)
def test_a_cure_is_hatched_until_set_light_until_full_and_solid_after(
    one: RulerCure, state: str, kinds: list[str]
) -> None:
    row = draw_mini_ruler(one, hours(-24), hours(48), NOW, ZONE)
    assert row.state == state
    assert [bar.kind for bar in row.bars] == kinds


def test_bars_lie_where_their_instants_are() -> None:
    row = draw_mini_ruler(cure(-12, 0, 24), hours(-24), hours(48), NOW, ZONE)
    light = next(bar for bar in row.bars if bar.kind == "light")
    assert light == RulerBar("light", 33.33, 33.34)
    assert row.now_at == 33.33
    assert sum(bar.width for bar in row.bars) == pytest.approx(100 * 60 / 72 + 1, abs=0.05)


def test_what_goes_on_beyond_the_ruler_has_no_edge_there() -> None:
    row = draw_mini_ruler(cure(-30, 0, None, stalled=True), hours(-24), hours(24), NOW, ZONE)
    assert row.bars[0].x < 0
    assert row.bars[-1].x + row.bars[-1].width > 100


def test_the_words_beside_a_bar() -> None:
    now_setting = draw_mini_ruler(cure(-1, 4, 16), hours(-24), hours(48), NOW, ZONE)
    assert (now_setting.word, now_setting.text) == ("setting", "sets 18:20 · full Fri 27 Nov 06:20")
    cold = draw_mini_ruler(cure(-1, None, None, stalled=True), hours(-24), hours(48), NOW, ZONE)
    assert (cold.word, cold.text) == ("stalled", "too cold, no time")
    tacky = draw_mini_ruler(cure(-9, -4, -1)._replace(tacky=True), hours(-24), hours(48), NOW, ZONE)
    assert (tacky.word, tacky.text) == ("tacky", "puddle found tacky: leave alone until it is firm")
    coat = draw_mini_ruler(cure(-5, -1, 30, recoat=(2, 9)), hours(-24), hours(48), NOW, ZONE)
    assert coat.text == "set 13:20 · full Fri 27 Nov 20:20 · recoat 16:20 to 23:20"


@pytest.mark.parametrize(
    ("window", "opens", "closes"),
    [((2, 9), True, True), ((-30, 9), False, True), ((2, 90), True, False), ((2, None), True, False)],
)
def test_a_recoat_window_is_a_bracket_closed_where_it_ends_on_the_ruler(
    window: tuple[float, float | None], opens: bool, closes: bool
) -> None:
    row = draw_mini_ruler(cure(-5, -1, 30, recoat=window), hours(-24), hours(48), NOW, ZONE)
    assert row.recoat is not None
    assert (row.recoat.opens, row.recoat.closes) == (opens, closes)
    assert 0 <= row.recoat.x < row.recoat.end <= 100


@pytest.mark.parametrize("window", [(49, 60), (-40, -25), (None, None)])
def test_a_recoat_window_off_the_ruler_is_not_drawn(window: tuple[float, float]) -> None:
    assert draw_mini_ruler(cure(-50, -45, 90, recoat=window), hours(-24), hours(48), NOW, ZONE).recoat is None


def test_ticks_stand_at_the_shops_own_hours_across_the_end_of_summer_time() -> None:
    """In Berlin 2026-10-25 has 25 hours: two of 02:00, of which the first alone has a tick."""
    start, end = datetime(2026, 10, 24, 22, tzinfo=UTC), datetime(2026, 10, 25, 23, tzinfo=UTC)
    ticks = draw_ruler([], start, end, start, ZONE, width=4000).ticks
    assert [tick.label for tick in ticks if tick.at <= 16] == ["Sun 25", "01:00", "02:00", "03:00"]
    assert [tick.at for tick in ticks if tick.at <= 16] == [0.0, 4.0, 8.0, 16.0]
    assert ticks[-1].at == 100.0
    assert len(ticks) == 25


def test_an_hour_that_summer_time_leaves_out_has_no_tick() -> None:
    """In Berlin 2026-03-29 goes from 02:00 straight to 03:00."""
    start, end = datetime(2026, 3, 28, 23, tzinfo=UTC), datetime(2026, 3, 29, 22, tzinfo=UTC)
    labels = [tick.label for tick in draw_ruler([], start, end, start, ZONE, width=4000).ticks]
    assert labels[:4] == ["Sun 29", "01:00", "03:00", "04:00"]


@given(
    span_hours=st.integers(1, 24 * 40), offset_hours=st.integers(-5000, 5000), width=st.integers(280, 2000)
)
def test_a_ruler_never_has_more_ticks_than_fit(span_hours: int, offset_hours: int, width: int) -> None:
    start = hours(offset_hours)
    drawing = draw_ruler([], start, start + timedelta(hours=span_hours), NOW, ZONE, width)
    places = [tick.at for tick in drawing.ticks]
    assert places == sorted(set(places))
    assert all(0 <= place <= 100 for place in places)
    # One more may stand at the far end, and a short day of summer time squeezes in another.
    assert len(places) <= max(1, width // 72) + 2
    assert sum(tick.room == "any" for tick in drawing.ticks) <= 7


def test_a_ruler_must_end_after_it_starts() -> None:
    with pytest.raises(ValueError, match="ends after"):
        draw_ruler([], NOW, NOW, NOW, ZONE)
    with pytest.raises(ValueError, match="ends after"):
        draw_mini_ruler(cure(-1, 1, 2), NOW, NOW, NOW, ZONE)


def test_now_is_named_on_the_side_that_has_room() -> None:
    early = draw_ruler([], hours(-1), hours(23), NOW, ZONE)
    late = draw_ruler([], hours(-23), hours(1), NOW, ZONE)
    gone = draw_ruler([], hours(1), hours(23), NOW, ZONE)
    assert (early.now_side, late.now_side, gone.now_at) == ("after", "before", None)
    assert early.now_text == "now 14:20"
