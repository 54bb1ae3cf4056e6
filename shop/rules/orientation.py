"""Which side of the blank the guides go on, by kind of rod.

The mark is made on the outside of the blank's natural curve. Common practice, no source; a shop that does
otherwise writes its own check.
"""

ORIENTATION_CHECK = "orientation"
# Guides and reel on top: guides along the outside of the natural curve, the trigger along the inside.
_ON_TOP = (
    "The guides go on the marked side, the outside of the natural curve; the trigger goes on the inside."
)
# Reel and guides hang below: the inside of the curve.
_BELOW = (
    "The reel hangs below: reel foot and guides go opposite the mark, on the inside of the natural curve."
)
_AS_IT_CAME = "As it came in: compare with the photos taken then."

_WORDS = {
    "casting": _ON_TOP,
    "boat": _ON_TOP,
    "spinning": _BELOW,
    "fly": _BELOW,
    "surf": _BELOW,
    "repair": _AS_IT_CAME,
}


def orientation_words(rod_kind: str) -> str:
    """What the orientation check of a kind of rod asks to be seen, in a plain sentence."""
    return _WORDS[rod_kind]
