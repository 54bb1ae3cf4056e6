"""Until when a customer may change what: the earliest instant at which that can end, with its boundaries."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from shop.rules.facts import Facts
from shop.rules.last_changes import COLOUR, earliest, last_changes
from shop.rules.sequences import Hold, HoldKind, Record, RecordKind, Sequence, Stage
from tests.rules.builders import AT, cure, reached

SEQUENCE = Sequence(
    "casting", "casting",
    (
        Stage("agreed", "Agreed."),
        Stage("glued", "The handle is on.", records=(Record(RecordKind.CURE, "rear grip"),)),
        Stage("hard", holds=(_after := Hold(HoldKind.ORDER, stages=("glued",)),
                             Hold(HoldKind.FULL_CURE, places=("rear grip",)))),
        Stage("laid out", holds=(Hold(HoldKind.ORDER, stages=("hard",)),), uses=("guide",)),
        Stage("wrapped", "Wrapped.", holds=(Hold(HoldKind.ORDER, stages=("laid out",)),), uses=("thread",)),
        Stage("handed over", "Yours."),
    ),
)  # fmt: skip
