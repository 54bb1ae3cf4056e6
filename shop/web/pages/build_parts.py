"""The page of a build's parts: set aside, put back, taken off, and held against the rod by a scan."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.rules.build_parts import MOST_OF_ONE, says_parts
from shop.rules.refusals import BadInput
from shop.rules.stock import MOST_CODE, MOST_COUNT, MOST_REASON
from shop.services.build_parts import (
    came_off,
    check_as_seen,
    confirm_part,
    name_part,
    put_back,
    set_aside,
    set_aside_all_that_is_there,
    take_another,
)
from shop.web.benches import BenchSide, TheBench
from shop.web.build_parts_page import parts_context
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtBench, Looking
from shop.web.forms import Fields, FormView, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/build_parts.html"


@router.get("/builds/{number}/parts")
def show_parts(actor: Looking, page: Page, session: Reading, bench: TheBench, number: str) -> Response:
    """What a build takes and has."""
    context = parts_context(page, session, bench, number)
    return page.show(TEMPLATE, here="in-hand", form=FormView(), **context)


@contextmanager
def _answering(
    page: Frame, session: Session, bench: BenchSide, number: str, posted: Posted
) -> Iterator[None]:
    """Turn a refusal into the page as it stands: what was written before it must not show as done."""
    page.here = "in-hand"

    def context() -> dict[str, Any]:
        session.rollback()
        return parts_context(page, session, bench, number)

    with showing_again(page, TEMPLATE, posted, context):
        try:
            yield
        except BadInput as bad:
            # Each part has fields of its own on the page.
            own = {name: f"{name}-{posted['part']}" for name in ("count", "reason") if "part" in posted}
            raise BadInput({own.get(name, name): text for name, text in bad.errors.items()}) from bad


def _part(session: Session, number: str, posted: Posted) -> tuple[int, int | None, str]:
    """Which part of the list is meant, how many of it, and why.

    Raises `BadInput`, `NotOnFile`, and `Overtaken` where the form was shown before the latest move.
    """
    fields = Fields(posted)
    part_id = fields.chosen("part", "The part")
    count = fields.whole(f"count-{part_id}", "How many", 1, MOST_COUNT)
    reason = fields.text(f"reason-{part_id}", "The reason", MOST_REASON)
    fields.done()
    if "seen" in posted:
        check_as_seen(session, number, part_id=part_id, seen=posted["seen"])
    return part_id, count, reason


@router.post("/builds/{number}/parts/set-aside")
def set_parts_aside(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Set one part aside, or all that is there."""
    with _answering(page, session, bench, number, posted):
        at_bench = bench.bench(session, actor)
        if "part" in posted:
            part_id, count, _reason = _part(session, number, posted)
            said = f"{set_aside(session, number, at_bench, part_id=part_id, count=count)}"
        else:
            said = says_parts(set_aside_all_that_is_there(session, number, at_bench))
    return page.go(f"/builds/{number}/parts", f"Set aside: {said}.")


@router.post("/builds/{number}/parts/put-back")
def put_part_back(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Put what is set aside of a part back on the shelf."""
    with _answering(page, session, bench, number, posted):
        part_id, count, _reason = _part(session, number, posted)
        put_back(session, number, bench.bench(session, actor), part_id=part_id, count=count)
    return page.go(f"/builds/{number}/parts", "Put back on the shelf.")


@router.post("/builds/{number}/parts/confirm")
def hold_against_the_rod(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Hold the part in hand against the rod: by its code as scanned, or as one of the list."""
    with _answering(page, session, bench, number, posted):
        fields = Fields(posted)
        code = fields.text("code", "The code", MOST_CODE)
        part_id = fields.chosen("part", "The part") if "part" in posted else None
        fields.done()
        name = confirm_part(session, number, bench.bench(session, actor), code=code, part_id=part_id)
    return page.go(f"/builds/{number}/parts", f"Right: {name} is for this rod.")


@router.post("/builds/{number}/parts/came-off")
def take_part_off(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Say that used parts came off the rod whole."""
    with _answering(page, session, bench, number, posted):
        part_id, count, _reason = _part(session, number, posted)
        came_off(session, number, bench.bench(session, actor), part_id=part_id, count=count or 1)
    return page.go(
        f"/builds/{number}/parts", "It lies on the shelf again. If the rod takes it still, set one aside."
    )


@router.post("/builds/{number}/parts/spoilt")
def spoil_part(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Say that used parts are spoilt and others are taken in their place."""
    with _answering(page, session, bench, number, posted):
        part_id, count, reason = _part(session, number, posted)
        at_bench = bench.bench(session, actor)
        take_another(session, number, at_bench, part_id=part_id, count=count or 1, reason=reason)
    return page.go(f"/builds/{number}/parts", "Spoilt; the rod takes another in its place.")


@router.post("/builds/{number}/parts")
def name_by_hand(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, number: str, posted: Form
) -> Response:
    """Name thread, or a part of a repair, that the build takes."""
    with _answering(page, session, bench, number, posted):
        fields = Fields(posted)
        component_id = fields.chosen("component_id", "The part")
        count = fields.whole("needed", "How many it takes", 0, MOST_OF_ONE)
        fields.required("needed", "How many it takes", count)
        fields.done()
        name_part(session, number, bench.bench(session, actor), component_id=component_id, count=count or 0)
    return page.go(f"/builds/{number}/parts", "Named." if count else "Taken off the list.")
