"""Cautions that belong to a stage, by what is done at it.

Short and general: the product's safety sheet, local rules and competent people come first. Which stage
needs which follows from what it records and from the words of its name.
"""

import re
from typing import NamedTuple

from shop.rules.sequences import Stage


class Caution(NamedTuple):
    """A caution to show at a step."""

    title: str
    text: str


EPOXY = Caution(
    "Epoxy",
    "Uncured epoxy and hardener can cause a lasting allergy. Gloves the safety sheet names, sleeves, eye "
    "protection, fresh air; never clean skin with solvent. Mix little: a deep cup heats itself. A rash, a "
    "wheeze or stinging eyes: stop, get clean air, wash, ask a doctor.",
)
SOLVENT = Caution(
    "Solvent and flame",
    "Alcohol vapour can light at room temperature and its flame is hard to see. Lids on, vapour gone, and "
    "only then a flame; never both at once. Soaked rags go into a lidded metal bin.",
)
DUST = Caution(
    "Dust",
    "Dust of carbon, glass, cork and wood harms eyes and lungs, and some of it burns: extraction at the "
    "source, a fitted respirator, eye protection; keep carbon dust out of motors.",
)
BLADES = Caution("Blades", "Cut away from yourself and from the blank; cap the blade when you lay it down.")
LATHE = Caution(
    "Turning work",
    "No gloves, rings or loose sleeves at anything that turns; stop it before measuring; support long "
    "blanks.",
)
LOAD = Caution(
    "Loaded tip",
    "Stand out of the arc of the tip, wear eye protection, and stay within the limits stated for the blank.",
)
TURNER = Caution(
    "Left turning",
    "Before leaving a turner alone: paper cleared away, cord and fuse looked at, motor cool, smoke alarm on.",
)
WASTE = Caution(
    "Waste",
    "Unmixed and tacky leftovers are usually hazardous waste; follow local rules. Nothing goes down a drain.",
)
# The next two are common practice, no source.
STORAGE = Caution(
    "Keeping bottles",
    "Upright, caps tight, cool, dark and dry, out of the frost, as the sheet says; never swap the caps of A "
    "and B. Write the day of opening on the bottle.",
)
CLOUDY = Caution(
    "Cloudy or grainy",
    "Cold can crystallise resin. Warm the bottle gently, as its sheet says, until it is clear again, and let "
    "it cool before mixing; never over a flame. What stays cloudy is not mixed.",
)

_HANDLE_FITTED = r"(grip|handle).*fitted"
_BY_WORD = (
    (re.compile(rf"\b(cut|ream|shoulder|sand|drill|strip)|{_HANDLE_FITTED}"), DUST),
    (re.compile(rf"\b(turn|ream|drill)|wrapped|{_HANDLE_FITTED}"), LATHE),
    (re.compile(rf"\b(cut|trim|strip)|wrapped|{_HANDLE_FITTED}"), BLADES),
    (re.compile(r"laid out|inspected|\btest|spine"), LOAD),
    (re.compile(r"\b(strip|scuff|clean|wipe)"), SOLVENT),
)


def cautions_for(stage: Stage) -> tuple[Caution, ...]:
    """The cautions of a stage, each once: of what is closed there first, then of the work it names."""
    found = []
    places = stage.cure_places()
    if places:
        found.append(EPOXY)
        # A coat's bubbles and a tip-top's cement are both warmed with a flame.
        if any("wrap" in place or place == "tip-top" for place in places):
            found.append(SOLVENT)
        if any("wrap" in place for place in places):
            found.append(TURNER)
        found.append(WASTE)
    name = stage.name.lower()
    found.extend(caution for words, caution in _BY_WORD if words.search(name) and caution not in found)
    return tuple(found)
