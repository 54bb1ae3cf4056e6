"""The form of a spec: rows and fields as typed, what they say as a value, and a spec on file in the form.

Faults are named as `shop.rules.spec.faults_of_spec` names them (`handle.2.length`), so that each stands
beside its cell; rows left empty do not count.
"""

from typing import Any, NamedTuple

from shop.craft.lengths import LengthError, parse_length, typable
from shop.rules.sequences import ROD_KINDS
from shop.rules.spec import FIRST_COLOUR, MOST_CHARACTERS, MOST_GUIDES, MOST_WISHES, HandleRow, Spec
from shop.web.deps import Posted
from shop.web.forms import Fields

SPARE_ROWS = 2
# What most customers say something of; the other places are in the list.
FIRST_PLACES = ("rear grip", "reel seat", "fore grip", "butt cap")
FIRST_PLACES_ON_FLY = ("reel seat", "fore grip")
_LABELS = {
    "title": "The title", "blank_words": "The words about the blank", "length_words": "The length",
    "power": "The power", "action": "The action", "guides": "The words about the guides",
    "thread_name": "The thread", "trim_name": "The trim", "inscription": "The inscription",
    "inscription_again": "The inscription", "reel": "The reel", "reel_foot": "The foot of the reel",
    "hand_size": "The hand size",
}  # fmt: skip


class SpecRow(NamedTuple):
    """A row of the handle as typed."""

    place: str = ""
    said: str = ""
    length: str = ""


def typed_rows(posted: Posted) -> list[SpecRow]:
    """The rows of the handle as typed; those with nothing but a place do not count."""
    columns = (posted.all(f"row_{name}") for name in SpecRow._fields)
    rows = [SpecRow(*cells) for cells in zip(*columns, strict=False)]
    return [row for row in rows if row.said or row.length]


def first_rows(rod_kind: str) -> list[SpecRow]:
    """The rows of the handle before anything is said: a place each."""
    return [SpecRow(place) for place in (FIRST_PLACES_ON_FLY if rod_kind == "fly" else FIRST_PLACES)]


def rows_of(spec: Spec) -> list[SpecRow]:
    """The rows of the handle of a spec on file."""
    return [
        SpecRow(row.place, row.said, "" if row.length_nm is None else typable(row.length_nm))
        for row in spec.handle
    ]


def spec_of(posted: Posted, fields: Fields) -> Spec:
    """The spec as typed. Notes in `fields` whatever cannot be read; what may not be is for the rules."""
    lines = {name: fields.text(name, _LABELS[name], most) for name, most in MOST_CHARACTERS.items()}
    has_trim = bool(posted.get("has_trim") or lines["trim_name"])
    return Spec(
        rod_kind=fields.choice("rod_kind", "The kind of rod", ROD_KINDS),
        blank_id=fields.whole("blank_id", "The blank", 1, 2**31 - 1),
        handle=tuple(_row(row, number, fields) for number, row in enumerate(typed_rows(posted), 1)),
        guide_count=fields.whole("guide_count", "The number of guides", 1, MOST_GUIDES),
        thread_colour=posted.get("thread_colour", "").lower() or FIRST_COLOUR,
        trim_colour=(posted.get("trim_colour", "").lower() or FIRST_COLOUR) if has_trim else "",
        winding_side=posted.get("winding_side", ""),
        inscription_side=posted.get("inscription_side", ""),
        # A browser sends its own line ends; a program's are the same words.
        wishes=fields.text("wishes", "The wishes", MOST_WISHES).replace("\r\n", "\n"),
        **lines,
    )


def _row(row: SpecRow, number: int, fields: Fields) -> HandleRow:
    length_nm = None
    if row.length:
        try:
            length_nm = parse_length(row.length)
        except LengthError as fault:
            fields.errors[f"handle.{number}.length"] = f"Row {number}: {fault}"
    return HandleRow(row.place, row.said, length_nm)


def values_of(spec: Spec) -> dict[str, Any]:
    """A spec on file as the form shows it, but for the rows of its handle."""
    plain = {name: getattr(spec, name) for name in MOST_CHARACTERS}
    return {
        **plain,
        "rod_kind": spec.rod_kind,
        "blank_id": "" if spec.blank_id is None else spec.blank_id,
        "guide_count": "" if spec.guide_count is None else spec.guide_count,
        "thread_colour": spec.thread_colour,
        "has_trim": bool(spec.trim_colour),
        "trim_colour": spec.trim_colour or FIRST_COLOUR,
        "winding_side": spec.winding_side,
        "inscription_side": spec.inscription_side,
        "wishes": spec.wishes,
    }
