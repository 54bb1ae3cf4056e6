"""Opening the shop's data for a command, and closing it afterwards."""

from collections.abc import Iterator
from contextlib import contextmanager

from shop.app import open_hub
from shop.clock import Clock
from shop.commands.faults import CannotDo
from shop.config import Settings
from shop.web.deps import Hub


@contextmanager
def opened(settings: Settings, demo: bool = False) -> Iterator[Hub]:
    """The hub over a data folder, its tables up to date. Raises `CannotDo` for an unusable folder."""
    try:
        hub = open_hub(settings, Clock(), demo)
    except OSError as fault:
        raise CannotDo(f"The data folder {settings.data} cannot be used: {fault.strerror}.") from fault
    try:
        yield hub
    finally:
        hub.database.close()
