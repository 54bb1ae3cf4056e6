"""One mix as its page shows it: its cures, its puddle, the doubts about it and what may be done with it."""

from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from shop.db.sessions import Session
from shop.queries.adhesives import adhesives_by_name
from shop.queries.builds import open_builds
from shop.queries.cures import CureView, cures_of_mix
from shop.queries.lots import lots_of_adhesive
from shop.queries.mixes import MixView, mix_view, warnings_of_mixes
from shop.queries.puddles import open_puddles
from shop.queries.servings import servings_of_mix
from shop.rules.cautions import EPOXY
from shop.rules.hours import Hours, next_opening
from shop.rules.people import Right
from shop.rules.puddles import Why
from shop.rules.sequences import PLACES
from shop.web.benches import BenchSide
from shop.web.lot_page import state_of
from shop.web.mix_rows import cup_pairs, mix_row
from shop.web.puddles import WORDS, puddle_line
from shop.web.sheets import marked, warning_of_mix
from shop.web.templating import Frame
from shop.web.wording import for_input, not_before, when

# What is suspected as a rule, ready to be chosen; common practice, no source.
READY_REASONS = ("measured wrong", "tacky puddle", "old bottle")
OTHER_REASON = "other"
SOON = timedelta(hours=6)


def mix_context(
    page: Frame, session: Session, bench: BenchSide, mix_id: int, right_adhesive: str = ""
) -> dict[str, Any]:
    """Everything that `pages/mix.html` needs but its form. Raises `NotOnFile`.

    `right_adhesive` is the id of the adhesive that the form names as the right one; its lots are offered.
    """
    warmth, now, zone = bench.warmth(session), bench.now, page.zone
    mix = mix_view(session, mix_id, warmth)
    cures = [cure for cure in cures_of_mix(session, mix.id, warmth) if cure.corrected_by is None]
    person = page.person
    return {
        "mix": mix,
        "row": mix_row(mix, page, bench),
        "warns": warning_of_mix(mix.sheet_mark),
        "warnings": warnings_of_mixes(session, [mix]).get(mix.id, []),
        "usable": mix.pot_life_ends_at > now,
        "cures": [_cure_row(cure, now, zone) for cure in cures],
        "builds": [(b.number, f"{b.number} {b.title}") for b in open_builds(session)],
        "places": [(place, place) for place in PLACES],
        "mixed_text": when(mix.mixed_at, now, zone),
        "mixed_input": for_input(mix.mixed_at, zone),
        "ends_text": when(mix.pot_life_ends_at, now, zone),
        "zones": [("", "as it is")] + [(item.id, item.name) for item in warmth.zones.values()],
        "may_release": person is not None and person.may(Right.RELEASE),
        "may_correct": person is not None and person.may(Right.CORRECT),
        "caution": EPOXY,
        "puddle": _puddle(session, bench, mix, page),
        "cup": cup_pairs(session, mix),
        "measured": {
            "amount_a": on_record(mix.amount_a_ml, "mL"),
            "amount_b": on_record(mix.amount_b_ml, "mL"),
            "minutes": on_record(mix.planned_minutes, "min"),
        },
        "to_close": [view for view in servings_of_mix(session, mix.id) if view.is_open],
        **_doubts(mix, cures, page, now),
        **_right_cup(session, mix, right_adhesive, now.astimezone(zone).date()),
    }


def _right_cup(session: Session, mix: MixView, right_adhesive: str, today: date) -> dict[str, Any]:
    """The adhesives that a correction may name, and the lots of the right one, by the part they can be."""
    adhesives = adhesives_by_name(session)
    meant = next((a.id for a in adhesives if str(a.id) == right_adhesive), mix.adhesive_id)
    lots = lots_of_adhesive(session, meant, today)
    said = [(lot, ", ".join(filter(None, (lot.number, state_of(lot, today), lot.position)))) for lot in lots]
    return {
        "adhesives": [("", "as it is"), *((a.id, marked(a.name, a.sheet_mark)) for a in adhesives)],
        "lots_a": [("", "as it is"), *((lot.id, words) for lot, words in said if lot.part in ("A", "kit"))],
        "lots_b": [("", "as it is"), *((lot.id, words) for lot, words in said if lot.part in ("B", "kit"))],
    }


def on_record(value: float | None, unit: str) -> str:
    """What a field of a correction says of the figure as it is on record."""
    return "on record: not said" if value is None else f"on record: {value:g} {unit}"


def _cure_row(cure: CureView, now: datetime, zone: ZoneInfo) -> list[Any]:
    return [
        {"text": cure.build, "href": f"/builds/{cure.build}"}, cure.place, when(cure.closed_at, now, zone),
        not_before(cure.set_at, now, zone) if cure.set_at else "stalled: too cold", cure.failed or "counts",
    ]  # fmt: skip


def _puddle(session: Session, bench: BenchSide, mix: MixView, page: Frame) -> dict[str, Any]:
    """When to touch the puddle, and how it was last found, also where no rod in hand waits for it."""
    warmth, now, zone = bench.warmth(session), bench.now, page.zone
    found = next((item for item in open_puddles(session, warmth) if item.mix_id == mix.id), None)
    if found is not None:
        return puddle_line(found, now, zone)._asdict()
    last = "" if mix.puddle_at is None else f"Last found {mix.puddle}, {when(mix.puddle_at, now, zone)}."
    return {"says": WORDS[Why.NO_JOINT], "overdue": False, "last": last}


def _doubts(mix: MixView, cures: list[CureView], page: Frame, now: datetime) -> dict[str, Any]:
    """What the suspicion holds, and what there is to choose where one is raised or settled."""
    counting = [cure for cure in cures if not cure.failed]
    return {
        "held": [(cure.build, f"/builds/{cure.build}", cure.place) for cure in counting],
        "wait_text": "" if mix.recheck_at is None else not_before(mix.recheck_at, now, page.zone),
        "suspect_reasons": [(word, word) for word in (*READY_REASONS, OTHER_REASON)],
        "likely_reason": READY_REASONS[1] if mix.puddle == "tacky" else "",
        "waits": [(key, text) for key, text, _ in waits(page.shop.hours, now, page.zone)],
    }


def waits(hours: Hours, now: datetime, zone: ZoneInfo) -> list[tuple[str, str, datetime | None]]:
    """Until when an owner may say to wait: what the form sends, what it shows, and the instant.

    The last is a time that is typed beside it. A shop that never said its hours has no opening to offer.
    """
    soon = now + SOON
    found: list[tuple[str, str, datetime | None]] = [("soon", f"in 6 h, at {when(soon, now, zone)}", soon)]
    tomorrow = now.astimezone(zone).date() + timedelta(days=1)
    opens = next_opening(hours, datetime.combine(tomorrow, time(), zone), zone) if hours.are_known else None
    if opens is not None:
        found.append(("opening", f"when the shop opens, {when(opens, now, zone)}", opens))
    return [*found, ("time", "until a time that I say", None)]
