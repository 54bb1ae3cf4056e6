"""The values of a make-up as the calculators take them: text with its unit, exactly."""

from typing import Any

from shop.craft.lengths import typable
from shop.rules.make_up import Bare
from shop.rules.masses import grams_of


def grams(milligrams: int) -> str:
    """A mass as it can be typed: `62.5 g`."""
    return f"{grams_of(milligrams)} g"


def millilitres(volume_ml: float) -> str:
    """A volume as it can be typed, to 0.01 mL: `1.47 mL`."""
    return f"{volume_ml:.2f} mL"


def stations_of(blank: Bare) -> list[dict[str, Any]]:
    """The stations of a blank as rows of a calculator."""
    return [{"from_butt": typable(at), "od": typable(od)} for at, od in blank.stations]
