"""A make-up to try rules on: a 7 ft casting rod, all of it worked by hand or common practice."""

from dataclasses import replace
from typing import Any

from shop.craft.lengths import parse_length
from shop.rules.make_up import Bare, GuideSpot, MakeUp, Part, Sheet

FROM_TIP = ("4", "8 7/16", "13 5/16", "18 11/16", "24 7/16", "30 11/16", "37 5/16", "44 7/16", "52")


def nm(text: str) -> int:
    """A length in inches, in nanometres."""
    return parse_length(f"{text} in")


def taper(length: str = "84", butt: float = 0.593, loss: float = 0.006) -> tuple[tuple[int, int], ...]:
    """Stations every foot on a straight taper."""
    inches = range(0, int(length) + 1, 12)
    return tuple((nm(str(at)), nm(f"{butt - loss * at:.3f}")) for at in inches)


BLANK = Bare("Heron 70 MH", nm("84"), 1, 62_000, taper())
REAR = Part(
    "rear grip", "grip", "Cork rear grip", nm("1/2"), nm("9 1/2"), 1,
    {"length": nm("9"), "od": nm("1"), "bore_tip_end": nm("1/4")}, 38_000, "cork",
)  # fmt: skip
SEAT = Part(
    "reel seat", "reel seat", "Casting seat", nm("9 1/2"), nm("14"), 2,
    {"bore": nm("0.650"), "hood_bore": nm("0.875"), "hood_depth": nm("7/16")}, 42_000,
)  # fmt: skip
FORE = Part(
    "fore grip", "grip", "Cork fore grip", nm("14"), nm("16 1/2"), 3,
    {"od": nm("1"), "bore_tip_end": nm("1/4")}, 12_000, "cork",
)  # fmt: skip
RING = {"ring_od": nm("5/16"), "centre_height": nm("0.4"), "foot_length": nm("1/2")}
GUIDES = tuple(GuideSpot(nm(at), "Ring guide 8", 4, RING, 1, 1_000) for at in FROM_TIP)
BOND = Sheet(1, "Riverbed", 1.0, 1.0, 1.16, 1.0, 60.0)
FINISH = Sheet(2, "Stillwater", 1.0, 1.0, 1.12, 0.98, 35.0)
CASTING = MakeUp(1, "casting", BLANK, (REAR, SEAT, FORE), GUIDES, BOND, FINISH)


def casting(**changes: Any) -> MakeUp:
    """The casting rod with something changed."""
    return replace(CASTING, **changes)
