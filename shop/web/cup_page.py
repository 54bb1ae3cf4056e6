"""The Cup as its page shows it: what was asked for, the choices, the amounts, and what speaks against it.

Turns what `shop.queries.cup` answers into finished words. It decides nothing.
"""

from typing import Any, NamedTuple

from shop.db.sessions import Session
from shop.queries.adhesives import AdhesiveView, adhesive_view, adhesives_by_name
from shop.queries.cup import (
    CupAnswer,
    CupSide,
    CupWish,
    Servable,
    cup_answer,
    cups_in_hand,
    places_in_cups,
    servable,
)
from shop.queries.lots import LotView, lots_of_adhesive
from shop.queries.mixes import mixes_since
from shop.rules.cautions import EPOXY
from shop.rules.cup import (
    LEAST_MINUTES,
    LEAST_VOLUME_ML,
    MOST_MINUTES,
    MOST_VOLUME_ML,
    CupAmounts,
    CupHold,
)
from shop.rules.people import Right
from shop.rules.sequences import HoldKind
from shop.web.benches import BenchSide
from shop.web.deps import Posted
from shop.web.forms import Fields
from shop.web.mix_rows import mix_row
from shop.web.puddles import puddles_context
from shop.web.rod_page import RECENT
from shop.web.rods import TITLES
from shop.web.sheets import marked, warning_of_cup
from shop.web.templating import Frame
from shop.web.wording import not_before, span, when

_OWN_TITLES = {
    HoldKind.LOT: "Lots",
    HoldKind.POT_LIFE: "Most of the pot life",
    HoldKind.RECOAT: "Window while closed",
}
# The lot that a form names where the shop has none to name.
NO_LOT = ("", "not named")


class Poured(NamedTuple):
    """One part to measure out: `A`, for a syringe in mL and for a scale in g where its density is known."""

    part: str
    volume: str
    mass: str


def cup_side(page: Frame, session: Session, bench: BenchSide) -> CupSide:
    """What answering for a cup needs at this instant."""
    return CupSide(bench.view(session), bench.warmth(session), page.shop, page.hub.sheets, bench.now)


def wish_of(posted: Posted) -> CupWish:
    """What a form asks for. Raises `BadInput` by field."""
    fields = Fields(posted)
    wish = CupWish(
        fields.chosen("adhesive_id", "The adhesive"),
        fields.chosen("zone_id", "The zone"),
        _serves(posted),
        fields.whole("lot_a_id", "The lot of part A", 1, 2**31 - 1),
        fields.whole("lot_b_id", "The lot of part B", 1, 2**31 - 1),
        fields.number("volume_ml", "The amount", LEAST_VOLUME_ML, MOST_VOLUME_ML),
        fields.number("minutes", "The minutes planned", LEAST_MINUTES, MOST_MINUTES),
        fields.celsius("parts_c"),
    )
    fields.done()
    return wish


def _serves(posted: Posted) -> tuple[tuple[str, str], ...]:
    """The places ticked, each sent as its rod's number, a space, and the place."""
    pairs = [text.partition(" ") for text in posted.all("serve")]
    return tuple((number, place) for number, _, place in pairs)


def is_worked_out(posted: Posted) -> bool:
    """Whether a form asks for the sums, and not only for the choices that its product leaves."""
    return "work" in posted or bool(posted.all("serve"))


def cup_context(page: Frame, session: Session, bench: BenchSide, posted: Posted) -> dict[str, Any]:
    """Everything that the page shows for what is in the form so far."""
    side = cup_side(page, session, bench)
    adhesives, now = adhesives_by_name(session), bench.now.timestamp()
    zones = [
        (zone.id, f"{zone.name}, {zone.clock.temperature_at(now):.1f} °C now")
        for zone in side.warmth.zones.values()
    ]
    mixes = mixes_since(session, bench.now - RECENT, side.warmth)
    return {
        "adhesives": [(item.id, marked(f"{item.name} ({item.use})", item.sheet_mark)) for item in adhesives],
        "zones": zones,
        "mixes": [mix_row(mix, page, bench) for mix in mixes],
        **puddles_context(page, session, bench, "cup"),
        "caution": EPOXY,
        "chosen": None,
        "warns": "",
        "answer": None,
        "lots": {"a": [NO_LOT], "b": [NO_LOT]},
        "may_release": page.person is not None and page.person.may(Right.RELEASE),
        **_chosen(page, session, side, posted, adhesives),
    }


def _chosen(
    page: Frame, session: Session, side: CupSide, posted: Posted, adhesives: list[AdhesiveView]
) -> dict[str, Any]:
    """The choices that a product leaves: its lots and the places that wait for one of its kind."""
    if posted.get("adhesive_id") not in {str(item.id) for item in adhesives}:
        return {}
    adhesive = adhesive_view(session, int(posted["adhesive_id"]))
    ticked = set(posted.all("serve"))
    places = servable(side.view, adhesive.use, places_in_cups(cups_in_hand(session, side), side))
    waiting = [_waiting(item, ticked, side, page) for item in places]
    lots: dict[str, Any] = {}
    on_file = lots_of_adhesive(session, adhesive.id, side.now.astimezone(page.zone).date())
    for part in ("A", "B"):
        found = [lot for lot in on_file if lot.part in (part, "kit")]
        lots[part.lower()] = [NO_LOT, *(_lot(lot) for lot in found)]
        # The one to use up first is offered; whoever takes another bottle says so.
        lots[f"first_{part.lower()}"] = next((lot.id for lot in found if lot.usable), "")
    return {
        "chosen": adhesive, "waiting": waiting, "lots": lots, "warns": warning_of_cup(adhesive.sheet_mark),
    }  # fmt: skip


def _waiting(item: Servable, ticked: set[str], side: CupSide, page: Frame) -> dict[str, Any]:
    hold = item.holds[0] if item.holds else None
    says = (item.in_cup or item.prep) if hold is None else hold.reason
    if hold is not None and hold.clears_at is not None:
        says = f"{says} Not before {not_before(hold.clears_at, side.now, page.zone)}."
    return {
        "key": item.key, "number": item.number, "title": item.title, "place": item.place, "stage": item.stage,
        "says": says, "ticked": item.key in ticked and not item.in_cup,
    }  # fmt: skip


def _lot(lot: LotView) -> tuple[int, str]:
    says = lot.fault or (f"to {lot.last_day}" if lot.last_day else "no date")
    left = "" if lot.left_ml is None else f", {lot.left_ml:.0f} mL left"
    return lot.id, f"{lot.number}: {says}{left}"


def worked_out(page: Frame, session: Session, bench: BenchSide, wish: CupWish) -> dict[str, Any]:
    """The answer to a wish in words. Raises `BadInput` and `NotOnFile`."""
    answer = cup_answer(session, cup_side(page, session, bench), wish)
    return {"answer": _said(answer, bench, page)}


def _said(answer: CupAnswer, bench: BenchSide, page: Frame) -> dict[str, Any]:
    facts, plan = answer.facts, answer.plan
    life = facts.pot_life_ends_at - bench.now
    return {
        "poured": () if answer.amounts is None else _poured(answer.amounts),
        "total": "" if answer.amounts is None else _total(answer.amounts),
        "life": span(life),
        "ends": when(facts.pot_life_ends_at, bench.now, page.zone),
        "minutes": f"{plan.planned_minutes:.0f} min",
        "servings": [
            (item.build, item.place, "not known" if item.volume_ml is None else f"{item.volume_ml:.1f} mL")
            for item in plan.servings
        ],
        "warnings": answer.warnings,
        "holds": [_hold(hold, bench, page) for hold in answer.holds],
        "is_free": not answer.holds,
        "may_be_released": all(hold.waivable for hold in answer.holds),
    }


def _poured(amounts: CupAmounts) -> tuple[Poured, ...]:
    parts = amounts.parts
    rows = (("A", parts.volume_a_ml, parts.mass_a_g), ("B", parts.volume_b_ml, parts.mass_b_g))
    return tuple(
        Poured(part, f"{volume:.1f} mL", "" if mass is None else f"{mass:.1f} g")
        for part, volume, mass in rows
    )


def _total(amounts: CupAmounts) -> str:
    if not amounts.is_least:
        return f"{amounts.volume_ml:.1f} mL in all"
    return (
        f"{amounts.volume_ml:.1f} mL in all; less than {amounts.least_ml:g} mL cannot be measured out well, "
        "so more places may share this cup"
    )


def _title(hold: CupHold) -> str:
    """What a reason not to mix is called; on the Cup some kinds mean less than on a stage."""
    if hold.waivable and hold.kind in _OWN_TITLES:
        return _OWN_TITLES[hold.kind]
    return "Longer than the pot life" if hold.kind is HoldKind.POT_LIFE else TITLES[hold.kind]


def _hold(hold: CupHold, bench: BenchSide, page: Frame) -> dict[str, Any]:
    clears = "" if hold.clears_at is None else not_before(hold.clears_at, bench.now, page.zone)
    return {
        "kind": hold.kind.value, "title": _title(hold), "reason": hold.reason, "clears_at_text": clears,
        "cleared_by": hold.cleared_by.value, "waivable": hold.waivable,
    }  # fmt: skip
