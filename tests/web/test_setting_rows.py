"""The rows of Setting: what is kept of them is what would be made anew, at every instant that matters."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from shop.rules.facts import CureFact
from shop.rules.hours import Hours
from shop.rules.soft import SoftCure
from shop.web.setting_rows import Frame, draw_row, frame_at, kept_rows, table_row
from shop.web.stretches import QuickScale, microseconds, stretches_at
from shop.web.templating import ENVIRONMENT

ZONE = ZoneInfo("Europe/Oslo")
HOURS = Hours(((time(8), time(17)),) * 5 + (None, None))
CLOSED = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
# Set, turned, hard, the window's two ends, the last instant before it at which somebody is here, midnight.
HOURS_AFTER = (5, 4, 24, 6, 20, 7, 14)


def a_cure(takes_a_coat: bool, tacky: bool = False) -> SoftCure:
    set_at, turned_at, full_at, opens, shuts = (CLOSED + timedelta(hours=n) for n in HOURS_AFTER[:5])
    cure = CureFact(
        7, "guide wraps", "Stillwater", CLOSED, set_at, full_at, opens, shuts, True, CLOSED + MINUTE,
        tacky=tacky, turned_at=turned_at, lies_in="bench",
    )  # fmt: skip
    return SoftCure("26-001", cure, takes_a_coat)


def frame_of(minute: datetime) -> Frame:
    return frame_at(minute, CLOSED + timedelta(hours=24), ZONE, HOURS)


def forget() -> None:
    frame_at.cache_clear()
    kept_rows.cache_clear()


@pytest.mark.parametrize("render", [draw_row, table_row])
@pytest.mark.parametrize("soft", [a_cure(True), a_cure(False), a_cure(False, tacky=True)])
def test_a_kept_row_is_the_row_that_would_be_made(
    soft: SoftCure, render: Callable[[SoftCure, Frame], object]
) -> None:
    instants = sorted(
        CLOSED + timedelta(hours=n) + by for n in HOURS_AFTER for by in (-MINUTE, MINUTE * 0, MINUTE)
    )
    anew = []
    for minute in instants:
        forget()
        anew.append(render(soft, frame_of(minute)))
    forget()
    assert [render(soft, frame_of(minute)) for minute in instants] == anew
    # And with the clock going back.
    assert [render(soft, frame_of(minute)) for minute in reversed(instants)] == anew[::-1]
    assert len({str(row) for row in anew}) > 1


def test_words_are_kept_from_minute_to_minute_and_no_longer() -> None:
    forget()
    soft, before = a_cure(True), CLOSED + timedelta(hours=5) - 2 * MINUTE
    first, second, third = (draw_row(soft, frame_of(before + n * MINUTE)) for n in range(3))
    assert second.words is first.words
    assert second.bars != first.bars
    assert "sets 15:00" in first.words.times
    assert "set 15:00" in third.words.times


def test_what_is_kept_is_of_this_very_cure() -> None:
    """A correction, a coat to come or another database may give the same id to another cure."""
    forget()
    frame, one = frame_of(CLOSED + MINUTE), a_cure(False)
    later = one._replace(cure=replace(one.cure, set_at=CLOSED + timedelta(hours=9)))
    for soft in (one, a_cure(True), later, one._replace(number="26-002"), one):
        found = draw_row(soft, frame), table_row(soft, frame)
        forget()
        anew = frame_of(CLOSED + MINUTE)
        assert found == (draw_row(soft, anew), table_row(soft, anew))


def test_what_somebody_typed_is_text_in_a_row() -> None:
    forget()
    typed = "<b>tip</b> & top"
    cure = replace(a_cure(True).cure, place=typed, adhesive=typed, lies_in=typed)
    soft, frame = SoftCure(typed, cure, True), frame_of(CLOSED + MINUTE)
    macros: Any = ENVIRONMENT.get_template("macros/setting.html").module
    ruler, table = macros.ruler_rows([draw_row(soft, frame)]), macros.table_rows([table_row(soft, frame)])
    escaped = "&lt;b&gt;tip&lt;/b&gt; &amp; top"
    # The rod's number twice, as an address too; place and adhesive, and in the table the zone.
    assert (ruler.count(escaped), table.count(escaped)) == (4, 5)
    assert typed not in ruler
    assert typed not in table


def test_places_in_microseconds_are_those_of_the_scale() -> None:
    for minutes in (0, 7, 481, 14 * 60 + 30, 15 * 60):
        now = CLOSED + minutes * MINUTE
        scale = stretches_at(now, CLOSED + timedelta(hours=60), ZONE)
        quick = QuickScale(scale)
        at = [scale.start + n * timedelta(minutes=7, microseconds=123_457) for n in range(-3, 800)]
        at += [edge for part in scale.stretches for edge in (part.start, part.end)]
        assert [quick.per_cent(microseconds(instant)) for instant in at] == [
            scale.per_cent(one) for one in at
        ]
        assert (quick.start, quick.end) == (microseconds(scale.start), microseconds(scale.end))
