"""Whether a lot may be used for a mix on a day, and whether what is written down of one can be.

Pure: days are calendar days of the shop, and which day it is, is an argument. That opened epoxy keeps for a
stated time only is common practice, no source; how long is for the sheet or the bottle to say.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from shop.rules.holds import as_sentence

PARTS = ("A", "B", "kit")
PART_WORDS = {"A": "part A", "B": "part B", "kit": "a kit of both parts"}
MOST_NUMBER = MOST_POSITION = 60
# Ten years; a bottle that keeps longer than that is a slip of the pen.
MOST_LIFE_DAYS = 3650
MOST_AMOUNT_ML = 100_000.0
EARLIEST = date(2000, 1, 1)
LATEST = date(2100, 1, 1)
DAY_LABELS = {
    "received_on": "The day it came",
    "opened_on": "The day it was opened",
    "use_by": "The use-by date",
}


@dataclass(frozen=True, slots=True)
class LotFact:
    """What decides whether a lot may be used. `opened_life_days` is its own, or else its adhesive's."""

    id: int
    adhesive_id: int
    part: str
    number: str
    received_on: date
    opened_on: date | None
    use_by: date | None
    opened_life_days: int | None
    emptied_on: date | None
    quarantined_reason: str


@dataclass(frozen=True, slots=True)
class LotLeft:
    """How much is left of a lot by the record; none where nobody said how much came.

    It is the most that can be left: `unsaid_mixes` mixes drew from it that nobody said the amount of.
    """

    ml: float | None
    unsaid_mixes: int = 0


@dataclass(frozen=True, slots=True)
class LotEntry:
    """What is written down of a lot, as a form or the API gives it; none where nobody said."""

    part: str
    number: str
    received_on: date | None
    opened_on: date | None = None
    use_by: date | None = None
    opened_life_days: int | None = None
    position: str = ""
    amount_ml: float | None = None


def last_day(lot: LotFact) -> date | None:
    """The last day on which it may be used: the use-by date, or the end of its opened life if earlier.

    The day of opening counts as day 0. None where neither is known.
    """
    days = [] if lot.use_by is None else [lot.use_by]
    if lot.opened_on is not None and lot.opened_life_days is not None:
        days.append(lot.opened_on + timedelta(days=lot.opened_life_days))
    return min(days, default=None)


def named(lot: LotFact) -> str:
    """A lot as a sentence names it: `Lot R-118 (part A)`."""
    return f"Lot {lot.number} ({'kit' if lot.part == 'kit' else PART_WORDS[lot.part]})"


def misfit_of_lot(lot: LotFact, part: str, adhesive_id: int) -> str:
    """Why a lot cannot have been `part` (A or B) of an adhesive at all; empty when it can. A kit is both."""
    if lot.adhesive_id != adhesive_id:
        return f"{named(lot)} belongs to another adhesive."
    if lot.part not in (part, "kit"):
        return f"{named(lot)} cannot serve as part {part}."
    return ""


def fault_of_lot(lot: LotFact, part: str, adhesive_id: int, on: date) -> str:
    """Why a lot may not serve as `part` (A or B) of an adhesive on a day; empty when it may.

    A kit serves as both. The last day still counts, and so does the day on which it was used up. A
    quarantine counts whenever it was put on: what is suspected of the bottle was true of it before.
    """
    if misfit := misfit_of_lot(lot, part, adhesive_id):
        return misfit
    lot_name = named(lot)
    if lot.quarantined_reason:
        return f"{lot_name} is quarantined: {as_sentence(lot.quarantined_reason)}"
    if lot.received_on > on:
        return f"{lot_name} came on {lot.received_on} only."
    if lot.emptied_on is not None and lot.emptied_on < on:
        return f"{lot_name} was used up on {lot.emptied_on}."
    last = last_day(lot)
    if last is not None and last < on:
        return f"{lot_name} is out of date: {_why_last(lot, last)}."
    return ""


def warning_of_mix(lot: LotFact) -> str:
    """What to know before anything is closed with a mix made from a lot; empty where nothing is wrong.

    A quarantine that came while the cup was in hand stops nobody: what was closed is a fact, and whether the
    mix is suspect is for people to say. But nobody must close the next place without knowing.
    """
    if not lot.quarantined_reason:
        return ""
    why = as_sentence(lot.quarantined_reason)
    return f"{named(lot)}, which is in this cup, is quarantined: {why} Better mix again from another lot."


def shortage_of_lot(lot: LotFact, left: LotLeft, takes_ml: float | None) -> str:
    """Why a lot may not last for a cup that takes so much of it; empty where it does by the record.

    Told to a tenth of a millilitre, finer than anybody measures out. A lot of which nothing is left is said
    where what the cup takes is not known (none), too.
    """
    if left.ml is None:
        return ""
    has_ml, needs_ml = round(left.ml, 1), None if takes_ml is None else round(takes_ml, 1)
    if has_ml > 0 if needs_ml is None else has_ml >= needs_ml:
        return ""
    about = f"about {has_ml:g} mL" if has_ml > 0 else "nothing"
    words = f"{named(lot)} has {about} left by the record"
    words += "." if needs_ml is None else f"; this cup takes {needs_ml:g} mL of it."
    if left.unsaid_mixes == 1:
        words += " 1 mix from it did not say how much it took, so there may be less."
    elif left.unsaid_mixes:
        words += f" {left.unsaid_mixes} mixes from it did not say how much they took, so there may be less."
    return words


def _why_last(lot: LotFact, last: date) -> str:
    if last == lot.use_by:
        return f"its use-by date was {last}"
    return f"opened on {lot.opened_on}, it kept for {lot.opened_life_days} days, up to {last}"


def faults_of_lot_entry(entry: LotEntry, today: date) -> dict[str, str]:
    """Everything that keeps what is written down of a lot from being right, by field; empty when it is.

    A lot that came out of date may be written down: it is on the shelf, and must not be used.
    """
    faults = {}
    if entry.part not in PARTS:
        faults["part"] = "Say whether it is part A, part B or a kit of both."
    if not 1 <= len(entry.number.strip()) <= MOST_NUMBER:
        faults["number"] = f"The maker's lot number has 1 to {MOST_NUMBER} characters."
    if len(entry.position) > MOST_POSITION:
        faults["position"] = f"Where it stands is said in at most {MOST_POSITION} characters."
    if entry.opened_life_days is not None and not 1 <= entry.opened_life_days <= MOST_LIFE_DAYS:
        faults["opened_life_days"] = f"The life once opened must lie between 1 and {MOST_LIFE_DAYS} days."
    if entry.amount_ml is not None and not 0 < entry.amount_ml <= MOST_AMOUNT_ML:  # also refuses NaN
        faults["amount_ml"] = f"The amount must be above 0 and at most {MOST_AMOUNT_ML:g} mL."
    return faults | _faults_of_days(entry, today)


def _faults_of_days(entry: LotEntry, today: date) -> dict[str, str]:
    faults = {}
    if entry.received_on is None:
        faults["received_on"] = "The day it came is missing; please fill it in."
    for name, label in DAY_LABELS.items():
        value: date | None = getattr(entry, name)
        if value is None:
            continue
        if not EARLIEST <= value <= LATEST:
            faults[name] = f"{label} must lie between {EARLIEST} and {LATEST}."
        elif name != "use_by" and value > today:
            faults[name] = f"{label} lies in the future; write it down when it has happened."
    if not faults and entry.received_on and entry.opened_on and entry.opened_on < entry.received_on:
        faults["opened_on"] = f"It cannot have been opened before it came, on {entry.received_on}."
    return faults
