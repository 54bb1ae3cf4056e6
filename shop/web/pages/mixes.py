"""The Cup: a new mix, and one mix with its pot life, its puddle and the places closed with it."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.queries.adhesives import adhesives_by_name
from shop.queries.builds import open_builds
from shop.queries.cures import cures_of_mix
from shop.queries.mixes import MixView, mix_view, mixes_since
from shop.rules.cautions import EPOXY
from shop.rules.people import Right
from shop.rules.refusals import BadInput, Held
from shop.rules.sequences import PLACES
from shop.services.corrections import MixAnew, correct_mix
from shop.services.cures import close_cure
from shop.services.mixes import PUDDLE_STATES, VERDICTS, judge_mix, make_mix, suspect_mix, touch_puddle
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Reading, Writing
from shop.web.doors import AtBench, Correcting, Looking, Releasing
from shop.web.forms import Fields, FormView, ShowAgain, showing_again
from shop.web.rod_page import RECENT
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.wording import for_input, not_before, span, when

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
CUP = "pages/cup.html"
MIX = "pages/mix.html"


@router.get("/cup")
def show_cup(actor: AtBench, page: Page, session: Reading, bench: TheBench) -> Response:
    """A form for a new mix, and the mixes of the last day."""
    return page.show(CUP, here="cup", form=FormView(), **_cup(page, session, bench))


@router.post("/cup")
def mix_cup(actor: AtBench, page: Page, session: Writing, bench: TheBench, posted: Form) -> Response:
    """Write down a cup that was mixed."""
    page.here = "cup"
    with showing_again(page, CUP, posted, lambda: _cup(page, session, bench)):
        fields = Fields(posted)
        adhesive_id = fields.chosen("adhesive_id", "The adhesive")
        zone_id = fields.chosen("zone_id", "The zone")
        mixed_at = fields.instant("mixed_at", "The time it was mixed", page.zone)
        fields.done()
        at_bench = bench.bench(session, actor)
        mix = make_mix(session, at_bench, adhesive_id=adhesive_id, zone_id=zone_id, mixed_at=mixed_at)
    return page.go(f"/mixes/{mix.root_id}", "The cup is written down; its pot life runs.")


def _cup(page: Frame, session: Session, bench: BenchSide) -> dict[str, Any]:
    warmth = bench.warmth(session)
    at = bench.now.timestamp()
    zones = [
        (zone.id, f"{zone.name}, {zone.clock.temperature_at(at):.1f} °C now")
        for zone in warmth.zones.values()
    ]
    return {
        "adhesives": [(item.id, f"{item.name} ({item.use})") for item in adhesives_by_name(session)],
        "zones": zones,
        "mixes": [_row(mix, page, bench) for mix in mixes_since(session, bench.now - RECENT, warmth)],
        "caution": EPOXY,
    }


def _row(mix: MixView, page: Frame, bench: BenchSide) -> list[Any]:
    now, zone = bench.now, page.zone
    left = mix.pot_life_ends_at - now
    state = f"{span(left)} left" if left.total_seconds() > 0 else "pot life over"
    text = {"text": f"{mix.adhesive}, {when(mix.mixed_at, now, zone)}", "href": f"/mixes/{mix.id}"}
    return [text, mix.by, when(mix.pot_life_ends_at, now, zone), state, mix.puddle or "not touched yet"]


@router.get("/mixes/{mix_id}")
def show_mix(actor: Looking, page: Page, session: Reading, bench: TheBench, mix_id: int) -> Response:
    """One mix: close places with it, say how its puddle is, doubt it, put it right."""
    return page.show(MIX, here="cup", form=FormView(), **_mix(page, session, bench, mix_id))


def _mix(page: Frame, session: Session, bench: BenchSide, mix_id: int) -> dict[str, Any]:
    warmth, now, zone = bench.warmth(session), bench.now, page.zone
    mix = mix_view(session, mix_id, warmth)
    cures = [
        [{"text": cure.build, "href": f"/builds/{cure.build}"}, cure.place, when(cure.closed_at, now, zone),
         not_before(cure.set_at, now, zone) if cure.set_at else "stalled: too cold", cure.failed or "counts"]
        for cure in cures_of_mix(session, mix.id, warmth) if cure.corrected_by is None
    ]  # fmt: skip
    person = page.person
    return {
        "mix": mix,
        "row": _row(mix, page, bench),
        "usable": mix.pot_life_ends_at > now,
        "cures": cures,
        "builds": [(b.number, f"{b.number} {b.title}") for b in open_builds(session)],
        "places": [(place, place) for place in PLACES],
        "mixed_text": when(mix.mixed_at, now, zone),
        "mixed_input": for_input(mix.mixed_at, zone),
        "ends_text": when(mix.pot_life_ends_at, now, zone),
        "adhesives": [("", "as it is")] + [(a.id, a.name) for a in adhesives_by_name(session)],
        "zones": [("", "as it is")] + [(item.id, item.name) for item in warmth.zones.values()],
        "may_release": person is not None and person.may(Right.RELEASE),
        "may_correct": person is not None and person.may(Right.CORRECT),
        "caution": EPOXY,
    }


@router.post("/mixes/{mix_id}/cures")
def close_place(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, mix_id: int, posted: Form
) -> Response:
    """Close a place on a build with this mix."""
    page.here = "cup"
    try:
        with showing_again(page, MIX, posted, lambda: _mix(page, session, bench, mix_id)):
            fields = Fields(posted)
            build = fields.text("build", "The build", 20, required=True)
            place = fields.text("other_place", "The other place", 60)
            place = place or fields.text("place", "The place", 60, required=True)
            closed_at = fields.instant("closed_at", "The time it was closed", page.zone, bench.now)
            fields.done()
            at_bench = bench.bench(session, actor)
            close_cure(session, at_bench, mix_id, build=build, place=place, closed_at=closed_at)
    except Held as held:
        form = FormView(posted, {"closed_at": held.sentence})
        shown = _mix(page, session, bench, mix_id)
        raise ShowAgain(page.show(MIX, status=409, form=form, **shown)) from held
    return page.go(f"/mixes/{mix_id}", f"Closed: {place} on {build}.")


@router.post("/mixes/{mix_id}/puddle")
def note_puddle(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, mix_id: int, posted: Form
) -> Response:
    """Say how the puddle was found."""
    page.here = "cup"
    with showing_again(page, MIX, posted, lambda: _mix(page, session, bench, mix_id)):
        fields = Fields(posted)
        state = fields.choice("state", "The puddle", PUDDLE_STATES)
        fields.done()
        touch_puddle(session, bench.bench(session, actor), mix_id, state=state, at=None)
    return page.go(f"/mixes/{mix_id}", f"The puddle is {state}.")


@router.post("/mixes/{mix_id}/suspect")
def doubt_mix(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, mix_id: int, posted: Form
) -> Response:
    """Put the mix under suspicion."""
    page.here = "cup"
    with showing_again(page, MIX, posted, lambda: _mix(page, session, bench, mix_id)):
        fields = Fields(posted)
        reason = fields.text("suspect_reason", "What is suspected", 500, required=True)
        fields.done()
        suspect_mix(session, bench.bench(session, actor), mix_id, reason=reason)
    return page.go(f"/mixes/{mix_id}", "Every rod that carries this mix is held until an owner's verdict.")


@router.post("/mixes/{mix_id}/verdict")
def give_verdict(
    actor: Releasing, page: Page, session: Writing, bench: TheBench, mix_id: int, posted: Form
) -> Response:
    """Settle the suspicion."""
    page.here = "cup"
    with showing_again(page, MIX, posted, lambda: _mix(page, session, bench, mix_id)):
        fields = Fields(posted)
        verdict = fields.choice("verdict", "The verdict", VERDICTS)
        reason = fields.text("verdict_reason", "The reason", 500, required=True)
        fields.done()
        judge_mix(session, bench.bench(session, actor), mix_id, verdict=verdict, reason=reason)
    return page.go(f"/mixes/{mix_id}", f"The verdict is {verdict}.")


@router.post("/mixes/{mix_id}/correct")
def put_mix_right(
    actor: Correcting, page: Page, session: Writing, bench: TheBench, mix_id: int, posted: Form
) -> Response:
    """Put the facts of the mix right."""
    page.here = "cup"
    with showing_again(page, MIX, posted, lambda: _mix(page, session, bench, mix_id)):
        fields = Fields(posted)
        adhesive = fields.whole("right_adhesive", "The adhesive", 1, 10**9)
        zone = fields.whole("right_zone", "The zone", 1, 10**9)
        mixed_at = fields.instant("right_mixed_at", "The time it was mixed", page.zone)
        reason = fields.text("right_reason", "The reason", 500, required=True)
        fields.done()
        anew = MixAnew(adhesive, zone, mixed_at)
        if anew == MixAnew():
            raise BadInput({"right_adhesive": "Say which fact was wrong, and what is right."})
        correct_mix(session, bench.bench(session, actor), mix_id, anew=anew, reason=reason)
    return page.go(f"/mixes/{mix_id}", "Put right; every cure of this mix goes by the new facts.")
