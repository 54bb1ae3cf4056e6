"""Makes a load on two servers in turn, for a bounded time, and says how each bore it; on this machine only.

With `wrk` if it is installed, else with a small loader of our own, which is slower, so that its ratios lie
nearer to 1.
"""

import asyncio
import http.client
import math
import os
import re
import shutil
import statistics
import subprocess
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from email.message import Message
from pathlib import Path
from typing import NamedTuple
from urllib.parse import urlsplit

FORM = "application/x-www-form-urlencoded"
MILLISECONDS = {"us": 1e-3, "ms": 1.0, "s": 1e3, "m": 6e4}
# Only ever waited out when a server hangs.
PATIENCE = 60.0


class Ask(NamedTuple):
    """One request."""

    method: str
    path: str
    body: str
    headers: Mapping[str, str]


class Side(NamedTuple):
    """A server on loopback, its process, and what to ask it, in turn."""

    address: str
    pid: int
    asks: Sequence[Ask]


class Round(NamedTuple):
    """What a load came to: requests a second, milliseconds of waiting, processor time a request, errors."""

    per_second: float
    p50_ms: float
    p99_ms: float
    answers: int
    errors: int
    cpu_ms: float = math.nan


def tool() -> str:
    """What makes the load here."""
    return "wrk" if shutil.which("wrk") else "the benchmark's own loader"


def once(sides: tuple[Side, Side], connections: int, seconds: float, turn: int) -> tuple[Round, Round]:
    """One round: both sides loaded, the first first in even turns and last in odd ones.

    So, in many rounds, a noisy machine spoils both alike.
    """
    if turn % 2:
        second = _bear(sides[1], connections, seconds)
        return _bear(sides[0], connections, seconds), second
    return _bear(sides[0], connections, seconds), _bear(sides[1], connections, seconds)


def _bear(side: Side, connections: int, seconds: float) -> Round:
    """One load on one side, with the processor time that its process used."""
    before = processor_seconds(side.pid)
    borne = (_by_wrk if shutil.which("wrk") else _by_ourselves)(side, connections, seconds)
    used = processor_seconds(side.pid) - before
    return borne._replace(cpu_ms=used * 1e3 / borne.answers if borne.answers else math.nan)


def ratio(rounds: Sequence[tuple[Round, Round]], figure: str) -> float:
    """The median over the rounds of the second side's figure to the first's."""
    ratios = []
    for first, second in rounds:
        base = getattr(first, figure)
        ratios.append(getattr(second, figure) / base if base else math.nan)
    return statistics.median(ratios)


def noise(rounds: Sequence[tuple[Round, Round]]) -> float:
    """How far the first side's own rounds lie apart: half their spread, to their median."""
    rates = [first.per_second for first, _ in rounds]
    middle = statistics.median(rates)
    return (max(rates) - min(rates)) / 2 / middle if middle else math.nan


def bytes_of(side: Side) -> int:
    """The length of the answer to a side's first request, which is sent once."""
    return len(_answer_to(side)[1])


def header_of(side: Side, name: str) -> str:
    """A header of the answer to a side's first request, which is sent once."""
    found = _answer_to(side)[0].get(name)
    assert found is not None, f"The answer has no {name}."
    return found


def _answer_to(side: Side) -> tuple[Message, bytes]:
    ask, at = side.asks[0], urlsplit(side.address)
    connection = http.client.HTTPConnection(at.hostname or "", at.port, timeout=PATIENCE)
    try:
        connection.request(ask.method, ask.path, ask.body or None, dict(ask.headers))
        answer = connection.getresponse()
        assert answer.status < 400, f"{ask.path}: status {answer.status}"
        return answer.headers, answer.read()
    finally:
        connection.close()


def raw(ask: Ask) -> bytes:
    """A request as it goes over the wire."""
    headers = {"Host": "127.0.0.1", **ask.headers}
    if ask.body:
        headers["Content-Length"] = str(len(ask.body.encode()))
    lines = [f"{ask.method} {ask.path} HTTP/1.1", *(f"{name}: {value}" for name, value in headers.items())]
    return ("\r\n".join(lines) + "\r\n\r\n" + ask.body).encode()


# The requests are made once, before the load begins, so that the loader has next to nothing to do.
_LUA = """
local list, turn = {}, 0
init = function(args)
  for line in io.lines("%s") do
    list[#list + 1] = string.gsub(line, "\\1", "\\r\\n")
  end
end
request = function()
  turn = turn %% #list + 1
  return list[turn]
end
"""


def _by_wrk(side: Side, connections: int, seconds: float) -> Round:
    with tempfile.TemporaryDirectory() as folder:
        script, requests = Path(folder) / "asks.lua", Path(folder) / "asks.txt"
        requests.write_text("".join(raw(ask).decode().replace("\r\n", "\1") + "\n" for ask in side.asks))
        script.write_text(_LUA % requests)
        said = subprocess.run(
            ["wrk", "-t1", f"-c{connections}", f"-d{math.ceil(seconds)}s", "--latency", "-s", str(script),
             side.address],
            capture_output=True, text=True, check=True, timeout=seconds + PATIENCE,
        ).stdout  # fmt: skip
    return _read_wrk(said)


def _read_wrk(said: str) -> Round:
    """The figures out of what `wrk --latency` prints."""

    def waited(share: int) -> float:
        found = re.search(rf"^\s+{share}%\s+([\d.]+)(us|ms|s|m)\s*$", said, re.MULTILINE)
        return float(found[1]) * MILLISECONDS[found[2]] if found else math.nan

    def counted(pattern: str) -> int:
        found = re.search(pattern, said)
        return sum(map(int, found.groups())) if found else 0

    rate = re.search(r"Requests/sec:\s+([\d.]+)", said)
    errors = counted(r"Non-2xx or 3xx responses: (\d+)")
    errors += counted(r"Socket errors: connect (\d+), read (\d+), write (\d+), timeout (\d+)")
    count = counted(r"(\d+) requests in ")
    return Round(float(rate[1]) if rate else 0.0, waited(50), waited(99), count, errors)


def _by_ourselves(side: Side, connections: int, seconds: float) -> Round:
    return asyncio.run(_many_connections(side, connections, seconds))


async def _many_connections(side: Side, connections: int, seconds: float) -> Round:
    at = urlsplit(side.address)
    assert at.hostname == "127.0.0.1"
    turns = _endless([raw(ask) for ask in side.asks])
    began = time.perf_counter()
    workers = [_one_connection(at.port or 80, turns, began + seconds) for _ in range(connections)]
    results = await asyncio.gather(*workers)
    took = time.perf_counter() - began
    waits = sorted(wait for waits, _ in results for wait in waits)
    errors = sum(errors for _, errors in results)
    return Round(len(waits) / took, _share(waits, 0.50), _share(waits, 0.99), len(waits), errors)


def _endless(sent: Sequence[bytes]) -> Iterator[bytes]:
    while True:
        yield from sent


def _share(ordered: Sequence[float], share: float) -> float:
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))] if ordered else math.nan


async def _one_connection(port: int, turns: Iterator[bytes], until: float) -> tuple[list[float], int]:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    waits, errors = [], 0
    try:
        while (start := time.perf_counter()) < until:
            writer.write(next(turns))
            status = await asyncio.wait_for(_answer(reader), PATIENCE)
            waits.append((time.perf_counter() - start) * 1e3)
            errors += status >= 400
    finally:
        writer.close()
        await writer.wait_closed()
    return waits, errors


async def _answer(reader: asyncio.StreamReader) -> int:
    """Read one answer to its end; gives its status."""
    head = (await reader.readuntil(b"\r\n\r\n")).decode("latin-1").lower()
    status = int(head.split(" ", 2)[1])
    if found := re.search(r"\r\ncontent-length: (\d+)", head):
        await reader.readexactly(int(found[1]))
    elif "transfer-encoding: chunked" in head:
        while size := int((await reader.readuntil(b"\r\n")).strip(), 16):
            await reader.readexactly(size + 2)
        await reader.readuntil(b"\r\n")
    return status


def processor_seconds(pid: int) -> float:
    """User and system time that a process has used, its threads included; NaN where not to be had."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return math.nan
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def memory_mb(pid: int) -> float:
    """Memory that a process holds, in MB; NaN where not to be had."""
    try:
        status = Path(f"/proc/{pid}/status").read_text()
    except OSError:
        return math.nan
    found = re.search(r"VmRSS:\s+(\d+) kB", status)
    return int(found[1]) / 1000 if found else math.nan
