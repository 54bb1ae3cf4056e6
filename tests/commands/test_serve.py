"""`serve`: what it prints and when, where it listens, the first run, the demo, and how it ends."""

import re
import signal
import socket
from contextlib import ExitStack, suppress
from pathlib import Path

import httpx
import pytest

from shop.commands.serve import DEFAULT_PORT
from tests.commands.running import STOP_SECONDS, Server, assert_refused, run, serving

PASSWORD = "a long enough password"


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path / "data"


def stopped(server: Server, with_signal: signal.Signals) -> int:
    server.process.send_signal(with_signal)
    return server.process.wait(STOP_SECONDS)


@pytest.mark.parametrize("with_signal", [signal.SIGTERM, signal.SIGINT])
def test_it_answers_as_soon_as_it_says_so_and_ends_well(data: Path, with_signal: signal.Signals) -> None:
    with serving(data) as server:
        assert httpx.get(f"{server.address}/sign-in").status_code == 200
        assert stopped(server, with_signal) == 0
    errors = (data.parent / "stderr.txt").read_text()
    assert re.fullmatch(r"database: SQLite \d+\.\d+\.\d+, WAL journal (on|off)[^\n]*\n", errors)


def test_the_first_run_makes_the_owner_and_is_then_over(data: Path) -> None:
    form = {
        "shop_name": "The Long Bench", "time_zone": "Europe/Lisbon", "currency": "EUR", "name": "Ruth",
        "password": PASSWORD, "again": PASSWORD,
    }  # fmt: skip
    with serving(data) as server:
        assert len(server.lines) == 2
        address = server.lines[1].removeprefix("first run: open ")
        assert address.startswith(f"{server.address}/first-run/")
        answer = httpx.post(address, data=form)
        assert (answer.status_code, answer.headers["location"]) == (303, "/")
        assert httpx.get(address).status_code == 404
        assert stopped(server, signal.SIGTERM) == 0
    with serving(data) as server:
        assert server.lines == [f"open {server.address}/"]
        assert (
            httpx.get(address.replace(address[: address.index("/first")], server.address)).status_code == 404
        )


def test_a_port_in_use_is_one_line(data: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        assert_refused(run(data, "serve", "--port", str(port)), f"Port {port} of 127.0.0.1 is in use")
        done = run(data, "serve", "--demo", "--port", str(port))
        assert_refused(done, f"Port {port} of 127.0.0.1 is in use")
    # The port is asked for before anything is written.
    assert not data.exists()


def test_an_address_of_another_machine_is_one_line(data: Path) -> None:
    assert_refused(run(data, "serve", "--host", "192.0.2.1", "--port", "0"), "192.0.2.1")
    assert_refused(run(data, "serve", "--host", "no such host", "--port", "0"), "no such host")


def test_the_demo_needs_nothing_and_leaves_nothing(data: Path) -> None:
    tmp = data.parent / "tmp"
    tmp.mkdir()
    with serving(data, "--demo", TMPDIR=str(tmp)) as server:
        opened, sign_in, status_link = server.lines
        assert opened == f"open {server.address}/"
        assert httpx.URL(server.address).host == "127.0.0.1"
        said = re.fullmatch(r"sign in as (.+) with (\S+)", sign_in)
        assert said is not None
        form = {"name": said.group(1), "password": said.group(2)}
        with httpx.Client(base_url=server.address) as browser:
            assert browser.post("/sign-in", data=form).headers["location"] == "/"
            # Only an owner may see this page.
            assert browser.get("/ways/people").status_code == 200
        link = status_link.removeprefix("status link ")
        assert link.startswith(f"{server.address}/rod/")
        assert httpx.get(link).status_code == 200
        assert len(list(tmp.iterdir())) == 1
        assert stopped(server, signal.SIGTERM) == 0
    assert list(tmp.iterdir()) == []
    assert not data.exists()


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.1", "::"])
def test_the_demo_listens_on_this_machine_alone(data: Path, host: str) -> None:
    assert_refused(run(data, "serve", "--demo", "--host", host), host, "this machine alone")


def test_the_demo_finds_a_port_of_its_own(data: Path) -> None:
    with ExitStack() as held:
        with suppress(OSError):  # where somebody else has it, so much the better
            held.enter_context(socket.create_server(("127.0.0.1", DEFAULT_PORT)))
        with serving(data, "--demo", port="") as server:
            assert httpx.URL(server.address).port != DEFAULT_PORT
            assert httpx.get(f"{server.address}/sign-in").status_code == 200
