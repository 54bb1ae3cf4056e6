"""The plan of a build, as the desk has laid it down, and how a form says which plan it was made on.

A stage that is logged meanwhile changes the build, but not its plan; so a form goes by the plan's own words.
"""

from datetime import date
from typing import Protocol

from shop.rules.refusals import Overtaken
from shop.services.tokens import hash_of

CHANGED_MEANWHILE = "Somebody has changed this plan meanwhile. Look at what is on file, then save again."


class Plan(Protocol):
    """What is laid down of a build; its record and its view are plans."""

    @property
    def customer_id(self) -> int: ...
    @property
    def title(self) -> str: ...
    @property
    def blank_id(self) -> int | None: ...
    @property
    def promised_on(self) -> date | None: ...
    @property
    def change_by(self) -> date | None: ...
    @property
    def thread_colour(self) -> str: ...
    @property
    def notes(self) -> str: ...


def print_of_plan(plan: Plan) -> str:
    """A short print of a plan: two of them are alike only if the plans are."""
    said = (
        plan.customer_id, plan.title, plan.blank_id, plan.promised_on, plan.change_by, plan.thread_colour,
        plan.notes,
    )  # fmt: skip
    return hash_of(repr(said))[:16]


def check_seen(plan: Plan, seen: str | None) -> None:
    """Raise `Overtaken` where a plan is no longer the one whose print was `seen`; none asks nothing."""
    if seen is not None and seen != print_of_plan(plan):
        raise Overtaken(CHANGED_MEANWHILE)
