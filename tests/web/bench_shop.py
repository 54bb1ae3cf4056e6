"""The small shop of the API's tests, with one rod on the bench, for the tests of the bench's pages."""

from zoneinfo import ZoneInfo

from shop.services.builds import take_on_build
from shop.web.deps import Hub
from tests.api.filled import CUSTOMER, SEQUENCE, fill
from tests.conftest import Hands

ROD = "/builds/26-001"
HTMX = {"hx-request": "true"}


def open_bench(hub: Hub, hands: Hands) -> None:
    """Fill the shop and take one rod on."""
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
        take_on_build(
            session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft casting",
            rod_kind="casting", sequence_id=SEQUENCE,
        )  # fmt: skip
