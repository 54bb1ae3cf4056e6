"""Which days of a delivery can be, and which supplier can be on file."""

from datetime import date
from typing import Any

import pytest

from shop.rules.deliveries import DeliveryDays, faults_of_days
from shop.rules.suppliers import SupplierEntry, faults_of_supplier

TODAY = date(2026, 3, 2)
YESTERDAY, TOMORROW = date(2026, 3, 1), date(2026, 3, 3)


@pytest.mark.parametrize(
    ("days", "fields"),
    [
        (DeliveryDays(TODAY), set()),
        (DeliveryDays(None, TODAY), {"received_on"}),
        (DeliveryDays(TOMORROW), {"received_on"}),
        (DeliveryDays(date(1999, 12, 31)), {"received_on"}),
        (DeliveryDays(YESTERDAY, YESTERDAY, YESTERDAY), set()),
        (DeliveryDays(TODAY, YESTERDAY, TOMORROW), {"inspect_by"}),
        (DeliveryDays(TODAY, TOMORROW, YESTERDAY), {"return_by"}),
        (DeliveryDays(TODAY, TOMORROW, TOMORROW), set()),
        (DeliveryDays(YESTERDAY, TOMORROW, TODAY), {"inspect_by"}),
        (DeliveryDays(TODAY, None, date(2100, 1, 2)), {"return_by"}),
    ],
)
def test_days_that_can_be(days: DeliveryDays, fields: set[str]) -> None:
    assert set(faults_of_days(days, TODAY)) == fields


@pytest.mark.parametrize(
    ("said", "fields"),
    [
        ({}, set()),
        ({"name": "  "}, {"name"}),
        ({"name": "x" * 121}, {"name"}),
        ({"email": "desk"}, {"email"}),
        ({"email": "@example.org"}, {"email"}),
        ({"email": "desk@example.org"}, set()),
        ({"phone": "1" * 41, "notes": "x" * 4001}, {"phone", "notes"}),
        ({"lead_days": -1}, {"lead_days"}),
        ({"lead_days": 0}, set()),
    ],
)
def test_a_supplier_that_can_be(said: dict[str, Any], fields: set[str]) -> None:
    assert set(faults_of_supplier(SupplierEntry(**{"name": "Tern Hollow", **said}))) == fields
