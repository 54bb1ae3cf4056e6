"""The page of the turners: who is on which place until when, whether they turn, and what to do on a stop."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.turner_stops import stop_view
from shop.queries.turners import stay_view, turner_view
from shop.rules.people import Right
from shop.rules.refusals import BadInput, Held, NotOnFile
from shop.rules.turners import FLAWED, MOST_NOTE, section_words
from shop.services.turner_stops import end_stop, inspect, stop_turner, turn_by_hand
from shop.services.turners import MOST_REASON, move, note_turning, put_on, take_off
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtBench, Looking
from shop.web.forms import Fields, FormView, ShowAgain, showing_again
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.turner_page import (
    ago_choices,
    free_places,
    rod_line,
    said_time,
    state_of,
    turner_context,
)
from shop.web.wording import when

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
ALL, STAY = "pages/turner.html", "pages/turner_stay.html"
STOP, INSPECT = "pages/turner_stop.html", "pages/turner_inspect.html"
END = "pages/turner_end.html"
# What the services call a field, and where the forms ask for it.
ASKED_AS = {
    "place_number": "place", "build": "rod", "section": "rod", "on_at": "at", "off_at": "at",
    "stopped_at": "at", "ended_at": "at",
}  # fmt: skip


@contextmanager
def asked_as(names: dict[str, str]) -> Iterator[None]:
    """Put what a service finds wrong beside the field that the form asks it by."""
    try:
        yield
    except BadInput as bad:
        raise BadInput({names.get(name, name): said for name, said in bad.errors.items()}) from bad


@router.get("/turner")
def show_turners(actor: Looking, page: Page, session: Reading, bench: TheBench) -> Response:
    """Every turner; asked for again by the page itself every minute."""
    template = "fragments/turner_now.html" if page.wants_fragment else ALL
    return page.show(template, here="setting", form=FormView(), **turner_context(page, session, bench))


@contextmanager
def answering_all(page: Frame, session: Session, bench: BenchSide, posted: Posted) -> Iterator[None]:
    """Turn a refusal inside the block into the page of the turners as it stands, with the form as typed."""
    page.here = "setting"

    def context() -> dict[str, Any]:
        # What was written before the refusal is dropped; the page must not show it as done.
        session.rollback()
        return turner_context(page, session, bench)

    with showing_again(page, ALL, posted, context), asked_as(ASKED_AS):
        yield


@router.post("/turner/stays")
def put_rod_on(actor: AtBench, page: Page, session: Writing, bench: TheBench, posted: Form) -> Response:
    """Put a rod, or one section of it, on a place."""
    with answering_all(page, session, bench, posted):
        fields = Fields(posted)
        build, section = _pair(fields, posted, "rod", "The rod")
        turner, place = _pair(fields, posted, "place", "The place")
        at = said_time(posted, fields, bench.now, page.zone)
        fields.done()
        stay = put_on(
            session, bench.bench(session, actor), int(turner), build=build, section=section,
            place_number=place, on_at=at,
        )  # fmt: skip
    return page.go("/turner", f"{build} is on place {stay.place_number}.")


def _pair(fields: Fields, posted: Posted, name: str, label: str) -> tuple[str, int]:
    """The two parts of a choice such as `26-014/2` or `1/3`; the fault is noted in `fields`."""
    first, _, second = posted.get(name, "").partition("/")
    if not (first and _is_id(second)) or (name == "place" and not _is_id(first)):
        fields.errors[name] = f"{label} is missing; please choose one."
        return "", 0
    return first, int(second)


def _is_id(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 10


@router.post("/turner/{turner_id}/checks")
def note_it_turns(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, turner_id: int, posted: Form
) -> Response:
    """Somebody looked, and it turned."""
    with answering_all(page, session, bench, posted):
        note_turning(session, bench.bench(session, actor), turner_id)
    return page.go("/turner", "Seen turning.")


@router.get("/turner/{turner_id}/stop")
def ask_about_stop(actor: AtBench, page: Page, session: Reading, bench: TheBench, turner_id: int) -> Response:
    """Since when it stands still."""
    return page.show(STOP, here="setting", form=FormView(), **_stopping(page, session, bench, turner_id))


def _stopping(page: Frame, session: Session, bench: BenchSide, turner_id: int) -> dict[str, Any]:
    view = turner_view(session, turner_id, bench.warmth(session))
    seen = "" if view.last_seen_at is None else when(view.last_seen_at, bench.now, page.zone)
    first = [("", f"since it was last seen turning, {seen}")] if seen else []
    return {"turner": view, "ago": [*first, *ago_choices(bench.now, view.seen_at)]}


@router.post("/turner/{turner_id}/stop")
def note_stop(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, turner_id: int, posted: Form
) -> Response:
    """Write down that it stands still, and every rod that this caught wet."""
    page.here = "setting"
    context = partial(_stopping, page, session, bench, turner_id)
    with showing_again(page, STOP, posted, context), asked_as(ASKED_AS):
        fields = Fields(posted)
        at = said_time(posted, fields, bench.now, page.zone)
        note = fields.text("note", "The note", MOST_NOTE)
        fields.done()
        since = bench.now if at is None and posted.get("ago") == "0" else at
        stop_turner(session, bench.bench(session, actor), turner_id, stopped_at=since, note=note)
    return page.go("/turner", "Noted. Turn these by hand now, in this order.")


@router.get("/turner/stops/{stop_id}/end")
def ask_about_end(actor: AtBench, page: Page, session: Reading, bench: TheBench, stop_id: int) -> Response:
    """Since when it turns again, where that is not just now."""
    return page.show(END, here="setting", form=FormView(), **_ending(page, session, bench, stop_id))


def _ending(page: Frame, session: Session, bench: BenchSide, stop_id: int) -> dict[str, Any]:
    stop = stop_view(session, stop_id, bench.warmth(session))
    return {
        "stop": stop,
        "stopped": when(stop.stopped_at, bench.now, page.zone),
        "ended": "" if stop.ended_at is None else when(stop.ended_at, bench.now, page.zone),
        "ago": ago_choices(),
    }


@router.post("/turner/stops/{stop_id}/end")
def note_it_turns_again(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, stop_id: int, posted: Form
) -> Response:
    """It turns again, now or since a time that is said; what it caught wet is to be inspected now."""
    page.here = "setting"
    context = partial(_ending, page, session, bench, stop_id)
    with showing_again(page, END, posted, context), asked_as(ASKED_AS):
        fields = Fields(posted)
        at = said_time(posted, fields, bench.now, page.zone)
        fields.done()
        end_stop(session, bench.bench(session, actor), stop_id, ended_at=at)
    return page.go("/turner", "It turns again.")


@router.post("/turner/stops/{stop_id}/rods/{rod_id}/turned")
def note_turn_by_hand(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, stop_id: int, rod_id: int, posted: Form
) -> Response:
    """A rod was turned by hand."""
    with answering_all(page, session, bench, posted):
        rod = _stopped_rod(session, bench, stop_id, rod_id)["rod"]
        turn_by_hand(session, bench.bench(session, actor), stop_id, build=rod.build, section=rod.section)
    return page.go("/turner", f"{rod.build} was turned by hand.")


def _stopped_rod(session: Session, bench: BenchSide, stop_id: int, rod_id: int) -> dict[str, Any]:
    """A stop and one of the rods that it caught wet. Raises `NotOnFile`."""
    stop = stop_view(session, stop_id, bench.warmth(session))
    rod = next((rod for rod in stop.rods if rod.id == rod_id), None)
    if rod is None:
        raise NotOnFile("There is no such rod of this stop on record.")
    return {"stop": stop, "rod": rod}


@router.get("/turner/stops/{stop_id}/rods/{rod_id}")
def ask_about_coat(
    actor: AtBench, page: Page, session: Reading, bench: TheBench, stop_id: int, rod_id: int
) -> Response:
    """How the coat of a rod is found after it stood still."""
    context = _inspecting(page, session, bench, stop_id, rod_id)
    return page.show(INSPECT, here="setting", form=FormView(), **context)


def _inspecting(
    page: Frame, session: Session, bench: BenchSide, stop_id: int, rod_id: int, why_not: str = ""
) -> dict[str, Any]:
    found = _stopped_rod(session, bench, stop_id, rod_id)
    line = rod_line(found["rod"], bench.now, page.zone)
    stopped = when(found["stop"].stopped_at, bench.now, page.zone)
    return {**found, "line": line, "stopped": stopped, "why_not": why_not}


@router.post("/turner/stops/{stop_id}/rods/{rod_id}")
def note_inspection(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, stop_id: int, rod_id: int, posted: Form
) -> Response:
    """Write down how the coat was found."""
    page.here = "setting"
    context = partial(_inspecting, page, session, bench, stop_id, rod_id)
    rod = _stopped_rod(session, bench, stop_id, rod_id)["rod"]
    outcome = posted.get("outcome", "")
    with _holding(page, INSPECT, posted, context), showing_again(page, INSPECT, posted, context):
        note = posted.get("note", "")
        at_bench = bench.bench(session, actor)
        said = {"build": rod.build, "section": rod.section, "outcome": outcome, "note": note}
        inspect(session, at_bench, stop_id, **said)
    todo = " Sand and recoat by the sheet, or strip it." if outcome == FLAWED else ""
    return page.go("/turner", f"The coat of {rod.build} was found {outcome}.{todo}")


@contextmanager
def _holding(page: Frame, template: str, posted: Posted, context: Any) -> Iterator[None]:
    """Turn a hold inside the block into status 409 and the form as typed, under the reason."""
    try:
        yield
    except Held as held:
        shown = {**context(), "why_not": held.sentence}
        form = FormView(posted)
        raise ShowAgain(page.show(template, status=409, form=form, **shown)) from held


@router.get("/turner/stays/{stay_id}")
def show_stay(actor: Looking, page: Page, session: Reading, bench: TheBench, stay_id: int) -> Response:
    """One rod on its place: until when it must turn, taking it off and moving it."""
    return page.show(STAY, here="setting", form=FormView(), **_one(page, session, bench, stay_id))


def _one(page: Frame, session: Session, bench: BenchSide, stay_id: int) -> dict[str, Any]:
    stay = stay_view(session, stay_id, bench.warmth(session))
    turner = turner_view(session, stay.turner_id, bench.warmth(session))
    person = page.person
    return {
        "stay": stay,
        "what": f"{stay.title}, {section_words(stay.section)}",
        "turner": turner,
        "state": state_of(stay, turner.stop_id is not None, bench.now, page.zone),
        "since": when(stay.on_at, bench.now, page.zone),
        "off": "" if stay.off_at is None else when(stay.off_at, bench.now, page.zone),
        "is_over": stay.turning.is_over(bench.now) and not stay.to_inspect,
        "places": free_places(session, bench),
        "ago": ago_choices(),
        "may_bench": person is not None and person.may(Right.BENCH),
        "may_correct": person is not None and person.may(Right.CORRECT),
        "why_not": "",
    }


@router.post("/turner/stays/{stay_id}/off")
def take_rod_off(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, stay_id: int, posted: Form
) -> Response:
    """Take a rod off; before its time only for a reason."""
    page.here = "setting"
    context = partial(_one, page, session, bench, stay_id)
    with (
        _holding(page, STAY, posted, context),
        showing_again(page, STAY, posted, context),
        asked_as(ASKED_AS),
    ):
        fields = Fields(posted)
        at = said_time(posted, fields, bench.now, page.zone)
        reason = fields.text("reason", "The reason", MOST_REASON)
        fields.done()
        stay = take_off(session, bench.bench(session, actor), stay_id, off_at=at, reason=reason)
    return page.go("/turner", f"Place {stay.place_number} is free.")


@router.post("/turner/stays/{stay_id}/move")
def move_rod(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, stay_id: int, posted: Form
) -> Response:
    """Move a rod to another place."""
    page.here = "setting"
    context = partial(_one, page, session, bench, stay_id)
    with showing_again(page, STAY, posted, context), asked_as(ASKED_AS):
        fields = Fields(posted)
        turner, place = _pair(fields, posted, "place", "The place")
        fields.done()
        at_bench = bench.bench(session, actor)
        stay = move(session, at_bench, stay_id, turner_id=int(turner), place_number=place)
    return page.go("/turner", f"It is on place {stay.place_number} now.")
