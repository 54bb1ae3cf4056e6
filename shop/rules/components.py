"""The kinds of component, which lengths matter for each, and whether what is said of one can be."""

from collections.abc import Mapping
from typing import NamedTuple

from shop.craft.lengths import NM_PER_MM
from shop.rules.masses import fault_of_mass

DIMENSIONS: dict[str, tuple[str, ...]] = {
    "grip": (
        "length", "od", "bore_butt_end", "bore_tip_end", "recess_od", "recess_depth", "shoulder_od",
        "shoulder_length",
    ),
    "reel seat": ("bore", "length", "hood_bore", "hood_depth", "exposed_thread"),
    "arbor": ("bore", "od", "length"),
    "winding check": ("bore", "od", "thickness"),
    "trim ring": ("bore", "od", "thickness"),
    "butt cap": ("bore", "depth", "od"),
    "gimbal": ("bore", "depth", "od"),
    "guide": ("ring_od", "clear_hole", "centre_height", "foot_length", "foot_width", "length"),
    "tip-top": ("tube_bore", "ring_od", "height"),
    "ferrule": ("bore", "od", "insertion"),
    "keeper": ("length",),
    "thread": ("diameter", "length"),
    "other": ("length", "od", "bore"),
}  # fmt: skip
KINDS = tuple(DIMENSIONS)
GUIDE = "guide"
# What parts are mostly made of; any other word is taken too.
MATERIALS = ("cork", "foam", "wood", "carbon tube", "aluminium", "other")
MOST_MATERIAL = 40
MOST_NM = 10_000 * NM_PER_MM
# A spool holds far more than any part is long.
MOST_THREAD_NM = 100_000 * NM_PER_MM
MOST_CENTS = 10_000_000


def said(dimension: str) -> str:
    """A dimension's name as people say it: `ring_od` is the ring outside diameter."""
    return " ".join("outside diameter" if word == "od" else word for word in dimension.split("_"))


class ComponentFacts(NamedTuple):
    """What is said of a component and can be wrong. `feet` is how many feet a guide has."""

    kind: str
    name: str
    dimensions: Mapping[str, int]
    mass_mg: int | None
    material: str
    feet: int | None
    price_cents: int | None
    cost_cents: int | None
    currency: str


def faults_of_component(facts: ComponentFacts) -> dict[str, str]:
    """Everything that keeps a component's facts from being right, by field; empty when they are."""
    if facts.kind not in DIMENSIONS:
        return {"kind": f"The kind must be one of {', '.join(KINDS)}."}
    errors = _faults_of_dimensions(facts.kind, facts.dimensions)
    if not 1 <= len(facts.name.strip()) <= 120:
        errors["name"] = "The component needs a name of 1 to 120 characters."
    if fault := fault_of_mass(facts.mass_mg):
        errors["mass_g"] = fault
    if len(facts.material) > MOST_MATERIAL:
        errors["material"] = f"The material is a word or two, of at most {MOST_MATERIAL} characters."
    if facts.feet is not None and facts.kind != GUIDE:
        errors["feet"] = f"Only guides have feet; a {facts.kind} has none."
    elif facts.feet not in (None, 1, 2):
        errors["feet"] = "A guide has 1 or 2 feet."
    for field, cents in (("price_cents", facts.price_cents), ("cost_cents", facts.cost_cents)):
        if cents is not None and not 0 <= cents <= MOST_CENTS:
            errors[field] = "An amount is a whole number of cents, from 0 to 10,000,000."
    letters = facts.currency.isascii() and facts.currency.isalpha() and facts.currency.isupper()
    if len(facts.currency) != 3 or not letters:
        errors["currency"] = "The currency is written as three capital letters, such as EUR (ISO 4217)."
    return errors


def _faults_of_dimensions(kind: str, dimensions: Mapping[str, int]) -> dict[str, str]:
    errors = {}
    most = MOST_THREAD_NM if kind == "thread" else MOST_NM
    for which, nm in dimensions.items():
        if which not in DIMENSIONS[kind]:
            known = ", ".join(DIMENSIONS[kind])
            errors[f"dimensions.{which}"] = f"A {kind} has no “{which}”; its dimensions are {known}."
        elif not 0 < nm <= most:
            limit = f"at most at {most // NM_PER_MM // 1000} m"
            errors[f"dimensions.{which}"] = f"The {said(which)} must lie above nothing and {limit}."
    return errors
