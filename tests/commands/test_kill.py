"""Killed while it writes, the server loses nothing that it has answered."""

from pathlib import Path
from threading import Thread

import httpx

from tests.commands.running import STOP_SECONDS, run, serving

WRITERS = 3
BEFORE_THE_KILL = 40
LIST = "/api/v1/customers"


def write_until_killed(address: str, key: str, writer: int, answered: list[tuple[int, str]]) -> None:
    """Post customers one after another until the server is gone; note what was answered."""
    with httpx.Client(base_url=address, headers={"authorization": f"Bearer {key}"}) as program:
        for number in range(10_000):
            name = f"customer {number} of writer {writer}"
            try:
                answer = program.post(LIST, json={"name": name})
            except httpx.TransportError:
                return
            assert answer.status_code in {200, 201}, answer.text
            answered.append((answer.json()["id"], name))


def on_record(address: str, key: str) -> set[tuple[int, str]]:
    """Every customer on file, by id and name."""
    found: set[tuple[int, str]] = set()
    with httpx.Client(base_url=address, headers={"authorization": f"Bearer {key}"}) as program:
        after: str | None = "0"
        while after is not None:
            page = program.get(LIST, params={"after": after, "limit": 200}).json()
            found |= {(item["id"], item["name"]) for item in page["items"]}
            after = page["next"]
    return found


def test_what_was_answered_outlives_the_kill(tmp_path: Path) -> None:
    data, answered = tmp_path / "data", list[tuple[int, str]]()
    key = run(data, "key", "add", "script", "--scope", "desk").out.strip()
    for killing in range(2):
        with serving(data) as server:
            writers = [
                Thread(target=write_until_killed, args=(server.address, key, writer, answered))
                for writer in range(killing * WRITERS, (killing + 1) * WRITERS)
            ]
            for writer in writers:
                writer.start()
            enough = len(answered) + BEFORE_THE_KILL
            while len(answered) < enough and any(writer.is_alive() for writer in writers):
                writers[0].join(0.01)
            server.process.kill()
            server.process.wait(STOP_SECONDS)
            for writer in writers:
                writer.join()
        assert len(answered) >= enough
    with serving(data) as server:
        record = on_record(server.address, key)
    assert set(answered) <= record
    # At most one write of each writer had been made and not yet answered when the server was killed.
    assert len(record) - len(answered) <= 2 * WRITERS
