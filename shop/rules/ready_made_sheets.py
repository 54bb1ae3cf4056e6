"""Ready-made classes of two-part products, to begin with until the product's own data sheet is at hand.

The figures are common practice, from memory, and no product's. Each is on the careful side: the shortest
pot life, the longest set time, turning and full cure, the earliest end of the recoat window, the warmest of
the coldest temperatures. Where sheets differ too much for any figure (densities, the rise that doubles the
rate) the class is silent. An adhesive begun from a class is marked until somebody has held its figures
against the sheet.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from shop.rules.adhesives import FIELDS, READY_MADE_SOURCE

HOUR, DAY = 60.0, 1440.0
# Common practice, from memory: where most sheets state their times, and a year once opened.
REFERENCE_C = 24.0
OPENED_LIFE_DAYS = 365


@dataclass(frozen=True, slots=True)
class SheetClass:
    """One class of product; `parts` are A and B by volume, times are minutes at `REFERENCE_C`."""

    name: str
    use: str
    parts: tuple[float, float]
    pot_life_minutes: float
    set_minutes: float
    full_cure_minutes: float
    coldest_c: float
    recoat_from_minutes: float | None = None
    recoat_until_minutes: float | None = None
    turn_minutes: float | None = None


CLASSES = (
    # Called after its gel; handled at 15 to 60 minutes, hard within a day.
    SheetClass("five-minute epoxy", "bond", (1.0, 1.0), 3.0, HOUR, DAY, 13.0),
    SheetClass("30 to 60 minute liquid epoxy, 1:1", "bond", (1.0, 1.0), 20.0, 8 * HOUR, 3 * DAY, 15.0),
    SheetClass("30 to 60 minute liquid epoxy, 2:1", "bond", (2.0, 1.0), 20.0, 8 * HOUR, 3 * DAY, 15.0),
    SheetClass("slow paste epoxy, 1:1", "bond", (1.0, 1.0), 45.0, 12 * HOUR, 7 * DAY, 16.0),
    SheetClass("slow paste epoxy, 2:1", "bond", (2.0, 1.0), 45.0, 12 * HOUR, 7 * DAY, 16.0),
    SheetClass(
        "wrap finish, light", "finish", (1.0, 1.0), 20.0, 8 * HOUR, 7 * DAY, 20.0, 12 * HOUR, DAY, 8 * HOUR
    ),
    SheetClass(
        "wrap finish, high-build",
        "finish",
        (1.0, 1.0),
        15.0,
        8 * HOUR,
        7 * DAY,
        20.0,
        12 * HOUR,
        DAY,
        8 * HOUR,
    ),
)
NAMES = tuple(kind.name for kind in CLASSES)


def figures_of_class(name: str) -> Mapping[str, Any]:
    """The figures of a class, by the fields of an adhesive but its name. Raises `LookupError`."""
    kind = next((kind for kind in CLASSES if kind.name == name), None)
    if kind is None:
        raise LookupError(f"There is no ready-made class called “{name}”.")
    own = {field: getattr(kind, field) for field in FIELDS if field != "name" and hasattr(kind, field)}
    return {
        **own,
        "parts_a": kind.parts[0],
        "parts_b": kind.parts[1],
        "reference_c": REFERENCE_C,
        "opened_life_days": OPENED_LIFE_DAYS,
        "source": READY_MADE_SOURCE,
    }
