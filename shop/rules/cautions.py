"""Cautions that belong to a stage, by what is done at it.

Short and general: the product's safety sheet, local rules and competent people come first. Which stage
needs which follows from what it records and from the words of its name.
"""

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
    "Dust and blades",
    "Dust of carbon, glass, cork and wood harms eyes and lungs: extraction at the source, a fitted "
    "respirator, eye protection. Cut away from yourself.",
)
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

_BY_WORD: tuple[tuple[tuple[str, ...], Caution], ...] = (
    (("fitted", "cut", "ream", "shoulder", "strip", "sand"), DUST),
    (("grips fitted", "grip and seat fitted", "turn", "wrapped"), LATHE),
    (("laid out", "inspected", "test", "spine"), LOAD),
    (("strip", "scuff"), SOLVENT),
)


def cautions_for(stage: Stage) -> tuple[Caution, ...]:
    """The cautions of a stage, each once, the gravest first."""
    found = []
    if stage.cure_places():
        found.append(EPOXY)
        if any("wrap" in place for place in stage.cure_places()):
            found.extend((SOLVENT, TURNER))
        found.append(WASTE)
    name = stage.name.lower()
    for words, caution in _BY_WORD:
        if any(word in name for word in words) and caution not in found:
            found.append(caution)
    return tuple(found)
