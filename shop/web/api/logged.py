"""What a request says when it logs something at the bench, in the shapes that several calls share."""

from typing import Annotated

from pydantic import Field

from shop.rules.facts import Tick
from shop.rules.sequences import HoldKind
from shop.services.events import Logged, Release
from shop.web.api.base import Body
from shop.web.api.quantities import QuantityIn
from shop.web.api.times import InstantIn

By = Annotated[
    str, Field(max_length=80, examples=["Nell"], description="Whose work it is; the key's name if left out.")
]
Note = Annotated[str, Field(max_length=1000)]
Reason = Annotated[str, Field(max_length=500, examples=["The clock on the wall was an hour fast."])]
Name = Annotated[str, Field(min_length=1, max_length=80)]
StageName = Annotated[Name, Field(examples=["rear grip glued"], description="The name of a stage.")]


class CheckIn(Body):
    """A check that was ticked, and by whom."""

    name: Name
    by: By = ""


Checks = Annotated[
    list[Name | CheckIn],
    Field(
        max_length=50,
        examples=[["orientation"]],
        description="Checks that were ticked; one as text is ticked by whoever logs.",
    ),
]
Measurements = Annotated[
    dict[Name, QuantityIn],
    Field(
        max_length=50,
        examples=[{"spine mark from butt": "8 3/16 in"}],
        description="Figures by name, each with its unit.",
    ),
]


class ReleaseIn(Body):
    """A house rule to release, and why."""

    kind: HoldKind
    reason: Reason


class AdvanceIn(Body):
    """A stage that a build has reached. Only `to` is needed."""

    to: StageName
    at: InstantIn | None = Field(default=None, description="When it was done; now if left out.")
    by: By = ""
    note: Note = ""
    checks: Checks = Field(default=[])
    measurements: Measurements = Field(default={})
    release: list[ReleaseIn] = Field(
        default=[], max_length=20, description="House rules that an owner releases for this stage."
    )


def pairs_of(checks: list[str | CheckIn], by: str) -> tuple[tuple[str, str], ...]:
    """Name and person of each check; whoever logs ticked those that name nobody."""
    return tuple((c, by) if isinstance(c, str) else (c.name, c.by or by) for c in checks)


def logged_of(body: AdvanceIn, actor_name: str) -> Logged:
    """The body as the service takes it."""
    by = body.by or actor_name
    return Logged(
        to=body.to,
        at=body.at,
        by=body.by,
        note=body.note,
        ticks=tuple(Tick(name, who) for name, who in pairs_of(body.checks, by)),
        measured=body.measurements,
        releases=tuple(Release(item.kind, item.reason) for item in body.release),
    )
