"""While the clock is in doubt no stage is allowed, with the reason, until an owner has confirmed the time."""

from collections.abc import Callable
from datetime import timedelta

from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.web.deps import Hub
from tests.api.conftest import Program
from tests.conftest import Hands


def test_a_jump_of_the_clock_holds_every_build_until_an_owner_confirms_the_time(
    hub: Hub, hands: Hands, desk: Program, signed_in: Callable[[Role], TestClient]
) -> None:
    number = desk.build()
    before = desk.get(f"/builds/{number}/next")
    assert before["allowed"] is True
    hands.wall_at += timedelta(days=3)
    held = desk.get(f"/builds/{number}/next")
    assert held["allowed"] is False
    (hold,) = (hold for hold in held["holds"] if hold["kind"] == "clock")
    assert hold["reason"] == hub.clock.doubt
    assert (hold["clears_at"], hold["cleared_by"], hold["waivable"]) == (None, "owner", False)
    refusal = desk.assert_refused(409, f"/builds/{number}/advance", to=before["stage"])
    assert "clock" in [hold["kind"] for hold in refusal["holds"]]
    signed_in(Role.OWNER).post("/ways/clock", data={"doubt": hub.clock.doubt})
    assert desk.get(f"/builds/{number}/next")["allowed"] is True
    assert desk.post(f"/builds/{number}/advance", to=before["stage"])["number"] == number
