"""Holds and decisions as the API gives them."""

from typing import Any, Literal

from pydantic import BaseModel

from shop.rules.cup import CupHold
from shop.rules.decide import Decision, ShutHold
from shop.rules.sequences import HoldKind
from shop.web.api.times import InstantOut


class HoldOut(BaseModel):
    """A hold that is shut: why, and the instant that clears it if time alone does."""

    kind: HoldKind
    reason: str
    clears_at: InstantOut | None
    cleared_by: Literal["time", "work", "person", "owner", "never"]
    waivable: bool


class NextOut(BaseModel):
    """The next stage and whether it may be reached now. `stage` is null once every stage is reached."""

    stage: str | None
    allowed: bool
    ready_at: InstantOut | None
    holds: list[HoldOut]


def hold_out(hold: ShutHold | CupHold) -> dict[str, Any]:
    """A shut hold of a stage or of a cup, for `HoldOut`."""
    return {
        "kind": hold.kind.value,
        "reason": hold.reason,
        "clears_at": hold.clears_at,
        "cleared_by": hold.cleared_by.value,
        "waivable": hold.waivable,
    }


def next_out(decision: Decision) -> dict[str, Any]:
    """A decision, for `NextOut`."""
    return {
        "stage": None if decision.stage is None else decision.stage.name,
        "allowed": decision.allowed,
        "ready_at": decision.ready_at,
        "holds": [hold_out(hold) for hold in decision.holds],
    }


def holds_json(decision: Decision) -> list[dict[str, Any]]:
    """The holds of a refusal, ready for a problem's body."""
    return [HoldOut(**hold_out(hold)).model_dump(mode="json") for hold in decision.holds]
