"""`serve`: the pages and the API, for a shop or as a demo that leaves nothing behind."""

import errno
import ipaddress
import logging
import signal
import socket
import sys
import tempfile
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer
import uvicorn

import seed_demo
from shop.app import create_app, settle_memory
from shop.commands.faults import CannotDo
from shop.commands.opening import opened
from shop.config import Settings
from shop.db.sessions import sqlite_library
from shop.outside.mqtt import MqttFault, check_installed, parse_address
from shop.queries.users import has_owner
from shop.web.deps import Hub

DEFAULT_PORT = 8000
# Long enough for a write that waits its turn; open browser connections must not keep a stop waiting.
STOP_SECONDS = 3


class AnnouncingServer(uvicorn.Server):
    """A server that prints its lines once it listens and answers, and not before."""

    def __init__(self, config: uvicorn.Config, lines: Sequence[str]) -> None:
        super().__init__(config)
        self._lines = lines

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, then say so."""
        await super().startup(sockets=sockets)
        settle_memory()
        for line in self._lines:
            typer.echo(line)


def serve(
    host: Annotated[str, typer.Option(help="The address to listen on.")] = "127.0.0.1",
    port: Annotated[
        int | None, typer.Option(min=0, max=65535, help="The port; 0 for a free one. 8000 if not given.")
    ] = None,
    demo: Annotated[
        bool, typer.Option("--demo", help="Serve a made-up shop from a throw-away folder.")
    ] = False,
) -> None:
    """Serve the pages and the API until stopped."""
    logging.basicConfig(
        stream=sys.stderr, level=logging.WARNING, format="%(levelname)s %(name)s: %(message)s"
    )
    if threading.current_thread() is threading.main_thread():
        # Being told to stop is a regular end: let it unwind, so that everything is closed and tidied up.
        signal.signal(signal.SIGTERM, signal.default_int_handler)
    if demo:
        _serve_demo(host, port)
    else:
        _serve_shop(host, DEFAULT_PORT if port is None else port)


def _serve_shop(host: str, port: int) -> None:
    settings = Settings()
    _check_broker(settings)
    with _bound(host, port) as listener, opened(settings) as hub:
        address = _address(listener)
        lines = [f"open {address}/"]
        with hub.database.reading() as session:
            if not has_owner(session):
                lines.append(f"first run: open {address}/first-run/{hub.first_run}")
        _run(hub, listener, lines)


def _check_broker(settings: Settings) -> None:
    """Raises `CannotDo` for a broker's address that cannot be used, or without the library for it."""
    if settings.mqtt_url:
        try:
            check_installed()
            parse_address(settings.mqtt_url)
        except MqttFault as fault:
            raise CannotDo(str(fault)) from fault


def _serve_demo(host: str, port: int | None) -> None:
    if not _is_loopback(host):
        raise CannotDo(f"The demo listens on this machine alone, so --host {host} cannot be had with --demo.")
    with (
        _bound_for_demo(host, port) as listener,
        tempfile.TemporaryDirectory(prefix="tackfree-demo-") as folder,
    ):
        address = _address(listener)
        settings = Settings(
            data=Path(folder), database_url="", public_url=address, secure_cookies=False, mqtt_url=""
        )
        with opened(settings, demo=True) as hub:
            demo = seed_demo.fill(hub, hub.clock.now())
            lines = [
                f"open {address}/",
                f"sign in as {demo.owner_name} with {demo.owner_password}",
                f"status link {address}{demo.status_url_path}",
            ]
            _run(hub, listener, lines)


def _run(hub: Hub, listener: socket.socket, lines: Sequence[str]) -> None:
    typer.echo(_library_line(hub), err=True)
    config = uvicorn.Config(
        create_app(hub), lifespan="on", log_config=None, log_level=logging.WARNING, access_log=False,
        server_header=False, timeout_graceful_shutdown=STOP_SECONDS,
    )  # fmt: skip
    server = AnnouncingServer(config, lines)
    try:
        server.run(sockets=[listener])
    except KeyboardInterrupt:
        if not server.started:
            raise
    except OSError as fault:
        raise CannotDo(f"{_address(listener)} cannot be listened on: {fault.strerror}.") from fault


def _library_line(hub: Hub) -> str:
    if not hub.database.embedded:
        return f"database: {hub.database.url.get_backend_name()}"
    version, safe = sqlite_library()
    journal = "on" if safe else "off, because this version can damage it"
    return f"database: SQLite {version}, WAL journal {journal}"


def _bound(host: str, port: int) -> socket.socket:
    """A socket that has its port but does not listen yet, so that nobody is let in too early."""
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    except OSError as fault:
        raise CannotDo(f"There is no address {host} on this machine.") from fault
    listener = socket.socket(family, kind, protocol)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(address)
    except OSError as fault:
        listener.close()
        if fault.errno == errno.EADDRINUSE:
            sentence = (
                f"Port {port} of {host} is in use; stop the program that has it, or choose another --port."
            )
            raise CannotDo(sentence) from fault
        raise CannotDo(f"Port {port} of {host} cannot be listened on: {fault.strerror}.") from fault
    return listener


def _bound_for_demo(host: str, port: int | None) -> socket.socket:
    if port is not None:
        return _bound(host, port)
    try:
        return _bound(host, DEFAULT_PORT)
    except CannotDo:
        return _bound(host, 0)


def _address(listener: socket.socket) -> str:
    """Where a browser on this machine finds the server; no slash at its end."""
    host, port = listener.getsockname()[:2]
    if ipaddress.ip_address(host).is_unspecified:
        host = "127.0.0.1" if listener.family == socket.AF_INET else "::1"
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"


def _is_loopback(host: str) -> bool:
    try:
        return host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
