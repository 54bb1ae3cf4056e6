"""What to buy, for whom, and the last day to order it."""

from datetime import date, timedelta

import pytest

from shop.rules.purchases import Counted, Purchase, Wanted, here_by, order_day, what_to_buy

TODAY = date(2026, 3, 2)


def promised(days: int) -> date:
    return TODAY + timedelta(days=days)


SOON, LATE, NEVER = (
    Wanted("26-002", promised(30), 2),
    Wanted("26-001", promised(60), 3),
    Wanted("26-009", None, 1),
)


@pytest.mark.parametrize(
    ("counted", "wanted", "purchase"),
    [
        # Enough: what is free covers the builds and leaves the least.
        (Counted(0, 0), (), None),
        (Counted(4, 4), (), None),
        (Counted(6, 0), (SOON, LATE, NEVER), None),
        (Counted(8, 2), (SOON, LATE, NEVER), None),
        # Below the least, with nobody waiting.
        (Counted(3, 4), (), Purchase(1, 0, (), None, False)),
        (Counted(7, 2), (SOON, LATE, NEVER), Purchase(1, 0, (), None, False)),
        # One too few: whoever is promised last, and whoever was promised nothing, waits.
        (Counted(5, 0), (SOON, LATE, NEVER), Purchase(1, 1, ("26-009",), None, False)),
        (Counted(4, 0), (LATE, SOON, NEVER), Purchase(2, 2, ("26-001", "26-009"), promised(46), False)),
        (Counted(2, 0, 10), (LATE, SOON), Purchase(3, 3, ("26-001",), promised(36), False)),
        (Counted(0, 1, 10), (LATE, SOON), Purchase(6, 5, ("26-002", "26-001"), promised(6), False)),
        # On the last day it is not late, a day after it is.
        (Counted(0, 0, 16), (SOON,), Purchase(2, 2, ("26-002",), TODAY, False)),
        (Counted(0, 0, 17), (SOON,), Purchase(2, 2, ("26-002",), promised(-1), True)),
    ],
)
def test_what_is_short_is_bought_and_the_least_besides(
    counted: Counted, wanted: tuple[Wanted, ...], purchase: Purchase | None
) -> None:
    assert what_to_buy(counted, wanted, TODAY) == purchase


def test_of_two_promises_of_one_day_the_lower_number_is_served_first() -> None:
    alike = [Wanted("26-007", promised(30), 1), Wanted("26-003", promised(30), 1)]
    found = what_to_buy(Counted(1, 0), alike, TODAY)
    assert found is not None
    assert found.builds == ("26-007",)


def test_no_day_lies_before_the_calendar() -> None:
    assert order_day(date(1, 1, 10), 3650) == date.min
    assert order_day(promised(30), None) == promised(16)
    assert (here_by(TODAY, None), here_by(TODAY, 10)) == (None, promised(10))
