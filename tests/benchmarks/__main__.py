"""Measures the program beside the floor and prints one Markdown table of ratios.

python -m tests.benchmarks [--rounds 10] [--seconds 2] [--quick] [--only WORD]
"""

import argparse
import os
import platform
import shlex
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import NamedTuple
from urllib.parse import urlencode

from tests.benchmarks.data import LONG, TOKEN, Written, write
from tests.benchmarks.flex import lines as flex_lines
from tests.benchmarks.load import (
    FORM,
    Ask,
    Round,
    Side,
    bytes_of,
    header_of,
    memory_mb,
    noise,
    once,
    ratio,
    tool,
)
from tests.benchmarks.readings import measure as measure_readings
from tests.benchmarks.servers import Server, floor, later, program
from tests.benchmarks.setting import PATH as SETTING
from tests.benchmarks.setting import SOFT, write_soft
from tests.benchmarks.sums import LINES, has_numpy, measure
from tests.benchmarks.ticket import measure as measure_ticket

COOKIE = {"Cookie": f"tackfree={TOKEN}"}
MANY_RODS = 999
CPU_TARGETS = {1: "≤ 1.1", 16: "≤ 1.25"}
PARTS = ("sums", "flex", "ticket", "readings", "pages", "setting", "lifetimes", "moves", "history")
RATIOS = {"cpu": "cpu_ms", "p50": "p50_ms", "p99": "p99_ms"}


class Line(NamedTuple):
    """A line of the table."""

    what: str
    figure: str
    target: str
    detail: str


# A page: its name, its path, what is sent with it, and the targets for nothing kept and for unchanged.
Wanted = tuple[str, str, dict[str, str], str, str]


class Run(NamedTuple):
    """How long and how often to load."""

    rounds: int
    seconds: int


def gets(paths: list[str], headers: dict[str, str]) -> list[Ask]:
    """Requests for pages, one after the other."""
    return [Ask("GET", path, "", headers) for path in paths]


def never_kept(path: str, headers: dict[str, str], turn: int) -> list[Ask]:
    """Addresses of one page that differ, in this turn and from every other, so that no kept page answers."""
    return gets([f"{path}?n={turn}-{n}" for n in range(2000)], headers)


def kept(path: str, headers: dict[str, str], _turn: int) -> list[Ask]:
    """The same page again and again."""
    return gets([path], headers)


def seen_before(server: Server, path: str, headers: dict[str, str], seconds: int, _turn: int) -> list[Ask]:
    """A page that the client has already; waits for a minute that lasts, for a tag lasts no longer."""
    left = 60 - time.time() % 60
    if left < seconds + 2:
        time.sleep(left + 0.2)
    tag = header_of(Side(server.address, server.pid, gets([path], headers)), "etag")
    return gets([path], {**headers, "If-None-Match": tag})


def compare(
    run: Run, what: str, base: Side, ours: Server, asks_of: Callable[[int], list[Ask]], target: str
) -> Iterator[Line]:
    """Load both sides at one and at sixteen connections; `asks_of` makes our requests for each turn."""
    for connections in (1, 16):
        rounds = []
        for turn in range(-1, run.rounds):
            asks = asks_of(connections * 1000 + turn)
            pair = once((base, Side(ours.address, ours.pid, asks)), connections, run.seconds, turn)
            if turn >= 0:  # the first warms both up
                rounds.append(pair)
        sizes = f"{bytes_of(base)} and {bytes_of(Side(ours.address, ours.pid, asks))} bytes"
        cpu = CPU_TARGETS[connections]
        yield _line(what, rounds, "per_second", target, f"{_beside(rounds)}, cpu {cpu}, {sizes}", connections)


def _line(
    what: str, rounds: list[tuple[Round, Round]], figure: str, target: str, detail: str, connections: int
) -> Line:
    at = f"{what}, {connections} connection{'s' if connections > 1 else ''}"
    return Line(at, f"{ratio(rounds, figure):.2f}", target, detail)


def _beside(rounds: list[tuple[Round, Round]]) -> str:
    """The other figures of the rounds, in words."""
    ratios = ", ".join(f"{name} {ratio(rounds, figure):.2f}" for name, figure in RATIOS.items())
    sides = []
    for side, name in enumerate(("floor", "ours")):
        rate, p50, p99 = (
            statistics.median(getattr(pair[side], figure) for pair in rounds)
            for figure in ("per_second", "p50_ms", "p99_ms")
        )
        sides.append(f"{name} {rate:.0f}/s {p50:.2f}/{p99:.2f} ms")
    errors = sum(borne.errors for pair in rounds for borne in pair)
    return f"{ratios}; {', '.join(sides)}; noise ±{noise(rounds):.0%}, {errors} errors"


def pages(run: Run, base: Server, ours: Server, written: Written) -> Iterator[Line]:
    """In hand, one rod and News of your rod: nothing kept, kept, and 304; each to the floor's full page."""
    wanted: list[Wanted] = [
        ("In hand", "/", COOKIE, "≥ 0.75, goal 0.9", "≥ 12, goal 18"),
        ("one rod", f"/builds/{written.rods[0]}", COOKIE, "≥ 0.55, goal 0.7", "goal 1.8"),
        ("News of your rod", written.news, {}, "≥ 0.5, goal 0.65", "goal 1.2"),
    ]
    for page in wanted:
        yield from one_page(run, base, ours, page)


def one_page(
    run: Run, base: Server, ours: Server, page: Wanted, never: str = "nothing kept"
) -> Iterator[Line]:
    """One page: at addresses that were never asked for, kept, and 304; each to the floor's full page."""
    name, path, headers, bare, unchanged = page
    floor_side = Side(base.address, base.pid, gets([path], {}))
    kinds: list[tuple[str, Callable[[int], list[Ask]], str]] = [
        (never, partial(never_kept, path, headers), bare),
        ("unchanged", partial(kept, path, headers), unchanged),
        ("304", partial(seen_before, ours, path, headers, run.seconds), unchanged),
    ]
    for kind, asks_of, target in kinds:
        yield from compare(run, f"{name}, {kind}", floor_side, ours, asks_of, target)


def setting(run: Run, folder: Path) -> Iterator[Line]:
    """Setting on the ruler, with 200 soft cures on sixty rods.

    Rows are kept within a minute for whatever address, and their words until they change. So with nothing
    kept means in another minute and the words forgotten; a tablet on the wall finds another minute alone.
    """
    written = write_soft(folder, finished=100)
    name, target = f"Setting, {SOFT} cures", "≥ 0.75, goal 0.9"
    for what, forgets in (("nothing kept", True), ("a minute later each time", False)):
        with floor(written.folder) as base, later(written.folder, forgets) as ours:
            side = Side(base.address, base.pid, gets([SETTING], {}))
            yield from compare(run, f"{name}, {what}", side, ours, partial(kept, SETTING, COOKIE), target)
    with floor(written.folder) as base, program(written.folder) as ours:
        page: Wanted = (name, SETTING, COOKIE, target, "≥ 12, goal 18")
        yield from one_page(run, base, ours, page, "another address in the same minute")


def moves(run: Run, base: Server, ours: Server, rods: list[str]) -> Iterator[Line]:
    """Log a stage: every request another stage of another rod, so that none is refused."""
    for connections, target in ((1, "≤ 2.0, goal 1.5"), (16, "≥ 0.5, goal 1.0, 0 errors")):
        mine = rods[::2] if connections == 1 else rods[1::2]
        asks = [
            Ask("POST", f"/builds/{rod}/advance", urlencode({"to": f"stage {n:02d}"}), {"Content-Type": FORM})
            for n in range(LONG)
            for rod in mine
        ]
        share = len(asks) // (run.rounds + 1)
        rounds = []
        for number in range(run.rounds):
            part = asks[number * share : (number + 1) * share]
            signed = [ask._replace(headers={**ask.headers, **COOKIE}) for ask in part]
            sides = (Side(base.address, base.pid, part), Side(ours.address, ours.pid, signed))
            rounds.append(once(sides, connections, run.seconds, number))
        what = "p50 of logging a stage" if connections == 1 else "log a stage"
        figure = "p50_ms" if connections == 1 else "per_second"
        yield _line(what, rounds, figure, target, _beside(rounds), connections)


def history(run: Run, little: Written, much: Written) -> Iterator[Line]:
    """In hand with 100,000 finished builds on file beside the same with 100; both are ours."""
    with program(little.folder) as one, program(much.folder) as other:
        for name, path in (("In hand", "/"), ("one rod", f"/builds/{little.rods[0]}")):
            rounds = []
            for turn in range(run.rounds):
                asks = never_kept(path, COOKIE, turn)
                sides = (Side(one.address, one.pid, asks), Side(other.address, other.pid, asks))
                rounds.append(once(sides, 1, run.seconds, turn))
            figure = f"{ratio(rounds, 'cpu_ms'):.2f}"
            yield Line(
                f"{name}, 100,000 / 100 finished builds, cpu", figure, "≤ 1.15, goal 1.05", "ours / ours"
            )


def lifetimes(run: Run, folder: Path) -> Iterator[Line]:
    """Cold start to the first answer, and memory after a load."""
    starts, memories = [], []
    for _ in range(max(3, run.rounds // 2)):
        with floor(folder) as base, program(folder) as ours:
            starts.append(ours.cold_start_s / base.cold_start_s)
            for server in (base, ours):
                once_loaded = Side(server.address, server.pid, never_kept("/", COOKIE, 0))
                once((once_loaded, once_loaded), 4, 1, 0)
            memories.append(memory_mb(ours.pid) / memory_mb(base.pid))
            shown = f"floor {base.cold_start_s:.2f} s, ours {ours.cold_start_s:.2f} s"
            held = f"floor {memory_mb(base.pid):.0f} MB, ours {memory_mb(ours.pid):.0f} MB"
    yield Line(
        "cold start to the first answer", f"{sorted(starts)[len(starts) // 2]:.2f}", "≤ 3.3, goal 2.5", shown
    )
    yield Line("memory after load", f"{sorted(memories)[len(memories) // 2]:.2f}", "≤ 2.2, goal 1.8", held)


def ticket() -> Line:
    """The figures of a ticket beside the page that shows them."""
    found = measure_ticket()
    detail = f"{found.figures} figures in {found.figures_ms:.1f} ms, the page in {found.page_ms:.1f} ms"
    return Line("a ticket's figures / its page", f"{found.figures_ms / found.page_ms:.2f}", "< 1", detail)


def readings(folder: Path) -> Iterator[Line]:
    """In hand with a million readings on file beside ten thousand; both are ours."""
    found = measure_readings(folder)
    what = "In hand, 1,000,000 / 10,000 readings"
    for name, few, many, target in (
        ("the first answer", found.first_few_ms, found.first_many_ms, "none"),
        ("the next one", found.next_few_ms, found.next_many_ms, "≤ 1.15"),
    ):
        yield Line(f"{what}, {name}", f"{many / few:.2f}", target, f"{many:.1f} and {few:.1f} ms")


def sums() -> Iterator[Line]:
    """The cure clock beside numpy."""
    if not has_numpy():
        yield from (Line(what, "not measured", target, "numpy is not installed") for what, target in LINES)
        return
    for (what, target), found in zip(LINES, measure(), strict=True):
        detail = f"numpy {found.numpy_ms:.2f} ms, ours {found.ours_ms:.2f} ms"
        if found.apart_s is not None:
            detail += f"; answers at most {found.apart_s:.1f} s apart"
        yield Line(what, f"{found.ours_ms / found.numpy_ms:.2f}", target, detail)


def measured(run: Run, folder: Path, only: str) -> Iterator[Line]:
    """Every line whose part is wanted."""

    def wanted(part: str) -> bool:
        return only in ("", part)

    if wanted("sums"):
        yield from sums()
    if wanted("flex"):
        yield from (Line(*line) for line in flex_lines())
    if wanted("ticket"):
        yield ticket()
    if wanted("readings"):
        yield from readings(folder / "readings")
    little = write(folder / "little", finished=100)
    if wanted("pages"):
        with floor(little.folder) as base, program(little.folder) as ours:
            yield from pages(run, base, ours, little)
    if wanted("setting"):
        yield from setting(run, folder / "soft")
    if wanted("lifetimes"):
        yield from lifetimes(run, little.folder)
    if wanted("moves"):
        rods = write(folder / "floor", finished=0, movable=MANY_RODS)
        shutil.copytree(folder / "floor", folder / "ours")
        with floor(folder / "floor") as base, program(folder / "ours") as ours:
            yield from moves(run, base, ours, rods.rods)
    if wanted("history"):
        yield from history(run, little, write(folder / "much", finished=100_000))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("--rounds", type=int, default=10, choices=range(1, 31), metavar="1..30")
    parser.add_argument("--seconds", type=int, default=2, choices=range(1, 31), metavar="1..30")
    parser.add_argument("--quick", action="store_true", help="three rounds of a second: a rough idea")
    parser.add_argument("--only", default="", choices=["", *PARTS])
    given = parser.parse_args()
    run = Run(3, 1) if given.quick else Run(given.rounds, given.seconds)
    out = sys.stdout
    called = shlex.join(["python", "-m", "tests.benchmarks", *sys.argv[1:]])
    out.write(
        f"`{called}`: ours to the floor, median of {run.rounds} alternating rounds of {run.seconds} s by "
    )
    out.write(f"{tool()}, on Python {platform.python_version()} and {os.cpu_count()} processors.\n\n")
    out.write("| what | ratio | target | beside it |\n| --- | --- | --- | --- |\n")
    with tempfile.TemporaryDirectory() as folder:
        for line in measured(run, Path(folder), given.only):
            out.write(f"| {line.what} | **{line.figure}** | {line.target} | {line.detail} |\n")
            out.flush()


if __name__ == "__main__":
    main()
