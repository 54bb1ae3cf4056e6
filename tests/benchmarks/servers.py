"""Starts the floor and the program as processes of their own on loopback, and ends them."""

import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
START_SECONDS = 60.0


class Server(NamedTuple):
    """A running server, and how long it took from nothing to its first answer, in seconds."""

    address: str
    pid: int
    cold_start_s: float


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def floor(folder: Path) -> Iterator[Server]:
    """The floor on the database of a data folder."""
    surroundings = {"FLOOR_DATABASE": str(folder / "tackfree.sqlite3")}
    command = ["-m", "uvicorn", "tests.benchmarks.floor:app", "--no-access-log", "--log-level", "warning"]
    with _running(command, surroundings, "/") as server:
        yield server


@contextmanager
def program(folder: Path) -> Iterator[Server]:
    """The program on a data folder."""
    with _running(["-m", "shop", "serve"], {"TACKFREE_DATA": str(folder)}, "/sign-in") as server:
        yield server


@contextmanager
def later(folder: Path, forgets: bool) -> Iterator[Server]:
    """The program on a data folder, in another minute for each request for Setting (see `later`)."""
    command = ["-m", "tests.benchmarks.later", *(["--forget"] if forgets else [])]
    with _running(command, {"TACKFREE_DATA": str(folder)}, "/sign-in") as server:
        yield server


@contextmanager
def _running(command: list[str], surroundings: dict[str, str], path: str) -> Iterator[Server]:
    port = _free_port()
    address = f"http://127.0.0.1:{port}"
    began = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, *command, "--port", str(port)],
        cwd=ROOT,
        env={**os.environ, **surroundings},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield Server(address, process.pid, _first_answer(address + path, process, began))
    finally:
        process.terminate()
        process.wait(30)


def _first_answer(address: str, process: subprocess.Popen[bytes], began: float) -> float:
    while process.poll() is None and time.perf_counter() - began < START_SECONDS:
        try:
            with urllib.request.urlopen(address, timeout=10):
                return time.perf_counter() - began
        except (urllib.error.URLError, ConnectionError):
            time.sleep(0.005)
    raise RuntimeError(f"The server for {address} did not answer (exit status {process.poll()}).")
