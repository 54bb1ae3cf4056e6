"""One mix: its page, the places closed with it, and its corrections."""

from collections.abc import Iterator
from contextlib import contextmanager

from fastapi import APIRouter
from starlette.responses import Response

from shop.rules.cup import MOST_MINUTES, MOST_VOLUME_ML
from shop.rules.refusals import BadInput, Held
from shop.services.corrections import MixAnew, correct_mix
from shop.services.cures import close_cure
from shop.web.benches import TheBench
from shop.web.deps import Form, Reading, Writing
from shop.web.doors import AtBench, Correcting, Looking
from shop.web.forms import Fields, FormView, ShowAgain, showing_again
from shop.web.mix_page import mix_context
from shop.web.running import ReadingRoute
from shop.web.templating import Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
MIX = "pages/mix.html"
# Finer than anybody measures; what is less than that was not measured out at all.
LEAST_FIGURE = 0.01


@router.get("/mixes/{mix_id}")
def show_mix(actor: Looking, page: Page, session: Reading, bench: TheBench, mix_id: int) -> Response:
    """One mix: close places with it, say how its puddle is, doubt it, put it right."""
    return page.show(MIX, here="cup", form=FormView(), **mix_context(page, session, bench, mix_id))


@router.post("/mixes/{mix_id}/cures")
def close_place(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, mix_id: int, posted: Form
) -> Response:
    """Close a place on a build with this mix."""
    page.here = "cup"
    try:
        with showing_again(page, MIX, posted, lambda: mix_context(page, session, bench, mix_id)):
            fields = Fields(posted)
            build = fields.text("build", "The build", 20, required=True)
            place = fields.text("other_place", "The other place", 60)
            place = place or fields.text("place", "The place", 60, required=True)
            closed_at = fields.instant("closed_at", "The time it was closed", page.zone, bench.now)
            reason = fields.text("reason", "The reason", 500)
            fields.done()
            close_cure(
                session, bench.bench(session, actor), mix_id, build=build, place=place, closed_at=closed_at,
                again="again" in posted, again_reason=reason,
            )  # fmt: skip
    except Held as held:
        form = FormView(posted, {"closed_at": held.sentence})
        shown = mix_context(page, session, bench, mix_id)
        raise ShowAgain(page.show(MIX, status=409, form=form, **shown)) from held
    return page.go(f"/mixes/{mix_id}", f"Closed: {place} on {build}.")


def _measured(fields: Fields) -> list[float | None]:
    """How much of part A and B was measured out, and how many minutes were planned, as put right."""
    asked = (
        ("right_amount_a_ml", "The amount of part A", MOST_VOLUME_ML),
        ("right_amount_b_ml", "The amount of part B", MOST_VOLUME_ML),
        ("right_planned_minutes", "The minutes planned", MOST_MINUTES),
    )
    return [fields.number(name, label, LEAST_FIGURE, most) for name, label, most in asked]


@contextmanager
def _faults_of_the_form() -> Iterator[None]:
    """Put the faults of a correction beside the fields of its form."""
    try:
        yield
    except BadInput as bad:
        raise BadInput(
            {f"right_{name.removesuffix('_id')}": says for name, says in bad.errors.items()}
        ) from bad


@router.post("/mixes/{mix_id}/correct")
def put_mix_right(
    actor: Correcting, page: Page, session: Writing, bench: TheBench, mix_id: int, posted: Form
) -> Response:
    """Put the facts of the mix right."""
    page.here = "cup"
    meant = posted.get("right_adhesive", "")
    with showing_again(page, MIX, posted, lambda: mix_context(page, session, bench, mix_id, meant)):
        fields = Fields(posted)
        adhesive = fields.whole("right_adhesive", "The adhesive", 1, 10**9)
        zone = fields.whole("right_zone", "The zone", 1, 10**9)
        mixed_at = fields.instant("right_mixed_at", "The time it was mixed", page.zone)
        reason = fields.text("right_reason", "The reason", 500, required=True)
        lots = [fields.whole(f"right_lot_{part}", "The lot", 1, 10**9) for part in "ab"]
        measured = _measured(fields)
        fields.done()
        anew = MixAnew(adhesive, zone, mixed_at, *lots, *measured)
        if anew == MixAnew():
            raise BadInput({"right_adhesive": "Say which fact was wrong, and what is right."})
        with _faults_of_the_form():
            correct_mix(session, bench.bench(session, actor), mix_id, anew=anew, reason=reason)
    return page.go(f"/mixes/{mix_id}", "Put right; every cure of this mix goes by the new facts.")
