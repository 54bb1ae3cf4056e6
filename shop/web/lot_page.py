"""What the pages of lots show: states and rows of the shelf, the facts of one lot, the lines of a recall."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from shop.queries.lots import LotHappening, LotMix, LotUse, LotView
from shop.rules.lots import PART_WORDS
from shop.web.wording import day, when

# A bottle that ends within this time is to be used up, or a fresh one ordered.
RUNNING_OUT = timedelta(days=30)
HEAD = ["Lot", "Adhesive", "Part", "Opened", "Last day", "Left", "Where it stands"]
FAULTY_HEAD = ["Lot", "Adhesive", "Part", "Why not", "Where it stands"]
NOT_USABLE = "Out of date or quarantined: take them off the bench"
ROD_HEAD = ["Rod", "Customer", "Places", "State"]
RECALL_HEAD = ["Rod", "Customer", "Place", "Used as", "Mix", "Closed", "State"]
MIX_HEAD = ["Mix", "By", "Used as", "Drawn", "Places closed", "Doubts"]
USED_HEAD = ["Lot", "Adhesive", "Used as", "Place", "Mix", "Closed", "State"]


class Shelf(NamedTuple):
    """The lots in one state: what the state is called, what their table says of them, a row for each lot."""

    title: str
    caption: str
    head: list[str]
    rows: list[list[Any]]


class Line(NamedTuple):
    """One thing that happened to a lot, as the list of a record takes it; nothing of it is put right."""

    at_iso: str
    at_text: str
    title: str
    text: str
    by: str
    struck: bool = False
    correct_href: str = ""


def shelves(lots: Iterable[LotView], today: date) -> list[Shelf]:
    """The lots on file by their state; states that no lot is in are left out."""
    soon: list[LotView] = []
    good: list[LotView] = []
    barred: list[LotView] = []
    empty: list[LotView] = []
    for lot in lots:
        if lot.emptied_on is not None:
            empty.append(lot)
        elif lot.fault:
            barred.append(lot)
        else:
            (soon if _runs_out(lot, today) else good).append(lot)
    emptied = sorted(empty, key=lambda lot: (lot.emptied_on or today, lot.id), reverse=True)
    found = [
        Shelf("Running out", "In date for 30 days more at most: use these first", HEAD, _rows(soon, today)),
        Shelf("In date", "What ends soonest comes first", HEAD, _rows(good, today)),
        Shelf("Not to be used", NOT_USABLE, FAULTY_HEAD, [_faulty_row(lot) for lot in barred]),
        Shelf("Used up", "Newest first", FAULTY_HEAD, [_faulty_row(lot) for lot in emptied]),
    ]
    return [shelf for shelf in found if shelf.rows]


def _runs_out(lot: LotView, today: date) -> bool:
    return lot.last_day is not None and lot.last_day <= today + RUNNING_OUT


def state_of(lot: LotView, today: date) -> str:
    """One word or two for the state of a lot."""
    if lot.emptied_on is not None:
        return "used up"
    if lot.quarantined:
        return "quarantined"
    if lot.fault:
        return "out of date" if lot.last_day is not None and lot.last_day < today else "not to be used"
    return "running out" if _runs_out(lot, today) else "in date"


def _link(lot: LotView) -> dict[str, str]:
    return {"text": lot.number, "href": f"/shelf/lots/{lot.id}"}


def _rows(lots: list[LotView], today: date) -> list[list[Any]]:
    return [
        [
            _link(lot), lot.adhesive, PART_WORDS[lot.part],
            "not yet" if lot.opened_on is None else day(lot.opened_on, today),
            last_day_said(lot, today), left_said(lot) or "not known", lot.position or "not said",
        ]
        for lot in lots
    ]  # fmt: skip


def _faulty_row(lot: LotView) -> list[Any]:
    return [_link(lot), lot.adhesive, PART_WORDS[lot.part], lot.fault, lot.position or "not said"]


def last_day_said(lot: LotView, today: date) -> str:
    """Until when it may be used, and that nobody said so where nobody did."""
    return "no date known" if lot.last_day is None else day(lot.last_day, today)


def left_said(lot: LotView) -> str:
    """How much is left, of how much, and how sure that is; empty where nobody said what came."""
    if lot.left_ml is None or lot.amount_ml is None:
        return ""
    left = f"{lot.left_ml:.0f} of {lot.amount_ml:.0f} mL"
    if not lot.unsaid_mixes:
        return f"about {left}"
    mixes = "1 mix" if lot.unsaid_mixes == 1 else f"{lot.unsaid_mixes} mixes"
    return f"at most {left}; {mixes} did not say"


def brief_facts(lot: LotView, today: date) -> list[tuple[str, str]]:
    """What a recall says of a lot at its head."""
    facts = [
        ("State", state_of(lot, today)),
        ("Adhesive", lot.adhesive),
        ("Part", PART_WORDS[lot.part]),
        ("Came", day(lot.received_on, today)),
        ("Opened", "not yet" if lot.opened_on is None else day(lot.opened_on, today)),
        ("Last day", last_day_said(lot, today)),
    ]
    return [*facts, ("Quarantined", lot.quarantined)] if lot.quarantined else facts


def facts_of(lot: LotView, today: date, sheet_life_days: int | None) -> list[tuple[str, str]]:
    """The facts of one lot, and what its last day rests on; `sheet_life_days` is its adhesive's."""
    life = "not said: only the use-by date counts"
    if lot.opened_life_days is not None:
        life = f"{lot.opened_life_days} days, says the bottle"
    elif sheet_life_days is not None:
        life = f"{sheet_life_days} days, says the adhesive's sheet"
    left = left_said(lot)
    return [
        *brief_facts(lot, today),
        ("Use by", "no date on it" if lot.use_by is None else day(lot.use_by, today)),
        ("Keeps once opened", life),
        ("Left", f"{left} (by the amounts stated on the Cup)" if left else "not known"),
        ("Where it stands", lot.position or "not said"),
    ]


def history_lines(history: Iterable[LotHappening], now: datetime, zone: ZoneInfo) -> list[Line]:
    """What happened to a lot, newest first."""
    return [
        Line(item.at.isoformat(), when(item.at, now, zone), item.kind, item.note, item.by)
        for item in reversed(list(history))
    ]


def rod_rows(uses: Iterable[LotUse]) -> list[list[Any]]:
    """A line for every rod that had the lot, with the places where it is."""
    rods: dict[str, list[LotUse]] = {}
    for use in uses:
        rods.setdefault(use.build, []).append(use)
    return [
        [
            _rod(found[0]), found[0].customer, ", ".join(dict.fromkeys(use.place for use in found)),
            _where(found[0]),
        ]
        for found in rods.values()
    ]  # fmt: skip


def recall_rows(uses: Iterable[LotUse], zone: ZoneInfo) -> list[list[Any]]:
    """A line of a recall for every place that was closed with the lot."""
    return [
        [
            _rod(use), use.customer, use.place, _parts_said(use), *_mix_and_state(use, zone),
        ]
        for use in uses
    ]  # fmt: skip


def used_rows(uses: Iterable[LotUse], zone: ZoneInfo) -> list[list[Any]]:
    """A line for every lot in a place of one rod."""
    return [
        [
            {"text": use.lot, "href": f"/shelf/lots/{use.lot_id}"}, use.adhesive, _parts_said(use), use.place,
            *_mix_and_state(use, zone),
        ]
        for use in uses
    ]  # fmt: skip


def _parts_said(use: LotUse) -> str:
    return use.parts if use.parts == "A and B" else f"part {use.parts}"


def _mix_and_state(use: LotUse, zone: ZoneInfo) -> list[Any]:
    state = f"failed: {use.failed}" if use.failed else f"stands, rod {_where(use)}"
    mix = {"text": f"{use.mix_id}, {on_paper(use.mixed_at, zone)}", "href": f"/mixes/{use.mix_id}"}
    return [mix, on_paper(use.closed_at, zone), state]


def _rod(use: LotUse) -> dict[str, str]:
    return {"text": f"{use.build} {use.title}", "href": f"/builds/{use.build}"}


def _where(use: LotUse) -> str:
    return "handed over" if use.handed_over else "in hand"


def mix_rows(mixes: Iterable[LotMix], zone: ZoneInfo) -> list[list[Any]]:
    """A line for every mix made from the lot."""
    return [
        [
            {"text": f"{mix.id}, {on_paper(mix.mixed_at, zone)}", "href": f"/mixes/{mix.id}"}, mix.by,
            mix.parts if mix.parts == "A and B" else f"part {mix.parts}",
            "not said" if mix.drawn_ml is None else f"{mix.drawn_ml:.1f} mL",
            f"{mix.cures}", f"suspect: {mix.suspect}" if mix.suspect else "",
        ]
        for mix in mixes
    ]  # fmt: skip


def on_paper(instant: datetime, zone: ZoneInfo) -> str:
    """An instant as a recall writes it, with its year, since it may be read years later."""
    return f"{instant.astimezone(zone):%Y-%m-%d %H:%M}"
