"""The landing page of the shop's ways: what may be set, and for everybody their own account."""

from typing import NamedTuple

from fastapi import APIRouter
from starlette.responses import Response

from shop.rules.people import Right
from shop.web.doors import Looking
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)


class Way(NamedTuple):
    """A page of the ways, what it is for, and what somebody needs to come in."""

    name: str
    href: str
    says: str
    right: Right


WAYS = (
    Way("Sequences", "/ways/sequences", "The stages of each kind of rod, and what holds them.", Right.WAYS),
    Way("Spine and guides", "/ways/spine", "Which side of the mark the guides go on.", Right.WAYS),
    Way("Quote terms", "/ways/quote-terms", "Rates, margin or markup, deposit, your terms.", Right.WAYS),
    Way("Care sheet", "/ways/care-sheet", "What a customer reads once the rod is theirs.", Right.WAYS),
    Way("Taxes", "/ways/taxes", "Dated rules, switched on by you alone.", Right.WAYS),
    Way("Hours", "/ways/hours", "When somebody is there, and on which days nobody is.", Right.WAYS),
    Way("Zones", "/ways/zones", "Bench and warm cabinet: their temperatures.", Right.WAYS),
    Way("Turners on file", "/ways/turners", "How many places each has, and how often to ask.", Right.WAYS),
    Way("Turner", "/turner", "Which rod is on which place, until when, and whether it turns.", Right.LOOK),
    Way("Mail", "/ways/mail", "What customers are told by mail, and over which server.", Right.WAYS),
    Way("People", "/ways/people", "Who may sign in, and as what.", Right.WAYS),
    Way("Keys", "/ways/keys", "Which other programs may come in.", Right.WAYS),
    Way("The shop", "/ways/shop", "Name, time zone, currency, the cure clock’s care.", Right.WAYS),
    Way("The clock", "/ways/clock", "The time the server goes by.", Right.LOOK),
    Way("You", "/ways/you", "Your password, your calendar, signing out everywhere.", Right.LOOK),
)


@router.get("/ways")
def show_ways(actor: Looking, page: Page) -> Response:
    """Every page of the ways that this person may open."""
    ways = [way for way in WAYS if actor.may(way.right)]
    return page.show("pages/ways.html", here="ways", ways=ways)
