"""Killed in the middle of an import, the server has taken in all of a file or nothing of it."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Thread

import httpx

from tests.commands.running import STOP_SECONDS, run, serving

LINES = 60_000
# The server goes by the machine's own clock.
FIRST = datetime.now(UTC).replace(microsecond=0) - timedelta(days=10)
# How long each import runs before the server is killed: while it is read, and while it is written.
SECONDS = (0.3, 1.0, 1.7)
CSV = {"content-type": "text/csv"}


def a_file(number: int) -> bytes:
    """A file of readings a second apart; each number has hours of its own."""
    rows = (
        f"{FIRST + timedelta(days=number, seconds=second):%Y-%m-%dT%H:%M:%SZ},{10 + number}"
        for second in range(LINES)
    )
    return "\n".join(["time,celsius", *rows]).encode()


def send(address: str, key: str, body: bytes, answers: list[int]) -> None:
    """Send a file; note how many readings were taken in, if that was answered."""
    headers = {"authorization": f"Bearer {key}", **CSV}
    with httpx.Client(base_url=address, headers=headers, timeout=STOP_SECONDS) as program:
        try:
            answer = program.post("/api/v1/zones/1/readings.csv", content=body)
        except httpx.TransportError:
            return
    assert answer.status_code == 201, answer.text
    answers.append(answer.json()["accepted"])


def add_zone(address: str, key: str) -> None:
    with httpx.Client(base_url=address, headers={"authorization": f"Bearer {key}"}) as program:
        made = program.post("/api/v1/zones", json={"name": "bench", "assumed_c": 16})
    assert made.status_code == 201


def test_a_file_is_taken_in_whole_or_not_at_all(tmp_path: Path) -> None:
    data = tmp_path / "data"
    key = run(data, "key", "add", "script", "--scope", "desk").out.strip()
    answers: list[list[int]] = [[] for _ in SECONDS]
    for number, seconds in enumerate(SECONDS):
        with serving(data) as server:
            if number == 0:
                add_zone(server.address, key)
            sender = Thread(target=send, args=(server.address, key, a_file(number), answers[number]))
            sender.start()
            sender.join(seconds)
            server.process.kill()
            server.process.wait(STOP_SECONDS)
            sender.join()
    again: list[int] = []
    with serving(data) as server:
        for number in range(len(SECONDS)):
            send(server.address, key, a_file(number), again)
    # Whatever is on file already is not taken in again, so this is what the kill had thrown away.
    assert set(again) <= {0, LINES}, "a part of a file was taken in"
    assert [lost for lost, answered in zip(again, answers, strict=True) if answered and lost] == []
    assert LINES in again, "no kill came before the end of an import"
