"""Calculators for cutting grip stock and turning its shoulder."""

from shop.craft.faults import SumFault
from shop.craft.fit.cutting import cut_length_nm, pieces_from_stick
from shop.craft.fit.shoulder import LEAST_WALL_NM, shoulder
from shop.craft.saying import plain_mm, say_fine, say_length
from shop.craft.sums.base import Figure, Input, Kind, Outcome, Sum, Values

GROUP = "Grips and seats"
NO_SOURCE = "Common practice, no source."


def _cut_length(values: Values) -> Outcome:
    visible, hidden, facing = values["visible"], values["shoulder"], values["facing"]
    length = cut_length_nm(visible, hidden, facing)
    working = (
        f"Cut length = visible + shoulder + 2 × facing = {say_length(visible)} + {say_length(hidden)} "
        f"+ 2 × {say_length(facing)} = {say_length(length)}.",
    )
    return Outcome((Figure("cut_length", "Cut length", Kind.LENGTH, length),), working)


CUT_LENGTH = Sum(
    name="cut-length",
    title="Cut length of a piece",
    group=GROUP,
    about="How long a piece of grip stock is cut, with the shoulder that a recess hides and what is skimmed "
    "off the ends to true them.",
    inputs=(
        Input("visible", "Visible length", Kind.LENGTH),
        Input("shoulder", "Shoulder", Kind.LENGTH, "What a recess hides.", default="0 in", zero=True),
        Input("facing", "Facing, each end", Kind.LENGTH, default="1/32 in", zero=True),
    ),
    formula="Cut length = visible length + shoulder + 2 × facing",
    source=NO_SOURCE,
    work=_cut_length,
)


def _pieces(values: Values) -> Outcome:
    stick, piece, kerf, wanted = values["stick"], values["piece"], values["kerf"], values["wanted"]
    found = pieces_from_stick(stick, piece, kerf)
    figures = [
        Figure("pieces", "Pieces from a stick", Kind.COUNT, found.count),
        Figure("leftover", "Left over", Kind.LENGTH, found.leftover_nm),
    ]
    working = [
        f"Pieces = ⌊(stick + kerf) ÷ (piece + kerf)⌋ = ⌊({say_length(stick)} + {say_length(kerf)}) ÷ "
        f"({say_length(piece)} + {say_length(kerf)})⌋ = {found.count}.",
        f"Left over, the last cut taken off, = {say_length(found.leftover_nm)}.",
    ]
    warnings = () if found.count else ("The stick is shorter than one piece.",)
    if wanted is not None:
        if not found.count:
            said = (
                f"No stick of {say_length(stick)} gives a piece of {say_length(piece)}, let alone {wanted}."
            )
            raise SumFault({"wanted": said})
        sticks = -(-wanted // found.count)
        figures.append(Figure("sticks", "Sticks needed", Kind.COUNT, sticks))
        working.append(f"Sticks = ⌈{wanted} ÷ {found.count}⌉ = {sticks}.")
    return Outcome(tuple(figures), tuple(working), warnings)


PIECES_FROM_STICK = Sum(
    name="pieces-from-stick",
    title="Pieces from a stick",
    group=GROUP,
    about="How many pieces a stick gives with the width of the saw cut, and what is left of it.",
    inputs=(
        Input("stick", "Stick", Kind.LENGTH),
        Input("piece", "Piece, as cut", Kind.LENGTH),
        Input("kerf", "Saw cut", Kind.LENGTH, default="3/32 in", zero=True),
        Input("wanted", "Pieces wanted", Kind.COUNT, optional=True),
    ),
    formula="Pieces = ⌊(stick + kerf) ÷ (piece + kerf)⌋",
    source=NO_SOURCE,
    work=_pieces,
)


def _shoulder(values: Values) -> Outcome:
    hood, gap, recess, relief = values["hood_bore"], values["gap"], values["recess"], values["relief"]
    bore, grip, material = values["bore"], values["grip_od"], values["material"]
    found = shoulder(hood, gap, recess, relief, bore, grip)
    figures = [
        Figure("shoulder_od", "Shoulder diameter", Kind.FINE, found.diameter_nm),
        Figure("shoulder_length", "Shoulder length", Kind.LENGTH, found.length_nm),
        Figure("wall", "Wall over the bore", Kind.FINE, found.wall_nm),
    ]
    working = [
        f"Diameter = hood bore − 2 × gap = {say_fine(hood)} − 2 × {say_fine(gap)} = "
        f"{say_fine(found.diameter_nm)}.",
        f"Length = recess − relief = {say_length(recess)} − {say_length(relief)} = "
        f"{say_length(found.length_nm)}.",
        f"Wall = (diameter − bore) ÷ 2 = ({say_fine(found.diameter_nm)} − {say_fine(bore)}) ÷ 2 = "
        f"{say_fine(found.wall_nm)}.",
    ]
    if found.take_off_nm is not None:
        figures.append(Figure("take_off", "Take off a side", Kind.FINE, found.take_off_nm))
        working.append(
            f"Take off = (grip − diameter) ÷ 2 = ({say_fine(grip)} − {say_fine(found.diameter_nm)}) ÷ 2 = "
            f"{say_fine(found.take_off_nm)} a side."
        )
    least = LEAST_WALL_NM[material]
    warnings: tuple[str, ...] = ()
    if found.wall_nm < least:
        of = f"of {material}" if material != "other" else "of this material"
        warnings = (
            f"A wall {of} under {plain_mm(least)} mm is weak; this one is {say_fine(found.wall_nm)}.",
        )
    return Outcome(tuple(figures), tuple(working), warnings)


SHOULDER = Sum(
    name="shoulder",
    title="Shoulder for a hood",
    group=GROUP,
    about="The shoulder that a grip needs to enter a hood. It is commonly about 3/16 in long and 3/32 in "
    "deep a side.",
    inputs=(
        Input("hood_bore", "Bore of the hood", Kind.FINE),
        Input("gap", "Gap a side", Kind.FINE, "For glue.", default="0.005 in", zero=True),
        Input("recess", "Depth of the recess", Kind.LENGTH),
        Input(
            "relief", "Relief", Kind.LENGTH, "How much shorter the shoulder is.", default="1/32 in", zero=True
        ),
        Input("bore", "Bore of the grip", Kind.FINE, "At the end that has the shoulder."),
        Input("grip_od", "Outside of the grip", Kind.FINE, "Before the shoulder is turned.", optional=True),
        Input("material", "Material", Kind.CHOICE, default="cork", options=tuple(LEAST_WALL_NM)),
    ),
    formula="Diameter = hood bore − 2 × gap; length = recess − relief; wall = (diameter − bore) ÷ 2",
    source="Common practice, no source; so are the least walls, 3 mm of cork and 2 mm of anything else.",
    work=_shoulder,
)

SUMS: tuple[Sum, ...] = (CUT_LENGTH, PIECES_FROM_STICK, SHOULDER)
