"""What this process remembers of the broker and of payloads that were refused; a restart forgets it."""

from datetime import datetime
from typing import NamedTuple


class RefusedPayload(NamedTuple):
    """The last payload of a sensor that was refused, and how many were in all."""

    says: str
    at: datetime
    times: int


class Heard:
    """Whether the broker answers, and what came that was no reading, by sensor. For the loop's thread."""

    def __init__(self) -> None:
        self.is_connected = False
        # When the connection last came or went; none until the first try has ended.
        self.since: datetime | None = None
        self.refused: dict[int, RefusedPayload] = {}

    def connection(self, is_connected: bool, now: datetime) -> None:
        """Note that the connection came or went."""
        if self.since is None or is_connected is not self.is_connected:
            self.is_connected, self.since = is_connected, now

    def refuse(self, sensor_id: int, says: str, now: datetime) -> bool:
        """Note a refused payload; gives whether it is refused for another reason than the one before."""
        before = self.refused.get(sensor_id)
        times = 1 if before is None else before.times + 1
        self.refused[sensor_id] = RefusedPayload(says, now, times)
        return before is None or before.says != says
