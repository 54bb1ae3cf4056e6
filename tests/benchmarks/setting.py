"""A shop with 200 cures that are not hard yet on its sixty rods, for measuring the page Setting."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import delete, insert

from shop.app import open_hub
from shop.clock import Clock
from shop.config import Settings
from shop.db.cures import Cure
from tests.benchmarks.data import OPEN, Written, write

SOFT = 200
PLACES = ("rear grip", "reel seat", "guide wraps", "tip-top")
# Mixes of the last two days; the sheet of the benchmark asks for 66 hours and more.
MIXES = 16
PATH = "/setting"


def write_soft(folder: Path, finished: int) -> Written:
    """Write the sixty rods and the history of the other pages, with other cures on the rods that are open."""
    written = write(folder, finished=finished)
    now = datetime.now(UTC)
    hub = open_hub(Settings(data=folder, database_url=""), Clock())
    with hub.database.writing(now) as session:
        connection = session.connection()
        connection.execute(delete(Cure).where(Cure.build_id <= OPEN))
        connection.execute(insert(Cure), [_cure(number, now) for number in range(SOFT)])
    hub.database.close()
    return written


def _cure(number: int, now: datetime) -> dict[str, object]:
    mix_id = number % MIXES + 1
    return {
        "mix_id": mix_id, "build_id": number % OPEN + 1, "pass_number": 1, "place": PLACES[number // OPEN],
        "zone_id": None, "closed_at": now - timedelta(hours=3 * mix_id, seconds=number), "entered_at": now,
        "by": "Ottar", "corrects_id": None, "superseded_by_id": None, "correction_reason": "",
        "failed_reason": "",
    }  # fmt: skip
