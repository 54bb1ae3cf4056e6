"""A small shop for the tests of the API: one customer, two adhesives, one zone and a short sequence.

The sheets are round numbers, so that a test can say an instant without a sum: at the zone's 20 °C a bond
sets 10 h and is hard 24 h after closing; a coat may be followed from 6 h to 20 h and is hard after 24 h.
"""

from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from shop.craft.quantities import parse_quantity
from shop.rules.sequences import Hold, HoldKind, Record, RecordKind, Sequence, Stage
from shop.services.adhesives import add_adhesive
from shop.services.customers import add_customer
from shop.services.sequences import add_sequence
from shop.services.zones import add_zone

BOND, FINISH = 1, 2
ZONE = 1
CUSTOMER = 1
SEQUENCE = 1


def after(stage: str) -> Hold:
    return Hold(HoldKind.ORDER, stages=(stage,))


def glues(place: str) -> tuple[Record, ...]:
    return (Record(RecordKind.CURE, place),)


BORE = Hold(
    HoldKind.MEASUREMENT,
    name="rear bore",
    nominal=parse_quantity("12 mm"),
    tolerance=parse_quantity("0.5 mm"),
)
SEQUENCE_VALUE = Sequence(
    "short",
    "casting",
    (
        Stage("agreed", "We have agreed on your rod."),
        Stage("fitted", holds=(after("agreed"), BORE)),
        Stage("grip glued", holds=(after("fitted"),), records=glues("rear grip")),
        Stage(
            "seat glued",
            holds=(
                after("grip glued"),
                Hold(HoldKind.SET, places=("rear grip",)),
                Hold(HoldKind.CHECK, check="orientation", second_person=True),
            ),
            records=glues("reel seat"),
        ),
        Stage("hard", holds=(after("seat glued"), Hold(HoldKind.FULL_CURE, places=("rear grip",)))),
        Stage("first coat", holds=(after("hard"),), records=glues("guide wraps")),
        Stage(
            "second coat",
            holds=(after("first coat"), Hold(HoldKind.RECOAT, place="guide wraps")),
            records=glues("guide wraps"),
        ),
        Stage("handed over", holds=(after("second coat"),)),
    ),
)


def fill(session: Session, now: datetime) -> None:
    """Put the small shop on file; the ids are the constants above."""
    add_customer(session, now=now, name="Ada Thorn")
    sheet: dict[str, Any] = {
        "parts_a": 1.0, "parts_b": 1.0, "reference_c": 20.0, "pot_life_minutes": 30.0,
        "source": "its sheet", "sheet_date": date(2026, 1, 15),
    }  # fmt: skip
    add_adhesive(
        session, now=now, by="Nell", name="Riverbed", use="bond", set_minutes=600.0, full_cure_minutes=1440.0,
        **sheet,
    )  # fmt: skip
    add_adhesive(
        session, now=now, by="Nell", name="Stillwater", use="finish", set_minutes=300.0,
        full_cure_minutes=1440.0, recoat_from_minutes=360.0, recoat_until_minutes=1200.0, **sheet,
    )  # fmt: skip
    add_zone(session, now=now, name="bench", assumed_c=20.0)
    add_sequence(session, now=now, sequence=SEQUENCE_VALUE)
