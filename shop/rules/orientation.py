"""Which side of the blank the guides go on, by kind of rod and by the shop's own rule, for the check of it.

The mark is made on the outside of the blank's natural curve. What is usual stands in `shop.craft.spine`; a
shop may go its own way. A repair has no rule: its guides go back as they came.
"""

from collections.abc import Mapping

from shop.craft.spine import USUAL_RULES, GuidesGo, Side

ORIENTATION_CHECK = "orientation"
AS_IT_CAME = "as it came"
_AS_IT_CAME_WORDS = "As it came in: compare with the photos taken then."
# Guides and reel on top, the trigger across from them.
_ON_TOP = {
    GuidesGo.ON_MARK: (
        "The guides go on the marked side, the outside of the natural curve; the trigger goes on the inside."
    ),
    GuidesGo.OPPOSITE: (
        "The guides go opposite the mark, on the inside of the natural curve; the trigger goes on the marked "
        "side."
    ),
    GuidesGo.IGNORED: (
        "This shop goes by the straightest axis: guides and reel go on top of it and the trigger below, "
        "wherever the mark is."
    ),
}
_BELOW = {
    GuidesGo.ON_MARK: (
        "The reel hangs below: reel foot and guides go on the marked side, the outside of the natural curve."
    ),
    GuidesGo.OPPOSITE: (
        "The reel hangs below: reel foot and guides go opposite the mark, on the inside of the natural curve."
    ),
    GuidesGo.IGNORED: (
        "This shop goes by the straightest axis: reel foot and guides hang below it, wherever the mark is."
    ),
}


def spine_rule(rod_kind: str, own: Mapping[str, str]) -> str:
    """The rule that the guides of a kind of rod go by: the shop's own, else the usual one.

    One of `GuidesGo`, or `AS_IT_CAME` for a repair.
    """
    usual = USUAL_RULES.get(rod_kind)
    return AS_IT_CAME if usual is None else GuidesGo(own.get(rod_kind, usual.guides))


def own_spine_rules(rules: Mapping[str, str]) -> dict[str, str]:
    """Those of the rules that are not the usual ones, to be kept."""
    return {kind: str(rule) for kind, rule in rules.items() if rule != USUAL_RULES[kind].guides}


def faults_of_spine_rules(rules: Mapping[str, str]) -> dict[str, str]:
    """What is wrong with a shop's rules for the spine, by kind of rod."""
    faults = {}
    for kind, rule in rules.items():
        if kind not in USUAL_RULES:
            faults[kind] = f"There is no rule for “{kind}” rods; there is for {', '.join(USUAL_RULES)}."
        elif rule not in set(GuidesGo):
            faults[kind] = f"“{rule}” is not a rule of the spine; use one of {', '.join(GuidesGo)}."
    return faults


def orientation_words(rod_kind: str, own: Mapping[str, str]) -> str:
    """What the orientation check of a kind of rod asks to be seen, in a plain sentence."""
    rule = spine_rule(rod_kind, own)
    if rule == AS_IT_CAME:
        return _AS_IT_CAME_WORDS
    is_on_top = USUAL_RULES[rod_kind].reel_side is Side.TOP
    return (_ON_TOP if is_on_top else _BELOW)[GuidesGo(rule)]
