"""What a customer wants of a rod: the spec, which grows from a first wish to what was agreed.

A frozen value, whole in every revision; only its title and its kind of rod must be there from the start. What
goes on the rod and where, to the inch, is the make-up's (`shop.rules.make_up`). Until when the customer may
still change what is `spec_changes`. Lengths are whole nanometres; sides are as seen from the butt, with the
rod held to fish.
"""

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, NamedTuple

from shop.craft.lengths import NM_PER_INCH
from shop.craft.saying import say_length
from shop.rules.sequences import ROD_KINDS

CUSTOMER, SHOP = "customer", "shop"
ASKED_BY = (CUSTOMER, SHOP)
HANDS = ("left", "right")
SIDES = ("left", "right", "top", "underside")
# What a handle is made of, from the butt, and which kind of part each place takes.
HANDLE_PLACES = {
    "butt cap": "butt cap", "gimbal": "gimbal", "rear grip": "grip", "arbor": "arbor",
    "reel seat": "reel seat", "fore grip": "grip", "trim ring": "trim ring", "winding check": "winding check",
}  # fmt: skip
FIRST_COLOUR = "#7a1f2b"
COLOUR = re.compile(r"#[0-9a-f]{6}")
MOST_ROWS = 20
MOST_GUIDES = 30
MOST_ROW_NM = 60 * NM_PER_INCH
MOST_WISHES = 4000
# The lines of a spec, each with the most characters that fit; the title's is the build's.
MOST_CHARACTERS = {
    "title": 120, "blank_words": 200, "length_words": 40, "power": 40, "action": 40, "guides": 200,
    "thread_name": 80, "trim_name": 80, "inscription": 120, "inscription_again": 120, "reel": 120,
    "reel_foot": 60, "hand_size": 60,
}  # fmt: skip
MOST_SAID = 120


@dataclass(frozen=True, slots=True)
class HandleRow:
    """A part of the handle as it was wished for: its place, what it is like, its length if said."""

    place: str
    said: str = ""
    length_nm: int | None = None


@dataclass(frozen=True, slots=True)
class Spec:
    """One revision of what is wanted; what was not said is empty or none.

    The blank is one on file (`blank_id`) or words about it. `length_words`, `power` and `action` are the
    trade's. `thread_colour` is how the drawing shows the main thread, `thread_name` which thread it is;
    `trim_colour` is empty where there is no trim. `inscription_again` is the inscription typed a second time,
    from the customer's own words. `winding_side` is the side on which the reel is wound.
    """

    rod_kind: str
    title: str
    blank_id: int | None = None
    blank_words: str = ""
    length_words: str = ""
    power: str = ""
    action: str = ""
    handle: tuple[HandleRow, ...] = ()
    hand_size: str = ""
    reel: str = ""
    reel_foot: str = ""
    winding_side: str = ""
    guides: str = ""
    guide_count: int | None = None
    thread_colour: str = FIRST_COLOUR
    thread_name: str = ""
    trim_colour: str = ""
    trim_name: str = ""
    inscription: str = ""
    inscription_again: str = ""
    inscription_side: str = ""
    wishes: str = ""

    @property
    def is_proofed(self) -> bool:
        """Whether the inscription was typed twice, the same both times."""
        return bool(self.inscription) and self.inscription == self.inscription_again

    def rows_of(self, *kinds: str) -> tuple[HandleRow, ...]:
        """The rows of the handle whose places take one of these kinds of part."""
        return tuple(row for row in self.handle if HANDLE_PLACES.get(row.place) in kinds)


class SpecField(NamedTuple):
    """A field of a spec as changes are told by it: its name, what it is called, and the topic it belongs to.

    A handle's rows are fields by the kind of part (`kinds`), since each kind is used at a stage of its own.
    """

    name: str
    label: str
    topic: str
    kinds: tuple[str, ...] = ()

    def value_in(self, spec: Spec) -> Any:
        """What a spec says there."""
        return spec.rows_of(*self.kinds) if self.kinds else getattr(spec, self.name)


FIELDS = (
    SpecField("blank_id", "Blank on file", "blank"),
    SpecField("blank_words", "Blank, in words", "blank"),
    SpecField("length_words", "Length", "blank"),
    SpecField("power", "Power", "blank"),
    SpecField("action", "Action", "blank"),
    SpecField("grips", "Grips", "grips", ("grip", "arbor")),
    SpecField("hand_size", "Hand size", "grips"),
    SpecField("reel_seat", "Reel seat", "reel seat", ("reel seat",)),
    SpecField("reel", "Reel", "reel seat"),
    SpecField("reel_foot", "Foot of the reel", "reel seat"),
    SpecField("winding_side", "Wound on the", "reel seat"),
    SpecField("rings", "Winding check and trim rings", "rings", ("winding check", "trim ring")),
    SpecField("guides", "Guides", "guides"),
    SpecField("guide_count", "How many guides", "guides"),
    SpecField("thread_colour", "Colour of the thread", "threads"),
    SpecField("thread_name", "Thread", "threads"),
    SpecField("trim_colour", "Colour of the trim", "threads"),
    SpecField("trim_name", "Trim", "threads"),
    SpecField("inscription", "Inscription", "inscription"),
    SpecField("inscription_side", "Inscription on the", "inscription"),
    SpecField("butt_end", "Butt end", "butt end", ("butt cap", "gimbal")),
    SpecField("wishes", "Wishes", "wishes"),
    # The shop's own: nothing of the rod is used up by them.
    SpecField("inscription_again", "Inscription (second typing)", ""),
    SpecField("title", "What it is", ""),
    SpecField("rod_kind", "Kind of rod", ""),
)
LABELS = {field.name: field.label for field in FIELDS}


def changed_fields(before: Spec, after: Spec) -> tuple[str, ...]:
    """The names of the fields in which two specs differ, in the order of `FIELDS`."""
    return tuple(field.name for field in FIELDS if field.value_in(before) != field.value_in(after))


def document_of(spec: Spec) -> dict[str, Any]:
    """A spec as it is kept: maps, lists, numbers and words."""
    return asdict(spec)


def spec_from(document: Mapping[str, Any]) -> Spec:
    """A spec from what was kept of it; the reverse of `document_of`."""
    return Spec(**{**document, "handle": tuple(HandleRow(**row) for row in document["handle"])})


def missing_from(spec: Spec) -> tuple[str, ...]:
    """What a quote would want to know and the spec does not say, in words; a repair asks for its wishes."""
    if spec.rod_kind == "repair":
        return () if spec.wishes else ("what is to be repaired",)
    said = {
        "the blank": spec.blank_id is not None or spec.blank_words or spec.length_words,
        "the grips": spec.rows_of("grip"),
        "the reel seat": spec.rows_of("reel seat"),
        "the guides": spec.guides or spec.guide_count,
        "the thread": spec.thread_name,
    }
    return tuple(what for what, is_said in said.items() if not is_said)


def faults_of_spec(spec: Spec) -> dict[str, str]:
    """Everything that keeps a spec from making sense, by field; empty when it does.

    A row's field is called `handle.2.said`, counted from 1, as forms and API call it.
    """
    errors = _faults_of_lines(spec)
    if not spec.title.strip():
        errors["title"] = "Say in a few words what it is; the rod goes by that title."
    if spec.rod_kind not in ROD_KINDS:
        errors["rod_kind"] = f"The kind of rod must be one of {', '.join(ROD_KINDS)}."
    for name, value, allowed in (
        ("winding_side", spec.winding_side, HANDS), ("inscription_side", spec.inscription_side, SIDES)
    ):  # fmt: skip
        if value and value not in allowed:
            errors[name] = f"This must be one of {', '.join(allowed)}, as seen from the butt."
    for name, colour in (("thread_colour", spec.thread_colour), ("trim_colour", spec.trim_colour)):
        if not COLOUR.fullmatch(colour) and (colour or name == "thread_colour"):
            errors[name] = "A colour is written #rrggbb, in small letters."
    if spec.guide_count is not None and not 1 <= spec.guide_count <= MOST_GUIDES:
        errors["guide_count"] = f"A rod has 1 to {MOST_GUIDES} guides; the tip-top is not counted."
    if len(spec.wishes) > MOST_WISHES:
        errors["wishes"] = f"The wishes have {len(spec.wishes)} characters; at most {MOST_WISHES} fit."
    return errors | _faults_of_rows(spec) | _faults_of_proof(spec)


def _faults_of_lines(spec: Spec) -> dict[str, str]:
    errors = {}
    for name, most in MOST_CHARACTERS.items():
        said = getattr(spec, name)
        if len(said) > most:
            errors[name] = f"This has {len(said)} characters; at most {most} fit."
        elif not said.isprintable():
            errors[name] = "This has a character in it that cannot be kept on one line; please type it again."
    return errors


def _faults_of_rows(spec: Spec) -> dict[str, str]:
    errors = {}
    if len(spec.handle) > MOST_ROWS:
        errors["handle"] = f"At most {MOST_ROWS} parts fit on one handle."
    for number, row in enumerate(spec.handle, 1):
        at = f"handle.{number}"
        if row.place not in HANDLE_PLACES:
            errors[f"{at}.place"] = f"Row {number}: choose a part, one of {', '.join(HANDLE_PLACES)}."
        if not row.said.strip() and row.length_nm is None:
            errors[f"{at}.said"] = f"Row {number}: say what the {row.place} is like, or how long it is."
        elif len(row.said) > MOST_SAID or not row.said.isprintable():
            errors[f"{at}.said"] = f"Row {number}: say it in one line of at most {MOST_SAID} characters."
        if row.length_nm is not None and not 0 < row.length_nm <= MOST_ROW_NM:
            most = say_length(MOST_ROW_NM)
            errors[f"{at}.length"] = f"Row {number}: a length must be more than nothing and at most {most}."
    return errors


def _faults_of_proof(spec: Spec) -> dict[str, str]:
    """The second typing says the same as the first, or is not there yet."""
    first, again = spec.inscription, spec.inscription_again
    if not again or first == again:
        return {}
    if not first:
        return {"inscription_again": "The inscription itself is empty; type it there first."}
    at = next((at for at, (one, other) in enumerate(zip(first, again, strict=False)) if one != other), None)
    place = min(len(first), len(again)) if at is None else at
    return {
        "inscription_again": f"The two differ from character {place + 1} on: “{first[place:place + 12]}” "
        f"and “{again[place:place + 12]}”. Look at the customer's own words."
    }  # fmt: skip
