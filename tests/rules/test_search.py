"""What a typed text asks for, and how a found text is cut and marked."""

import pytest

from shop.rules.search import MOST_SHOWN, Asked, Piece, excerpt, fold, marked, read_asked


@pytest.mark.parametrize(
    ("text", "words", "number"),
    [
        ("", (), ()),
        (" \t", (), ()),
        ("Ada  Thorn", ("Ada", "Thorn"), ()),
        ("Ada ada Ada", ("Ada", "ada"), ()),
        ("26-014", ("26", "014"), ("26", "014")),
        ("26 014", ("26", "014"), ("26", "014")),
        ("26014", ("26014",), ("26", "014")),
        ("26-1014", ("26", "1014"), ("26", "1014")),
        ("14", ("14",), ("014",)),
        ("014", ("014",), ("014",)),
        ("1014", ("1014",), ()),
        ("26-14-3", ("26", "14", "3"), ()),
        ("٢٦-٠١٤", ("٢٦", "٠١٤"), ()),
        ("²", ("²",), ()),
        ('"NEAR(a, b)" OR * - ^ : {x}', ("NEAR", "a", "b", "OR", "x"), ()),
        ("a_b%'\\\0;--", ("a", "b"), ()),
        ("x" * 500, ("x" * 40,), ()),
        (" ".join("abcdefghijkl"), tuple("abcdefgh"), ()),
        ("🎣", (), ()),
    ],
)
def test_what_is_asked(text: str, words: tuple[str, ...], number: tuple[str, ...]) -> None:
    assert read_asked(text) == Asked(words, number)


@pytest.mark.parametrize(
    ("text", "asked", "pieces"),
    [
        ("Ada Thorn", "tho", [("Ada ", False), ("Tho", True), ("rn", False)]),
        ("Ada Adair", "ada", [("Ada", True), (" ", False), ("Ada", True), ("ir", False)]),
        ("author", "tho", [("author", False)]),
        ("Åsa", "asa", [("Åsa", True)]),
        ("ASA", "ås", [("AS", True), ("A", False)]),
        ("Strauß", "straus", [("Strauß", True)]),
        ("26-014 Casting", "26014", [("26", True), ("-", False), ("014", True), (" Casting", False)]),
        ("<b>Ada", "b", [("<", False), ("b", True), (">Ada", False)]),
        ("", "a", []),
    ],
)
def test_what_is_marked(text: str, asked: str, pieces: list[tuple[str, bool]]) -> None:
    assert marked(text, read_asked(asked)) == [Piece(*piece) for piece in pieces]


def test_a_long_text_is_cut_around_what_was_found() -> None:
    text = "before " * 100 + "the flaw\nis here " + "after " * 100
    cut = excerpt(text, read_asked("fla"))
    assert "the flaw is here" in cut
    assert (cut[0], cut[-1]) == ("…", "…")
    assert len(cut) == MOST_SHOWN + 2
    assert excerpt("short\n text", read_asked("x")) == "short text"
    assert excerpt(text, read_asked("nowhere")).startswith("before")


def test_folding_keeps_every_sign_in_its_place() -> None:
    text = "ÅßİﬁΣ漢🎣é"
    assert len(fold(text)) == len(text)
