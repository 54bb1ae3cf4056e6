"""Writes the databases that both servers are measured on: open builds with cures, and any history.

Rows go in through the tables in bulk; only what decides how much work a page is matters here.
"""

import random
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection, insert, update

from shop.app import open_hub
from shop.clock import Clock
from shop.config import Settings
from shop.db.builds import Build
from shop.db.cures import Cure
from shop.db.customers import Customer
from shop.db.events import Event
from shop.db.mixes import Mix
from shop.db.status_links import StatusLink
from shop.db.users import SignInSession, User
from shop.db.zones import Reading, Zone
from shop.queries.sequences import sequence_value, stage_ids
from shop.rules.ready_made import READY_MADE
from shop.rules.sequences import Sequence, Stage
from shop.services.sequences import add_sequence
from shop.services.tokens import hash_of, token_from

OPEN = 60
CURES = ("rear grip", "reel seat", "fore grip", "tip-top", "guide wraps", "guide wraps")
REACHED = 11
TOKEN = "a browser of the benchmark"
NONCE = "a link of the benchmark"
LONG = 60


class Written(NamedTuple):
    """Where a database lies and how its pages are asked for."""

    folder: Path
    rods: list[str]
    news: str


def write(folder: Path, finished: int, movable: int = 0) -> Written:
    """Write a data folder with sixty open builds and a history, or with rods to be moved sixty times each."""
    now = datetime.now(UTC)
    hub = open_hub(Settings(data=folder, database_url=""), Clock())
    with hub.database.writing(now) as session:
        whole = READY_MADE[0]
        long = Sequence("long", "casting", tuple(Stage(f"stage {n:02d}") for n in range(LONG)))
        sequence_id = add_sequence(session, now=now, sequence=long if movable else whole).id
        stages = list(stage_ids(session, sequence_id).items())
        value = sequence_value(session, sequence_id)
        order = [dict(stages)[stage.name] for stage in value.stages]
        connection = session.connection()
        _people(connection, now)
        _zone(connection, now)
        opens = movable or OPEN
        numbers = [f"26-{n:03d}" for n in range(1, opens + 1)]
        _builds(connection, now, sequence_id, order, numbers, finished=False, bare=bool(movable))
        _builds(
            connection, now, sequence_id, order, [f"25-{n:06d}" for n in range(1, finished + 1)], True, False
        )
        token = token_from(hub.secret, NONCE)
        connection.execute(
            insert(StatusLink),
            {"build_id": 1, "nonce": NONCE, "token_hash": hash_of(token), "created_at": now},
        )
    hub.database.close()
    return Written(folder, numbers, f"/rod/{token}")


def _people(connection: Connection, now: datetime) -> None:
    connection.execute(
        insert(User),
        {
            "name": "Maren", "name_key": "maren", "role": "owner", "password_hash": "none", "created_at": now,
            "version": 1,
        },
    )  # fmt: skip
    connection.execute(
        insert(SignInSession),
        {
            "token_hash": hash_of(TOKEN), "user_id": 1, "created_at": now,
            "expires_at": now + timedelta(days=30),
        },
    )  # fmt: skip
    customers = [
        {
            "name": f"Customer {n:03d}",
            "email": "",
            "phone": "555 0100",
            "notes": "",
            "created_at": now,
            "version": 1,
        }
        for n in range(200)
    ]
    connection.execute(insert(Customer), customers)


def _zone(connection: Connection, now: datetime) -> None:
    zone = {"name": "bench", "assumed_c": 18.0, "readings_version": 1, "created_at": now, "version": 1}
    connection.execute(insert(Zone), zone)
    readings = [
        {"zone_id": 1, "at": now - timedelta(minutes=30 * n), "celsius": 20.0 + n % 5, "entered_at": now}
        for n in range(2000)
    ]
    connection.execute(insert(Reading), readings)
    from_sheet: dict[str, Any] = {
        "adhesive_name": "Riverbed slow epoxy", "use": "bond", "reference_c": 24.0, "pot_life_minutes": 60.0,
        "set_minutes": 600.0, "full_cure_minutes": 4000.0, "recoat_from_minutes": 700.0,
        "recoat_until_minutes": 2000.0, "coldest_c": 13.0, "doubling_c": 10.0, "sheet_state": "confirmed",
    }  # fmt: skip
    connection.exec_driver_sql(
        "INSERT INTO adhesives (name, use, parts_a, parts_b, reference_c, pot_life_minutes, set_minutes,"
        " full_cure_minutes, source, created_at, version)"
        " VALUES ('Riverbed slow epoxy', 'bond', 1, 1, 24, 60, 600, 4000, '',"
        " '2026-01-01 00:00:00.000000', 1)"
    )
    mixes = [
        {
            "root_id": n, "adhesive_id": 1, "zone_id": 1, "mixed_at": now - timedelta(hours=3 * n, minutes=5),
            "entered_at": now, "by": "Ottar", "correction_reason": "", **from_sheet,
        }
        for n in range(1, 73)
    ]  # fmt: skip
    connection.execute(insert(Mix), mixes)


def _builds(
    connection: Connection, now: datetime, sequence_id: int, order: list[int], numbers: list[str],
    finished: bool, bare: bool,
) -> None:  # fmt: skip
    """Insert builds, ten thousand at a time, with the record and the cures of each."""
    chance = random.Random(7)
    first = connection.exec_driver_sql("SELECT coalesce(max(id), 0) FROM builds").scalar_one() + 1
    for start in range(0, len(numbers), 10_000):
        chunk = numbers[start : start + 10_000]
        builds, events, cures = [], [], []
        for offset, number in enumerate(chunk):
            build_id = first + start + offset
            reached = len(order) if finished else 0 if bare else REACHED
            builds.append(_build(build_id, number, now, sequence_id, order, reached, finished, chance))
            if not bare:
                events += [_event(build_id, stage, now, place) for place, stage in enumerate(order[:reached])]
                cures += [_cure(build_id, place, now, chance) for place in CURES]
        connection.execute(insert(Build), builds)
        if events:
            connection.execute(insert(Event), events)
            connection.execute(insert(Cure), cures)
    connection.execute(update(Customer).values(notes=""))


def _build(
    build_id: int, number: str, now: datetime, sequence_id: int, order: list[int], reached: int,
    finished: bool, chance: random.Random,
) -> dict[str, Any]:  # fmt: skip
    year, running = number.split("-")
    return {
        "id": build_id, "number": number, "year": 2000 + int(year), "running": int(running),
        "customer_id": chance.randint(1, 200), "title": "7 ft casting, jerkbaits", "rod_kind": "casting",
        "sequence_id": sequence_id, "promised_on": (now + timedelta(days=chance.randint(-2, 30))).date(),
        "thread_colour": "#7a1f2b", "notes": "", "stage_id": order[reached - 1] if reached else None,
        "pass_number": 1, "created_at": now, "closed_at": now if finished else None, "version": 1,
    }  # fmt: skip


def _event(build_id: int, stage_id: int, now: datetime, place: int) -> dict[str, Any]:
    at = now - timedelta(days=20 - place)
    return {
        "build_id": build_id, "pass_number": 1, "kind": "stage", "stage_id": stage_id, "happened_at": at,
        "entered_at": at, "by": "Ottar", "user_id": None, "note": "", "corrects_id": None, "details": {},
    }  # fmt: skip


def _cure(build_id: int, place: str, now: datetime, chance: random.Random) -> dict[str, Any]:
    mix_id = chance.randint(1, 72)
    return {
        "mix_id": mix_id, "build_id": build_id, "pass_number": 1, "place": place, "zone_id": None,
        "closed_at": now - timedelta(hours=3 * mix_id), "entered_at": now, "by": "Ottar", "corrects_id": None,
        "superseded_by_id": None, "correction_reason": "", "failed_reason": "",
    }  # fmt: skip
