"""Servings: starting a cup for chosen places, and closing those places after the gloves come off."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.cures import Cure
from shop.db.mixes import Mix, Serving
from shop.queries.builds import build_by_id
from shop.queries.cup import CupAnswer, CupWish
from shop.queries.mixes import first_closing, mix_record, mixes_entered_since
from shop.queries.servings import serving_record, servings_of_mix
from shop.rules.cup import LEAST_AMOUNT_ML
from shop.rules.decide import Decision, ShutHold
from shop.rules.holds import as_sentence
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Held, NotAllowed, Overtaken
from shop.rules.sequences import HoldKind
from shop.services.bench import SAME_TAP, Bench
from shop.services.cups import CupSaid, Released
from shop.services.cures import close_cure
from shop.services.events import Release, add_event
from shop.services.mixes import make_mix

MOST_REASON = 500


@dataclass(frozen=True)
class Closing:
    """A place that was closed with a cup, and when; now where no time is given."""

    build: str
    place: str
    closed_at: datetime | None = None


def start_cup(
    session: Session,
    bench: Bench,
    answer: CupAnswer,
    *,
    releases: tuple[Release, ...] = (),
    mixed_at: datetime | None = None,
    by: str = "",
) -> Mix:
    """Write down a cup that is mixed now, unless something speaks against it that no owner released.

    One that was mixed earlier is a fact: of it only the lots are still asked. Raises `Held` with every
    reason that is left, `NotAllowed` for a release of what is never released, and what `make_mix` raises.
    """
    if mixed_at is None:
        _check_holds(answer, releases)
    amounts, wish = answer.amounts, answer.wish
    cup = CupSaid(
        wish.lot_a_id, wish.lot_b_id,
        None if amounts is None else round(amounts.parts.volume_a_ml, 3),
        None if amounts is None else round(amounts.parts.volume_b_ml, 3),
        answer.plan.planned_minutes or None, wish.serves,
        tuple(Released(item.kind, item.reason, _reasons(answer, item.kind)) for item in releases),
    )  # fmt: skip
    return make_mix(
        session, bench, adhesive_id=wish.adhesive_id, zone_id=wish.zone_id, mixed_at=mixed_at, by=by, cup=cup
    )


def cup_just_started(
    session: Session, bench: Bench, wish: CupWish, *, mixed_at: datetime | None = None, by: str = ""
) -> Mix | None:
    """The cup that the same tap started a moment ago, if it did: two quick taps mix one cup.

    That is one by the same person, of the same product, zone and lots, for the same places, of the same
    amount where that was stated, and with nothing closed yet.
    """
    since = bench.now - SAME_TAP
    mixed_from = since if mixed_at is None else mixed_at
    for mix in mixes_entered_since(session, since, bench.name(by), wish.adhesive_id, mixed_from):
        assert mix.root_id is not None
        told = (mix.zone_id, mix.lot_a_id, mix.lot_b_id)
        places = {(view.build, view.place) for view in servings_of_mix(session, mix.root_id)}
        is_of_then = mix.mixed_at == (mix.entered_at if mixed_at is None else mixed_at)
        if (
            is_of_then
            and told == (wish.zone_id, wish.lot_a_id, wish.lot_b_id)
            and places == set(wish.serves)
            and _is_amount(mix, wish)
            and first_closing(session, mix.root_id) is None
        ):
            return mix
    return None


def _is_amount(mix: Mix, wish: CupWish) -> bool:
    """Whether a mix has what was stated of its amount and minutes; what was not stated follows the places."""
    if wish.minutes is not None and wish.minutes != mix.planned_minutes:
        return False
    if wish.volume_ml is None:
        return bool(wish.serves) or mix.amount_a_ml is None
    if mix.amount_a_ml is None or mix.amount_b_ml is None:
        return False
    # Each part is kept to a thousandth of a millilitre.
    return abs(mix.amount_a_ml + mix.amount_b_ml - wish.volume_ml) < 2 * LEAST_AMOUNT_ML


def _check_holds(answer: CupAnswer, releases: tuple[Release, ...]) -> None:
    released = {item.kind for item in releases}
    for hold in answer.holds:
        if hold.kind in released and not hold.waivable:
            raise NotAllowed(f"Nobody may release this: {hold.reason}")
    left = [hold for hold in answer.holds if hold.kind not in released]
    if left:
        raise Held(Decision(None, tuple(ShutHold(h.kind, h.reason, None, h.cleared_by) for h in left)))


def _reasons(answer: CupAnswer, kind: HoldKind) -> tuple[str, ...]:
    return tuple(hold.reason for hold in answer.holds if hold.kind is kind)


def close_places(
    session: Session, bench: Bench, mix_id: int, closings: Sequence[Closing], *, by: str = ""
) -> list[Cure]:
    """Close many places with one cup, all or none of them.

    Raises `BadInput` with the faults of each by its position (`closings.2.closed_at`), and what
    `close_cure` raises besides.
    """
    if not closings:
        raise BadInput({"closings": "Say for at least one place when it was closed."})
    cures: list[Cure] = []
    errors: dict[str, str] = {}
    # What was closed before a fault was met is taken back, so that nobody is shown half of it.
    with session.begin_nested():
        for position, item in enumerate(closings):
            try:
                cures.append(
                    close_cure(
                        session, bench, mix_id, build=item.build, place=item.place, closed_at=item.closed_at,
                        by=by,
                    )
                )  # fmt: skip
            except BadInput as bad:
                errors |= {f"closings.{position}.{name}": fault for name, fault in bad.errors.items()}
        if errors:
            raise BadInput(errors)
    return cures


def leave_out(
    session: Session, bench: Bench, mix_id: int, serving_id: int, *, reason: str, by: str = ""
) -> Serving:
    """Note that a place was not closed with this cup after all, on the record of its build too.

    Raises `BadInput`, `NotOnFile` or `Overtaken`.
    """
    mix = mix_record(session, mix_id)
    assert mix.root_id is not None
    if not 1 <= len(reason.strip()) <= MOST_REASON:
        raise BadInput({"reason": f"Say in 1 to {MOST_REASON} characters why it was left out."})
    serving = serving_record(session, mix.root_id, serving_id)
    closed = {view.id for view in servings_of_mix(session, mix.root_id) if not view.is_open}
    if serving.id in closed:
        raise Overtaken(f"The {serving.place} is closed or left out already.")
    serving.left_out_reason, serving.left_out_at, serving.left_out_by = reason, bench.now, bench.name(by)
    build = build_by_id(session, serving.build_id)
    note = f"The {serving.place} was not closed with the {mix.adhesive_name} mixed for it: "
    details = {"mix_id": mix.root_id, "left_out": serving.id}
    add_event(session, build, bench, EventKind.MIX, bench.now, by, note + as_sentence(reason), details)
    session.flush()
    return serving
