"""Closing: after the gloves come off, one question for each place that a cup was mixed for."""

from datetime import datetime, timedelta
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.mixes import MixView, mix_view, warnings_of_mixes
from shop.queries.servings import ServingView, servings_of_mix
from shop.rules.closing import closing_choices
from shop.rules.people import Actor
from shop.rules.refusals import BadInput, Held, Overtaken
from shop.services.bench import Bench
from shop.services.servings import Closing, close_places, leave_out
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Posted, Reading, Writing
from shop.web.doors import AtBench, Looking
from shop.web.forms import Fields, FormView, ShowAgain, showing_again
from shop.web.running import ReadingRoute
from shop.web.sheets import warning_of_mix
from shop.web.templating import Frame, Page
from shop.web.wording import span, when

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/closing.html"
OTHER, NOT_YET, LEFT_OUT, TOO_LATE = "other", "not yet", "left out", "too late"
GELLED = "Not closed within its pot life: mix again."
MOST_AGO = 24 * 60


@router.get("/mixes/{mix_id}/closing")
def show_closing(actor: Looking, page: Page, session: Reading, bench: TheBench, mix_id: int) -> Response:
    """The places of a cup that are not closed yet, each with when it may have been."""
    return page.show(TEMPLATE, here="cup", form=FormView(), **_context(page, session, bench, mix_id))


def _context(page: Frame, session: Session, bench: BenchSide, mix_id: int) -> dict[str, Any]:
    mix = mix_view(session, mix_id, bench.warmth(session))
    servings = servings_of_mix(session, mix.id)
    choices = _choices(mix, bench.now, page)
    return {
        "mix": mix,
        "mixed_text": when(mix.mixed_at, bench.now, page.zone),
        "life_text": _life(mix, bench.now),
        "warns": warning_of_mix(mix.sheet_mark),
        "warnings": warnings_of_mixes(session, [mix]).get(mix.id, []),
        "open": [serving for serving in servings if serving.is_open],
        "done": [_done(serving, bench.now, page) for serving in servings if not serving.is_open],
        "choices": choices,
        # After the pot life no answer is the safe one; then somebody has to choose.
        "first": "now" if mix.pot_life_ends_at >= bench.now else "",
    }


def _choices(mix: MixView, now: datetime, page: Frame) -> list[tuple[str, str]]:
    """The answers to one question; the latest instant that can be right stands first."""
    said = []
    for key, at in closing_choices(now, mix.mixed_at, mix.pot_life_ends_at):
        clock = when(at, now, page.zone)
        words = {"now": "Closed now", "end": f"Just before the pot life ended, {clock}"}
        said.append(
            ("now" if key == "now" else at.isoformat(), words.get(key, f"{key} minutes ago, {clock}"))
        )
    if now > mix.pot_life_ends_at:
        said.append((TOO_LATE, "Not within its pot life: mix again"))
    return [
        *said, (OTHER, "Some other minutes ago"), (NOT_YET, "Not closed yet"),
        (LEFT_OUT, "Not closed with this cup"),
    ]  # fmt: skip


def _life(mix: MixView, now: datetime) -> str:
    left = mix.pot_life_ends_at - now
    return f"{span(left)} of pot life left" if left > timedelta(0) else "its pot life is over"


def _done(serving: ServingView, now: datetime, page: Frame) -> list[Any]:
    closed = f"left out: {serving.left_out}"
    if serving.closed_at is not None:
        closed = when(serving.closed_at, now, page.zone)
    return [{"text": serving.build, "href": f"/builds/{serving.build}"}, serving.place, closed]


@router.post("/mixes/{mix_id}/closing")
def close_served(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, mix_id: int, posted: Form
) -> Response:
    """Close the places that were answered for, all of them or none."""
    page.here = "cup"
    try:
        with showing_again(page, TEMPLATE, posted, lambda: _context(page, session, bench, mix_id)):
            closed = _answered(page, session, bench, actor, mix_id, posted)
    except Held as held:
        form = FormView(posted, {"": held.sentence})
        shown = _context(page, session, bench, mix_id)
        raise ShowAgain(page.show(TEMPLATE, status=409, form=form, **shown)) from held
    on = "" if closed else "/closing"
    return page.go(f"/mixes/{mix_id}{on}", f"Closed: {closed}." if closed else "No place is closed yet.")


def _answered(
    page: Frame, session: Session, bench: BenchSide, actor: Actor, mix_id: int, posted: Posted
) -> str:
    """Do what was answered; gives the notice for the places closed, empty where none was."""
    mix = mix_view(session, mix_id, bench.warmth(session))
    at_bench = bench.bench(session, actor)
    fields = Fields(posted)
    closings, left = [], []
    for serving in servings_of_mix(session, mix.id):
        answer = posted.get(f"when_{serving.id}", NOT_YET)
        if answer == NOT_YET:
            continue
        if not serving.is_open:
            raise Overtaken(f"The {serving.place} on {serving.build} has been answered for meanwhile.")
        if answer == TOO_LATE:
            left.append((serving, GELLED))
        elif answer == LEFT_OUT:
            left.append((serving, fields.text(f"reason_{serving.id}", "The reason", 500, required=True)))
        else:
            closings.append((serving, _when(fields, serving, answer, bench.now)))
    fields.done()
    # First what may be refused, or the page would show as left out what is then not kept.
    if closings:
        _close(session, at_bench, mix.id, closings)
    for serving, reason in left:
        leave_out(session, at_bench, mix.id, serving.id, reason=reason)
    return ", ".join(f"{serving.place} on {serving.build}" for serving, _ in closings)


def _when(fields: Fields, serving: ServingView, answer: str, now: datetime) -> datetime:
    """The instant that was answered for a place; now, with its fault noted, where it cannot be read."""
    if answer == OTHER:
        return _ago(fields, serving, now)
    if answer == "now":
        return now
    try:
        at = datetime.fromisoformat(answer)
    except ValueError:
        at = None
    if at is None or at.tzinfo is None:
        fields.errors[f"when_{serving.id}"] = "That is not one of the answers; please choose again."
        return now
    return at


def _ago(fields: Fields, serving: ServingView, now: datetime) -> datetime:
    """So many minutes ago, as typed beside a place; now, with its fault noted, where it cannot be read."""
    name = f"ago_{serving.id}"
    minutes = fields.whole(name, "The minutes", 0, MOST_AGO)
    fields.required(name, "How many minutes ago", minutes)
    return now - timedelta(minutes=minutes or 0)


def _close(
    session: Session, at_bench: Bench, mix_id: int, closings: list[tuple[ServingView, datetime]]
) -> None:
    """Close the places; a fault of one comes back beside its own question."""
    said = [Closing(serving.build, serving.place, at) for serving, at in closings]
    try:
        close_places(session, at_bench, mix_id, said)
    except BadInput as bad:
        numbers = {f"closings.{position}": serving.id for position, (serving, _) in enumerate(closings)}
        raise BadInput(
            {f"when_{numbers[name.rpartition('.')[0]]}": fault for name, fault in bad.errors.items()}
        ) from bad
