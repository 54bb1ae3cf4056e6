"""A suspicion about a mix: raised with one tap, and settled by an owner or waited with."""

from datetime import datetime

from fastapi import APIRouter
from starlette.responses import Response

from shop.services.mixes import VERDICTS, judge_mix, suspect_mix
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Posted, Writing
from shop.web.doors import AtBench, Releasing
from shop.web.forms import Fields, showing_again
from shop.web.mix_page import OTHER_REASON, mix_context, waits
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
MIX = "pages/mix.html"
# So that a ready reason and what was typed beside it fit together.
MOST_TYPED = 450


@router.post("/mixes/{mix_id}/suspect")
def doubt_mix(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, mix_id: int, posted: Form
) -> Response:
    """Put the mix under suspicion."""
    page.here = "cup"
    with showing_again(page, MIX, posted, lambda: mix_context(page, session, bench, mix_id)):
        reason = _reason(posted)
        suspect_mix(session, bench.bench(session, actor), mix_id, reason=reason)
    return page.go(f"/mixes/{mix_id}", "Every rod that carries this mix is held until an owner's verdict.")


def _reason(posted: Posted) -> str:
    """The ready reason that was chosen, with what was typed beside it; that alone where none was."""
    fields = Fields(posted)
    chosen = posted.get("suspect_choice", "")
    chosen = "" if chosen == OTHER_REASON else fields.text("suspect_choice", "The reason", 40)
    typed = fields.text("suspect_reason", "What is suspected", MOST_TYPED, required=not chosen)
    fields.done()
    return ": ".join(part for part in (chosen, typed) if part)


@router.post("/mixes/{mix_id}/verdict")
def give_verdict(
    actor: Releasing, page: Page, session: Writing, bench: TheBench, mix_id: int, posted: Form
) -> Response:
    """Settle the suspicion, or say until when to wait with it."""
    page.here = "cup"
    with showing_again(page, MIX, posted, lambda: mix_context(page, session, bench, mix_id)):
        fields = Fields(posted)
        verdict = fields.choice("verdict", "The verdict", VERDICTS)
        reason = fields.text("verdict_reason", "The reason", 500, required=True)
        until = _until(fields, posted, page, bench) if verdict == "wait" else None
        fields.done()
        at_bench = bench.bench(session, actor)
        judge_mix(session, at_bench, mix_id, verdict=verdict, reason=reason, recheck_at=until)
    return page.go(f"/mixes/{mix_id}", f"The verdict is {verdict}.")


def _until(fields: Fields, posted: Posted, page: Frame, bench: BenchSide) -> datetime | None:
    """Until when to wait; a time that was typed counts where it is the one that was chosen."""
    offered = {key: instant for key, _, instant in waits(page.shop.hours, bench.now, page.zone)}
    chosen = fields.choice("wait", "How long to wait", tuple(offered))
    if chosen != "time":
        return offered.get(chosen)
    typed = fields.instant("recheck_at", "The time to look again", page.zone)
    return fields.required("recheck_at", "The time to look again", typed)
