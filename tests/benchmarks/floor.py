"""The floor: the same pages with nothing between the request and the work.

Starlette, the standard library's sqlite3 and Jinja2 on tuples; no ORM, no rules, no sign-in, nothing kept.
It reads the very same database. A cure is two stored numbers of seconds to it, and a hold is a sentence.
Reads run on the event loop, writes in one thread, every commit is on disk before its answer is sent.
"""

import hashlib
import os
import sqlite3
import threading
import time
from asyncio import get_running_loop
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

from jinja2 import Environment, FileSystemLoader
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from tests.benchmarks.floor_setting import setting_of

DATABASE = os.environ["FLOOR_DATABASE"]
SET_SECONDS, FULL_SECONDS = 600 * 60, 4000 * 60

BENCH = """
    SELECT b.id, b.number, b.title, b.promised_on, c.name, s.name, n.name
    FROM builds b JOIN customers c ON c.id = b.customer_id JOIN stages s ON s.id = b.stage_id
    LEFT JOIN stages n ON n.sequence_id = b.sequence_id AND n.position = s.position + 1
    WHERE b.closed_at IS NULL ORDER BY b.promised_on, b.number"""
BENCH_CURES = """
    SELECT c.build_id, c.place, m.adhesive_name, c.closed_at FROM builds b
    JOIN cures c ON c.build_id = b.id JOIN mixes m ON m.root_id = c.mix_id
    WHERE b.closed_at IS NULL"""
ROD = """
    SELECT b.id, b.number, b.title, b.promised_on, c.name, b.sequence_id FROM builds b
    JOIN customers c ON c.id = b.customer_id WHERE b.number = ?"""
ROD_STAGES = "SELECT id, name, customer_words FROM stages WHERE sequence_id = ? ORDER BY position"
ROD_EVENTS = """
    SELECT e.stage_id, s.name, e.happened_at, e.by, e.note FROM events e JOIN stages s ON s.id = e.stage_id
    WHERE e.build_id = ? ORDER BY e.id"""
ROD_CURES = """
    SELECT c.place, m.adhesive_name, c.closed_at FROM cures c JOIN mixes m ON m.root_id = c.mix_id
    WHERE c.build_id = ? ORDER BY c.id"""
NEWS = """
    SELECT b.id, b.title, b.promised_on, b.sequence_id FROM status_links l JOIN builds b ON b.id = l.build_id
    WHERE l.token_hash = ? AND l.ended_at IS NULL"""
SETTING_CURES = """
    SELECT b.number, c.place, m.adhesive_name, c.closed_at, c.id FROM builds b
    JOIN cures c ON c.build_id = b.id JOIN mixes m ON m.root_id = c.mix_id
    WHERE b.closed_at IS NULL"""
SETTING_READINGS = "SELECT at, celsius FROM readings WHERE zone_id = 1 AND at > ? ORDER BY at"
RECENT_MIXES = """
    SELECT root_id, adhesive_name, mixed_at FROM mixes WHERE mixed_at > ? ORDER BY mixed_at DESC"""
MOVE_READ = """
    SELECT b.id, b.version, s.id FROM builds b JOIN stages s ON s.sequence_id = b.sequence_id
    WHERE b.number = ? AND s.name = ?"""
MOVE_SEEN = "SELECT 1 FROM events WHERE build_id = ? AND stage_id = ?"
MOVE_EVENT = """
    INSERT INTO events (build_id, pass_number, kind, stage_id, happened_at, entered_at, by, note, details)
    VALUES (?, 1, 'stage', ?, ?, ?, 'Maren', '', '{}')"""
MOVE_BUILD = "UPDATE builds SET stage_id = ?, version = version + 1 WHERE id = ? AND version = ?"
MOVE_MARK = "UPDATE change SET last_at = ?"

_local = threading.local()


def connection() -> sqlite3.Connection:
    """This thread's connection; sqlite3 keeps its statements prepared."""
    if not hasattr(_local, "connection"):
        made = sqlite3.connect(DATABASE, isolation_level=None, timeout=5.0)
        for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
            made.execute(f"PRAGMA {pragma}")
        _local.connection = made
    found: sqlite3.Connection = _local.connection
    return found


def cure_of(closed_at: str, now: float) -> tuple[str, str, float]:
    """The word for a cure, how long it takes yet, and how far along it is in per cent."""
    age = now - datetime.fromisoformat(closed_at + "+00:00").timestamp()
    if age >= FULL_SECONDS:
        return "hard", "", 100.0
    until = SET_SECONDS if age < SET_SECONDS else FULL_SECONDS
    minutes = -int(age - until) // 60
    word = "setting" if age < SET_SECONDS else "set"
    return word, f"{minutes // 60} h {minutes % 60:02d} min", round(100 * age / FULL_SECONDS, 2)


# The drawings' definitions are the program's own file, so that both sides send the same.
HERE = Path(__file__).parent
_environment = Environment(
    loader=FileSystemLoader([HERE / "templates", HERE.parents[1] / "templates"]),
    autoescape=True, auto_reload=False, trim_blocks=True, lstrip_blocks=True,
)  # fmt: skip
bench_html = _environment.get_template("bench.html").render
rod_html = _environment.get_template("rod.html").render
setting_html = _environment.get_template("setting.html").render
news_html = _environment.get_template("news.html").render


def html(text: str) -> Response:
    return Response(text, media_type="text/html", headers={"cache-control": "private, no-cache"})


async def bench(_request: Request) -> Response:
    now = time.time()
    cures: dict[int, list[tuple[Any, ...]]] = {}
    for build_id, place, adhesive, closed_at in connection().execute(BENCH_CURES):
        cures.setdefault(build_id, []).append((place, adhesive, *cure_of(closed_at, now)))
    rows = [(*row, cures.get(row[0], ())) for row in connection().execute(BENCH)]
    return html(bench_html(rows=rows))


async def setting(_request: Request) -> Response:
    now = time.time()
    since = datetime.fromtimestamp(now - 12 * 3600, UTC).replace(tzinfo=None).isoformat(sep=" ")
    cures = connection().execute(SETTING_CURES).fetchall()
    readings = connection().execute(SETTING_READINGS, (since,)).fetchall()
    return html(setting_html(**setting_of(cures, readings, now)))


async def rod(request: Request) -> Response:
    now = time.time()
    build = connection().execute(ROD, (request.path_params["number"],)).fetchone()
    events = connection().execute(ROD_EVENTS, (build[0],)).fetchall()
    stages = connection().execute(ROD_STAGES, (build[5],)).fetchall()
    found = connection().execute(ROD_CURES, (build[0],))
    cures = [(place, adhesive, closed_at, *cure_of(closed_at, now)) for place, adhesive, closed_at in found]
    day_ago = datetime.fromtimestamp(now - 86_400, UTC).replace(tzinfo=None).isoformat(sep=" ")
    mixes = connection().execute(RECENT_MIXES, (day_ago,)).fetchall()
    done = {event[0]: event for event in events}
    page = rod_html(build=build, stages=stages, done=done, events=events[::-1], cures=cures, mixes=mixes)
    return html(page)


async def news(request: Request) -> Response:
    digest = hashlib.sha256(request.path_params["token"].encode()).hexdigest()
    build = connection().execute(NEWS, (digest,)).fetchone()
    done = {event[0]: event for event in connection().execute(ROD_EVENTS, (build[0],))}
    stages = [row for row in connection().execute(ROD_STAGES, (build[3],)) if row[2]]
    return html(news_html(build=build, stages=stages, done=done))


_writer = ThreadPoolExecutor(1)


def move(number: str, stage: str) -> int:
    """Log a stage in one transaction; the status to answer with."""
    now = datetime.now(UTC).replace(tzinfo=None).isoformat(sep=" ")
    made = connection()
    made.execute("BEGIN IMMEDIATE")
    try:
        build_id, version, stage_id = made.execute(MOVE_READ, (number, stage)).fetchone()
        if made.execute(MOVE_SEEN, (build_id, stage_id)).fetchone():
            return 409
        made.execute(MOVE_EVENT, (build_id, stage_id, now, now))
        made.execute(MOVE_BUILD, (stage_id, build_id, version))
        made.execute(MOVE_MARK, (now,))
        made.execute("COMMIT")
        return 303
    finally:
        if made.in_transaction:
            made.execute("ROLLBACK")


async def advance(request: Request) -> Response:
    form = dict(parse_qsl((await request.body()).decode()))
    number = request.path_params["number"]
    status = await get_running_loop().run_in_executor(_writer, move, number, form["to"])
    return Response(status_code=status, headers={"location": f"/builds/{number}"})


app = Starlette(
    routes=[
        Route("/", bench),
        Route("/setting", setting),
        Route("/builds/{number}", rod),
        Route("/rod/{token}", news),
        Route("/builds/{number}/advance", advance, methods=["POST"]),
    ]
)
