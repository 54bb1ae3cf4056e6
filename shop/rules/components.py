"""The kinds of component, and which lengths matter for each."""

from collections.abc import Mapping

from shop.craft.lengths import NM_PER_MM

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
MOST_NM = 10_000 * NM_PER_MM
# A spool holds far more than any part is long.
MOST_THREAD_NM = 100_000 * NM_PER_MM
MOST_CENTS = 10_000_000


def said(dimension: str) -> str:
    """A dimension's name as people say it: `ring_od` is the ring outside diameter."""
    return " ".join("outside diameter" if word == "od" else word for word in dimension.split("_"))


def faults_of_component(
    kind: str,
    name: str,
    dimensions: Mapping[str, int],
    price_cents: int | None,
    cost_cents: int | None,
    currency: str,
) -> dict[str, str]:
    """Everything that keeps a component's facts from being right, by field; empty when they are."""
    errors = {}
    if kind not in DIMENSIONS:
        return {"kind": f"The kind must be one of {', '.join(KINDS)}."}
    if not 1 <= len(name.strip()) <= 120:
        errors["name"] = "The component needs a name of 1 to 120 characters."
    most = MOST_THREAD_NM if kind == "thread" else MOST_NM
    for which, nm in dimensions.items():
        if which not in DIMENSIONS[kind]:
            known = ", ".join(DIMENSIONS[kind])
            errors[f"dimensions.{which}"] = f"A {kind} has no “{which}”; its dimensions are {known}."
        elif not 0 < nm <= most:
            limit = f"at most at {most // NM_PER_MM // 1000} m"
            errors[f"dimensions.{which}"] = f"The {said(which)} must lie above nothing and {limit}."
    for field, cents in (("price_cents", price_cents), ("cost_cents", cost_cents)):
        if cents is not None and not 0 <= cents <= MOST_CENTS:
            errors[field] = "An amount is a whole number of cents, from 0 to 10,000,000."
    if len(currency) != 3 or not (currency.isascii() and currency.isalpha() and currency.isupper()):
        errors["currency"] = "The currency is written as three capital letters, such as EUR (ISO 4217)."
    return errors
