"""What a calendar is told: whole seconds that are never too early, and nothing of what is in doubt."""

from datetime import timedelta
from typing import Any

import pytest

from shop.rules.calendar_feeds import SHOWN_FOR, Entry, entries_of
from shop.rules.facts import CureFact
from shop.rules.soft import SoftCure
from tests.rules.builders import SECOND, after, coat, cure, failed, tacky

STALLED: dict[str, Any] = {"set_at": None, "full_at": None, "recoat_from": None, "recoat_until": None}
SPLIT = timedelta(microseconds=1)


def of(one: CureFact, takes_a_coat: bool = False, **other: Any) -> list[Entry]:
    return entries_of([SoftCure("26-014", one, takes_a_coat, **other)])


def test_of_several_cups_in_a_joint_the_last_is_entered() -> None:
    assert of(cure(), is_topped_up=True) == []
    assert len(of(cure(), is_topped_up=False)) == 2


@pytest.mark.parametrize(
    ("one", "takes_a_coat", "expected"),
    [
        (cure(3), False, [("cure-3-set", after(10)), ("cure-3-full", after(24))]),
        (
            coat(4), True,
            [("cure-4-set", after(5)), ("cure-4-window", after(6)), ("cure-4-full", after(24))],
        ),
        (coat(4), False, [("cure-4-set", after(5)), ("cure-4-full", after(24))]),
        (
            coat(4, recoat_until=None), True,
            [("cure-4-set", after(5)), ("cure-4-window", after(6)), ("cure-4-full", after(24))],
        ),
        # A window that shuts as it opens, to the second.
        (coat(4, recoat_until=after(6)), True, [("cure-4-set", after(5)), ("cure-4-full", after(24))]),
        (
            coat(4, recoat_from=after(6) + SPLIT, recoat_until=after(6) + SECOND + SPLIT), True,
            [("cure-4-set", after(5)), ("cure-4-full", after(24))],
        ),
        (
            coat(4, recoat_until=after(6) + SECOND), True,
            [("cure-4-set", after(5)), ("cure-4-window", after(6)), ("cure-4-full", after(24))],
        ),
        (cure(**STALLED), False, []),
        (coat(**STALLED), True, []),
        (failed(cure()), False, []),
        (tacky(coat()), True, []),
    ],
)  # fmt: skip
def test_the_entries_of_a_cure(one: CureFact, takes_a_coat: bool, expected: list[tuple[str, Any]]) -> None:
    assert [(entry.key, entry.begins) for entry in of(one, takes_a_coat)] == expected


def test_a_suspect_mix_promises_nothing() -> None:
    assert of(cure(), is_suspect=True) == []


def test_an_entry_names_rod_and_place_and_a_window_lasts_from_its_opening_to_its_shutting() -> None:
    first, window, last = of(coat(4), True)
    assert first.summary == "26-014 guide wraps: set"
    assert first.ends - first.begins == SHOWN_FOR
    assert window.summary == "26-014 guide wraps: recoat window"
    assert (window.begins, window.ends) == (after(6), after(20))
    assert last.summary == "26-014 guide wraps: fully cured"


def test_a_window_without_a_latest_time_says_from_when_the_next_coat_may_be_laid() -> None:
    window = of(coat(4, recoat_until=None), True)[1]
    assert window.summary == "26-014 guide wraps: next coat from"
    assert (window.begins, window.ends) == (after(6), after(6) + SHOWN_FOR)


def test_no_wait_is_cut_short_and_no_window_drawn_out_by_whole_seconds() -> None:
    late = coat(set_at=after(5) + SPLIT, recoat_from=after(6) + SPLIT, recoat_until=after(20) + SPLIT)
    found = {entry.key: entry for entry in of(late, True)}
    assert found["cure-1-set"].begins == after(5) + SECOND
    assert found["cure-1-window"].begins == after(6) + SECOND
    assert found["cure-1-window"].ends == after(20)
