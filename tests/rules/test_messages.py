"""What a message may be: its length, its signs, and what is left away around it."""

import pytest

from shop.rules.messages import MOST_TEXT, faults_of_message, plain_text


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("  a\r\nb\rc\n ", "a\nb\nc"), ("\n\n", ""), ("a\n\n\tb", "a\n\n\tb"), ("naïve 🎣", "naïve 🎣")],
)
def test_a_text_keeps_its_lines(typed: str, kept: str) -> None:
    assert plain_text(typed) == kept


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a", ""), ("a\n\tb", ""), ("x" * MOST_TEXT, ""), ("🎣 👨‍👩‍👧 é עברית", ""), ("<b>", ""),
        ("", "nothing in it yet"), ("x" * (MOST_TEXT + 1), "2001 characters"), ("a\0", "cannot be kept"),
        ("a\x1b[2J", "cannot be kept"), ("a\ud800", "cannot be kept"), ("a\x85b", "cannot be kept"),
    ],
)  # fmt: skip
def test_what_cannot_be_kept_is_said(text: str, said: str) -> None:
    faults = faults_of_message(text)
    assert list(faults) == (["text"] if said else [])
    assert said in faults.get("text", "")
