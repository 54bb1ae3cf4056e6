"""The words of a mail: a small language of placeholders, and what comes with Tackfree for each kind.

`{customer}` stands for a value, `{{` and `}}` for the braces themselves; there is nothing else. A line whose
placeholders are all empty is left out, so that one can write `Still owed: {owed}` and it is gone once all is
paid. Values are escaped for HTML where the words are HTML.

A mail is filled in twice: with everything but `{link}` when it is written, and with the link when it is
sent. The link opens the customer's page, so it is not kept in the database.
"""

import html
import re
from collections.abc import Mapping
from typing import NamedTuple

from shop.rules.mails import (
    MOST_HTML,
    MOST_SUBJECT,
    MOST_TEXT,
    PLACEHOLDERS,
    MailKind,
    one_line,
)

LINK = "link"
_TOKEN = re.compile(r"\{\{|\}\}|\{([a-z_]+)\}|[{}]")
_CONTROLS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


class Words(NamedTuple):
    """What is written on one occasion: a subject of one line, plain text, and HTML or nothing."""

    subject: str
    text: str
    html: str


class _Piece(NamedTuple):
    """A part of a line: words as they stand, or the name of a placeholder."""

    words: str
    name: str = ""


class _Faulty(ValueError):
    """A line that cannot be read; its text is the sentence, without the line's number."""


def faults_of_words(kind: MailKind, words: Words) -> dict[str, str]:
    """What is wrong with the words of a kind, by field: `subject`, `text` or `html`."""
    most = {"subject": MOST_SUBJECT, "text": MOST_TEXT, "html": MOST_HTML}
    errors = {}
    for field, source in words._asdict().items():
        if not source.strip() and field != "html":
            errors[field] = "This is missing; please fill it in."
        elif len(source) > most[field]:
            errors[field] = f"This has {len(source)} characters; at most {most[field]} fit."
        elif _CONTROLS.search(source):
            errors[field] = "This has a character in it that cannot be sent; please type it again."
        elif field == "subject" and len(source.splitlines()) > 1:
            errors[field] = "A subject is one line."
        elif sentence := _fault_of(kind, source):
            errors[field] = sentence
    if "subject" not in errors and LINK in _names(words.subject):
        errors["subject"] = "The link of a customer's page has no place in a subject."
    return errors


def filled(words: Words, values: Mapping[str, str]) -> Words:
    """The words with every value but the link put in; `finished` puts that in. Raises `KeyError`.

    The subject is finished with this; text and HTML stay words of the same language.
    """
    subject = "".join(values[piece.name] if piece.name else piece.words for piece in _pieces(words.subject))
    kept = {**values, LINK: ""}
    return Words(
        one_line(subject, MOST_SUBJECT),
        _fill(words.text, kept, as_html=False, keeps_link=True),
        _fill(words.html, kept, as_html=True, keeps_link=True),
    )


def finished(words: Words, link: str) -> Words:
    """Words that `filled` gave, with the address of the customer's page, or without it where it is empty."""
    values = {LINK: link}
    text = _fill(words.text, values, as_html=False, keeps_link=False)
    # Lines that were left out leave the empty lines around them.
    text = re.sub(r"\n{3,}", "\n\n", text).strip("\n") + "\n"
    return Words(words.subject, text, _fill(words.html, values, as_html=True, keeps_link=False))


def _fill(source: str, values: Mapping[str, str], *, as_html: bool, keeps_link: bool) -> str:
    lines = []
    for line in source.splitlines():
        pieces = _pieces(line)
        names = {piece.name for piece in pieces if piece.name}
        keeps = keeps_link and LINK in names
        if names and not keeps and not any(values[name] for name in names):
            continue
        lines.append("".join(_put(piece, values, as_html, keeps_link) for piece in pieces))
    return "\n".join(lines)


def _put(piece: _Piece, values: Mapping[str, str], as_html: bool, keeps_link: bool) -> str:
    if piece.name == LINK and keeps_link:
        return "{link}"
    said = piece.words
    if piece.name:
        said = _CONTROLS.sub(" ", "\n".join(values[piece.name].splitlines()))
        if as_html:
            said = html.escape(said).replace("\n", "<br>\n")
    return said.replace("{", "{{").replace("}", "}}") if keeps_link else said


def _pieces(line: str) -> list[_Piece]:
    """The parts of a line. Raises `_Faulty` for a brace that stands alone."""
    pieces, end = [], 0
    for found in _TOKEN.finditer(line):
        pieces.append(_Piece(line[end : found.start()]))
        end = found.end()
        if found[1]:
            pieces.append(_Piece("", found[1]))
        elif len(found[0]) == 2:
            pieces.append(_Piece(found[0][0]))
        else:
            raise _Faulty(_sentence_of(line, found.start()))
    return [*pieces, _Piece(line[end:])]


def _sentence_of(line: str, at: int) -> str:
    if line[at] == "}":
        return "has a } without its {; write }} for the brace itself."
    inner, closed, _ = line[at + 1 :].partition("}")
    if not closed:
        return "has a { without its }; write {{ for the brace itself."
    return f"has “{{{inner}}}”, which is no placeholder; write {{{{ and }}}} for the braces themselves."


def _names(source: str) -> set[str]:
    return {piece.name for piece in _pieces(source) if piece.name}


def _fault_of(kind: MailKind, source: str) -> str:
    for number, line in enumerate(source.splitlines(), 1):
        try:
            names = _names(line)
        except _Faulty as fault:
            return f"Line {number} {fault}"
        unknown = sorted(names.difference(PLACEHOLDERS[kind]))
        if unknown:
            known = ", ".join(f"{{{name}}}" for name in PLACEHOLDERS[kind])
            return f"Line {number} has “{{{unknown[0]}}}”, which is not known here; there are {known}."
        if LINK in names and len(names) > 1:
            return f"Line {number} has “{{link}}” beside another placeholder; give it a line of its own."
    return ""


_HELLO, _HELLO_HTML = "Hello {customer},\n\n", "<p>Hello {customer},</p>\n"
_END = "\nIts page: {link}\n\n{shop}\n"
_END_HTML = '<p><a href="{link}">The page of your rod</a></p>\n<p>{shop}</p>\n'


def _words(subject: str, *paragraphs: str, end: tuple[str, str] = (_END, _END_HTML)) -> Words:
    """Words of one kind: each paragraph is one line, which is left out where it has nothing to say."""
    text = _HELLO + "\n".join(f"{line}\n" for line in paragraphs) + end[0]
    return Words(subject, text, _HELLO_HTML + "".join(f"<p>{line}</p>\n" for line in paragraphs) + end[1])


OUR_WORDS: dict[MailKind, Words] = {
    MailKind.STAGE: _words(
        "News of your rod {number}", "There is news of your rod, {rod}.", "{stage}",
    ),
    MailKind.READY: _words(
        "Your rod {number} is ready", "Your rod is ready: {rod}.", "Still to be paid: {owed}.",
        "Write to us when you would like to have it.",
    ),
    MailKind.HANDED_OVER: _words(
        "Your rod {number} is yours", "Your rod was handed over on {day}: {rod}. Thank you for it.", "{care}",
    ),
    MailKind.SLIP: _words(
        "Another day for your rod {number}", "The day we promised for your rod has moved: {rod}.",
        "The old day: {was}.", "The new day: {day}.", "The reason: {reason}",
    ),
    MailKind.QUOTE: _words(
        "Our quote for your rod {number}", "Here is our quote: {rod}.", "It comes to {total}.",
        "It stands until {until}.",
        end=(
            "\nRead it and answer here: {link}\n\n{shop}\n",
            '<p><a href="{link}">Read it and answer</a></p>\n<p>{shop}</p>\n',
        ),
    ),
    MailKind.CARE: _words(
        "How is your rod {number}?", "You have had your rod for a month now: {rod}.",
        "Is everything as it should be? If anything on it is loose, cloudy or not as you like it, write to "
        "us before you fish it further.",
        "{care}",
    ),
}  # fmt: skip
