"""A real server around a shop of this process, in a thread of its own, for what only that can show."""

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn

from shop.app import create_app
from shop.web.deps import Hub


@contextmanager
def served(hub: Hub, port: int = 0) -> Iterator[str]:
    """The address of the server, on loopback, while the block runs; at a free port where none is named."""
    listening = socket.create_server(("127.0.0.1", port))
    config = uvicorn.Config(create_app(hub), log_level="error", timeout_graceful_shutdown=5)
    running = uvicorn.Server(config)
    thread = threading.Thread(target=running.run, kwargs={"sockets": [listening]})
    thread.start()
    while not running.started and thread.is_alive():
        time.sleep(0.01)
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    finally:
        running.should_exit = True
        thread.join(20)
        listening.close()
