"""Search: which words are asked for, in which a text has them, and how an answer is shown.

Pure. Whatever is typed is taken apart into words of letters and digits, each the beginning of a word that is
looked for, and all of them must be there; signs mean nothing, so nothing typed can be wrong. A build is also
found by its number however it is typed: `26-014`, `26014`, `14`.
"""

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

MOST_ASKED = 200
MOST_WORDS = 8
MOST_WORD = 40
MOST_SHOWN = 160
_WORD = re.compile(r"[^\W_]+")
_NUMBER = re.compile(r"(\d{2})\s*[-/. ]?\s*(\d{3,4})")


class FoundKind(StrEnum):
    """What can be found, in the order in which it is shown."""

    BUILD = "build"
    CUSTOMER = "customer"
    COMPONENT = "component"
    BLANK = "blank"
    NOTE = "note"
    MESSAGE = "message"


@dataclass(frozen=True, slots=True)
class Asked:
    """What is looked for: the beginnings of words, and the parts of a build's number (year, running)."""

    words: tuple[str, ...]
    number: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        """Whether anything is asked for at all."""
        return bool(self.words)


class Piece(NamedTuple):
    """A stretch of a text, and whether it is what was looked for."""

    text: str
    is_found: bool


def read_asked(text: str) -> Asked:
    """What a typed text asks for; of a very long one, its beginning."""
    # Some keyboards send an accent as a sign of its own, at which the word would end.
    shown = unicodedata.normalize("NFC", text[:MOST_ASKED]).strip()
    words = tuple(dict.fromkeys(word[:MOST_WORD] for word in _WORD.findall(shown)))[:MOST_WORDS]
    return Asked(words, _number(shown))


def _number(text: str) -> tuple[str, ...]:
    if not text.isascii():
        return ()
    if text.isdigit() and len(text) <= 3:
        return (f"{int(text):03d}",)
    found = _NUMBER.fullmatch(text)
    return (found[1], found[2]) if found else ()


def fold(text: str) -> str:
    """A text for comparing, sign for sign: small letters without their marks."""
    if text.isascii():
        return text.lower()
    return "".join((unicodedata.normalize("NFD", sign)[0].casefold() or sign)[0] for sign in text)


def marked(text: str, asked: Asked) -> list[Piece]:
    """A text in pieces, with the beginnings of words that were looked for told from the rest."""
    pieces: list[Piece] = []
    last = 0
    for start, end in _hits(text, asked):
        if start > last:
            pieces.append(Piece(text[last:start], is_found=False))
        pieces.append(Piece(text[start:end], is_found=True))
        last = end
    if last < len(text):
        pieces.append(Piece(text[last:], is_found=False))
    return pieces


def _hits(text: str, asked: Asked) -> list[tuple[int, int]]:
    beginnings = [fold(word) for word in (*asked.words, *asked.number)]
    hits = []
    for found in _WORD.finditer(text):
        word = fold(found[0])
        lengths = [len(beginning) for beginning in beginnings if word.startswith(beginning)]
        if lengths:
            hits.append((found.start(), found.start() + max(lengths)))
    return hits


def excerpt(text: str, asked: Asked) -> str:
    """A stretch of a long text around the first word that was looked for, on one line."""
    plain = " ".join(text.split())
    if len(plain) <= MOST_SHOWN:
        return plain
    hits = _hits(plain, asked)
    start = max(0, hits[0][0] - MOST_SHOWN // 3) if hits else 0
    end = start + MOST_SHOWN
    return f"{'…' if start else ''}{plain[start:end]}{'…' if end < len(plain) else ''}"
