"""The calculator for the size of a tip-top."""

from shop.craft.fit.tip_top import MOST_ROOM_NM, tip_top_size
from shop.craft.saying import plain, say_fine
from shop.craft.sums.base import Figure, Input, Kind, Outcome, Sum, Values


def _size(values: Values) -> Outcome:
    tip, tube = values["tip_od"], values["tube_bore"]
    found = tip_top_size(tip)
    room = None if tube is None else tube - tip
    figures = (
        Figure("exact_64ths", "The tip in 64ths", Kind.NUMBER, float(found.exact), "/64 in"),
        Figure("size_64ths", "Size to take", Kind.NUMBER, float(found.size), "/64 in"),
        Figure("tube_bore", "Bore of that tube", Kind.FINE, found.tube_nm),
        Figure("room", "Room in the tube at hand", Kind.FINE, room),
    )
    working = (
        f"{say_fine(tip)} ÷ 0.015625 in = {plain(float(found.exact))}, so the next half size up is "
        f"{plain(float(found.size))}.",
    )
    return Outcome(figures, working, _warnings(tip, tube))


def _warnings(tip: int, tube: int | None) -> tuple[str, ...]:
    if tube is None:
        return ()
    if tube < tip:
        return (f"The tube, {say_fine(tube)}, does not go over the tip, {say_fine(tip)}.",)
    if tube - tip > MOST_ROOM_NM:
        return (f"The tube has {say_fine(tube - tip)} of room over the tip and would sit loose.",)
    return ()


TIP_TOP_SIZE = Sum(
    name="tip-top-size",
    title="Size of the tip-top",
    group="Guides",
    about="The tube that goes over the tip without sitting loose. Sizes count 64ths of an inch.",
    inputs=(
        Input("tip_od", "Diameter of the tip", Kind.FINE, hint="bare, where the tube ends"),
        Input("tube_bore", "Bore of the tube at hand", Kind.FINE, optional=True),
    ),
    formula="Size = ⌈2 × tip diameter ÷ 1/64 in⌉ ÷ 2, with 1/64 in = 0.015625 in",
    source="Common practice, no source; the inch is 25.4 mm exactly (NIST SP 811, appendix B.8).",
    work=_size,
)

SUMS: tuple[Sum, ...] = (TIP_TOP_SIZE,)
