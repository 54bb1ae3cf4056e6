"""What a promise may be, what counts as a slip, how the record says it, and what was kept."""

from datetime import date

import pytest

from shop.rules.promises import (
    MOST_REASON,
    FinishedBuild,
    Kept,
    count_kept,
    faults_of_promise,
    is_slip,
    say_promise,
)

EARLY, DAY, LATE = date(2026, 4, 1), date(2026, 4, 2), date(2026, 4, 9)
WHY = "A guide came bent."


@pytest.mark.parametrize(
    ("was_on", "promised_on", "slip"),
    [
        (None, DAY, False), (None, None, False), (DAY, DAY, False), (DAY, EARLY, False),
        (DAY, date(2026, 4, 3), True), (DAY, LATE, True), (DAY, None, True),
    ],
)  # fmt: skip
def test_a_slip_lets_somebody_wait_longer(was_on: date | None, promised_on: date | None, slip: bool) -> None:
    assert is_slip(was_on, promised_on) is slip


@pytest.mark.parametrize(
    ("was_on", "promised_on", "reason", "said"),
    [
        (None, DAY, "", ""), (None, DAY, WHY, ""), (None, None, "", ""), (DAY, DAY, "", ""),
        (DAY, LATE, WHY, ""), (DAY, EARLY, WHY, ""), (DAY, None, WHY, ""),
        (DAY, LATE, "", "needs a reason"), (DAY, EARLY, "", "needs a reason"), (DAY, None, "", "needs a"),
        (DAY, DAY, WHY, "stays as it is"), (None, None, WHY, "stays as it is"),
        (DAY, LATE, "x" * MOST_REASON, ""), (DAY, LATE, "x" * (MOST_REASON + 1), "301 characters"),
        (None, DAY, "a\x00b", "cannot be kept"),
    ],
)  # fmt: skip
def test_a_change_needs_its_reason(
    was_on: date | None, promised_on: date | None, reason: str, said: str
) -> None:
    faults = faults_of_promise(was_on, promised_on, reason)
    assert list(faults) == (["promise_reason"] if said else [])
    assert said in faults.get("promise_reason", "")


@pytest.mark.parametrize(
    ("was_on", "promised_on", "reason", "sentence"),
    [
        (None, DAY, "", "Promised for Thursday 2 April 2026."),
        (DAY, LATE, WHY, f"Promised later: from Thursday 2 April 2026 to Thursday 9 April 2026. {WHY}"),
        (DAY, EARLY, WHY, f"Promised earlier: from Thursday 2 April 2026 to Wednesday 1 April 2026. {WHY}"),
        (DAY, None, WHY, f"The promise of Thursday 2 April 2026 is taken back. {WHY}"),
    ],
)
def test_the_record_says_it_in_a_sentence(
    was_on: date | None, promised_on: date | None, reason: str, sentence: str
) -> None:
    assert say_promise(was_on, promised_on, reason) == sentence


def test_the_promised_day_itself_is_in_time() -> None:
    builds = [
        FinishedBuild(EARLY, DAY, DAY), FinishedBuild(DAY, DAY, DAY),
        FinishedBuild(date(2026, 4, 3), DAY, LATE), FinishedBuild(date(2026, 4, 10), DAY, LATE),
        FinishedBuild(DAY, LATE, EARLY),
    ]  # fmt: skip
    assert count_kept(builds) == Kept(by_first=3, by_last=3, of=5)
    assert count_kept([]) == Kept(0, 0, 0)
