"""The turners under Ways: how many places each has, where it stands, and how often to ask about it."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.turners import every_turner, turner_view
from shop.queries.zones import zones_after
from shop.rules.turners import (
    LEAST_CHECK_MINUTES,
    MOST_CHECK_MINUTES,
    MOST_NAME,
    MOST_PLACES,
    USUAL_CHECK_MINUTES,
)
from shop.services.turners import add_turner, change_turner
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtWays
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
LIST, ONE = "pages/turners.html", "pages/turner_way.html"
MOST_ZONES = 100
NEW = {"name": "", "places": "", "check_minutes": str(USUAL_CHECK_MINUTES), "zone_id": ""}


@router.get("/ways/turners")
def show_turners_on_file(actor: AtWays, page: Page, session: Reading, bench: TheBench) -> Response:
    """Every turner, and a form for a new one."""
    return page.show(LIST, here="ways", form=FormView(), **_list(session, bench))


def _list(session: Session, bench: BenchSide) -> dict[str, Any]:
    views = every_turner(session, bench.warmth(session))
    rows: list[list[Any]] = [
        [
            {"text": view.name, "href": f"/ways/turners/{view.id}"},
            str(view.places),
            view.zone or "–",
            f"{view.check_minutes} min",
        ]
        for view in views
    ]
    return {"rows": rows, "zones": _zones(session), "kept": NEW}


def _zones(session: Session) -> list[tuple[str, str]]:
    zones = zones_after(session, 0, MOST_ZONES)
    return [("", "not said"), *((str(zone.id), zone.name) for zone in zones)]


@router.post("/ways/turners")
def put_turner_on_file(
    actor: AtWays, page: Page, session: Writing, bench: TheBench, posted: Form
) -> Response:
    """Put a turner on file."""
    page.here = "ways"
    with showing_again(page, LIST, posted, lambda: _list(session, bench)):
        turner = add_turner(session, now=bench.now, **_said(Fields(posted)))
    return page.go("/ways/turners", f"{turner.name} is on file.")


def _said(fields: Fields) -> dict[str, Any]:
    """What a form says of a turner. Raises `BadInput` with every fault."""
    places = fields.whole("places", "The number of places", 1, MOST_PLACES)
    minutes = fields.whole("check_minutes", "How often to ask", LEAST_CHECK_MINUTES, MOST_CHECK_MINUTES)
    said = {
        "name": fields.text("name", "The name", MOST_NAME, required=True),
        "places": fields.required("places", "The number of places", places),
        "check_minutes": fields.required("check_minutes", "How often to ask", minutes),
        "zone_id": fields.whole("zone_id", "The zone", 1, 2**31 - 1),
    }
    fields.done()
    return said


@router.get("/ways/turners/{turner_id}")
def show_turner_on_file(
    actor: AtWays, page: Page, session: Reading, bench: TheBench, turner_id: int
) -> Response:
    """One turner, to change."""
    return page.show(ONE, here="ways", form=FormView(), **_one(session, bench, turner_id))


def _one(session: Session, bench: BenchSide, turner_id: int) -> dict[str, Any]:
    view = turner_view(session, turner_id, bench.warmth(session))
    kept = {name: str(getattr(view, name)) for name in ("name", "places", "check_minutes")}
    kept["zone_id"] = "" if view.zone_id is None else str(view.zone_id)
    return {"turner": view, "zones": _zones(session), "kept": kept}


@router.post("/ways/turners/{turner_id}")
def save_turner(
    actor: AtWays, page: Page, session: Writing, bench: TheBench, turner_id: int, posted: Form
) -> Response:
    """Change what is on file of a turner."""
    page.here = "ways"
    with showing_again(page, ONE, posted, lambda: _one(session, bench, turner_id)):
        said, version = _said(Fields(posted)), _version(posted)
        change_turner(session, bench.bench(session, actor), turner_id, version=version, **said)
    return page.go("/ways/turners", "Saved.")


def _version(posted: Posted) -> int:
    fields = Fields(posted)
    version = fields.required("version", "The version", fields.whole("version", "The version", 1, 10**9))
    fields.done()
    return version or 0
