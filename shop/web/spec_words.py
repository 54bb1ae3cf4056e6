"""A spec in finished words: by topic for whoever builds or orders the rod, by field for what changed."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from shop.craft.saying import say_length
from shop.rules.spec import FIELDS, FIRST_COLOUR, HandleRow, Spec, SpecField
from shop.rules.spec_changes import TOPICS

# Topics of which the drawings and tables of a make-up say where everything lies, and which part it is.
SHOWN_BY_MAKE_UP = frozenset({"blank", "grips", "rings", "guides", "butt end"})
MOST_ON_TICKET = 240


class SpecLine(NamedTuple):
    """What a spec says of one topic; `colours` are shown beside the words, as #rrggbb."""

    topic: str
    label: str
    text: str
    colours: tuple[str, ...] = ()


class SpecChange(NamedTuple):
    """A field in which two specs differ, in words."""

    label: str
    before: str
    after: str
    is_rework: bool = False


def spec_lines(spec: Spec, blank: str = "", for_customer: bool = False) -> list[SpecLine]:
    """What a spec says, topic by topic; topics of which it says nothing are left out.

    `blank` is the name of the blank on file that it names. A customer is not told what the shop has still to
    proof.
    """
    said = {
        "blank": _joined(", ", blank, spec.blank_words, spec.length_words, spec.power, spec.action),
        "grips": _joined("; ", *_rows(spec.rows_of("grip", "arbor")), _if("hand size ", spec.hand_size)),
        "reel seat": _joined(
            "; ", *_rows(spec.rows_of("reel seat")), _if("for the reel ", spec.reel),
            _if("its foot ", spec.reel_foot), _wound(spec),
        ),
        "rings": _joined("; ", *_rows(spec.rows_of("winding check", "trim ring"))),
        "guides": _joined(", ", _guides(spec), spec.guides),
        "threads": _joined("; ", _thread(spec), _if("trim ", _trim(spec))),
        "inscription": _inscription(spec, for_customer),
        "butt end": _joined("; ", *_rows(spec.rows_of("butt cap", "gimbal"))),
        "wishes": spec.wishes,
    }  # fmt: skip
    colours = tuple(colour for colour in (spec.thread_colour, spec.trim_colour) if colour)
    return [
        SpecLine(topic.name, topic.label, text, colours if topic.name == "threads" else ())
        for topic in TOPICS
        if (text := said[topic.name])
    ]


def lines_used_by(lines: Iterable[SpecLine], uses: Iterable[str]) -> list[SpecLine]:
    """The lines of the topics that a stage uses."""
    used = set(uses)
    wanted = {topic.name for topic in TOPICS if used & set(topic.uses)}
    return [line for line in lines if line.topic in wanted]


def ticket_lines(lines: Iterable[SpecLine], is_laid_down: bool) -> list[SpecLine]:
    """The lines for a bench ticket, which has one sheet of paper.

    What a make-up that is laid down shows better is left out, and what is too long is pointed at.
    """
    return [
        line._replace(text="see the spec") if len(line.text) > MOST_ON_TICKET else line
        for line in lines
        if not (is_laid_down and line.topic in SHOWN_BY_MAKE_UP)
    ]


def changes_in_words(
    before: Spec, after: Spec, blanks: Mapping[int, str], rework: Iterable[str] = ()
) -> list[SpecChange]:
    """Every field in which two specs differ, as it was and as it is. `blanks` has the names by id."""
    late = set(rework)
    return [
        SpecChange(
            field.label, field_words(field, before, blanks), field_words(field, after, blanks),
            field.name in late,
        )
        for field in FIELDS
        if field.value_in(before) != field.value_in(after)
    ]  # fmt: skip


def field_words(field: SpecField, spec: Spec, blanks: Mapping[int, str]) -> str:
    """What a spec says in one field, in words; a dash where it says nothing."""
    value = field.value_in(spec)
    if field.name == "blank_id":
        value = "" if value is None else blanks.get(value, f"blank {value}")
    elif field.kinds:
        value = "; ".join(_rows(value))
    return "–" if value in ("", None) else str(value)


def _rows(rows: Iterable[HandleRow]) -> list[str]:
    return [
        row.place
        + (f" {say_length(row.length_nm)}" if row.length_nm is not None else "")
        + (f", {row.said}" if row.said else "")
        for row in rows
    ]


def _joined(between: str, *parts: str) -> str:
    return between.join(part for part in parts if part)


def _if(before: str, said: str) -> str:
    return f"{before}{said}" if said else ""


def _wound(spec: Spec) -> str:
    return f"wound on the {spec.winding_side}, seen from the butt" if spec.winding_side else ""


def _guides(spec: Spec) -> str:
    if spec.guide_count is None:
        return ""
    return f"{spec.guide_count} guide{'' if spec.guide_count == 1 else 's'} and the tip-top"


def _thread(spec: Spec) -> str:
    return spec.thread_name or ("" if spec.thread_colour == FIRST_COLOUR else spec.thread_colour)


def _trim(spec: Spec) -> str:
    return spec.trim_name or spec.trim_colour


def _inscription(spec: Spec, for_customer: bool) -> str:
    if not spec.inscription:
        return ""
    side = f", on the {spec.inscription_side} seen from the butt" if spec.inscription_side else ""
    proof = "" if spec.is_proofed or for_customer else " (not proofed a second time yet)"
    return f"“{spec.inscription}”{side}{proof}"
