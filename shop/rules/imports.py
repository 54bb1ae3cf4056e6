"""Files of customers, blanks, components and stock: their columns, and what each line of one says.

Pure: rows come in as lists of cells (`shop.outside.csv_files` takes the file apart), values go out as the
tables keep them, or faults by column. A heading may name its column in any case, with spaces or underscores,
and a unit in brackets: `Length (mm)`. A blank's diameters stand in columns of their own, one for each
distance from the butt (`od at 12 in`), as makers' tables have them. What is on file already is judged in
`shop.services.imports`.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, NamedTuple

from shop.craft.lengths import LengthError, parse_length
from shop.rules.blanks import GROWS, MOST_PIECES, BlankFacts, faults_of_blank, growing_station
from shop.rules.components import DIMENSIONS, KINDS, MOST_MATERIAL, ComponentFacts, faults_of_component, said
from shop.rules.import_cells import (
    CellFault,
    Reader,
    address,
    cents,
    grams_mg,
    joints_nm,
    length_nm,
    text_of,
    whole_of,
    yes_or_no,
)
from shop.rules.stock import (
    MOST_BIN,
    MOST_CODE,
    MOST_COUNT,
    MOST_LEAD_DAYS,
    MOST_SUPPLIER_CODE,
    MOST_UNIT,
    StockEntry,
    faults_of_entry,
)

MOST_LINES = 200_000
MOST_NOTES = 4000
MOST_COLUMNS = 120
STATION = "station"
_HEADING = re.compile(r"(?P<name>[^()\[\]]*?)\s*(?:[(\[]\s*(?P<unit>[^()\[\]]*?)\s*[)\]])?")
_UNITS = {"mm": "mm", "millimetres": "mm", "in": "in", "inches": "in", '"': "in", "g": "", "grams": ""}


class ImportKind(StrEnum):
    """What a file lists, one a line."""

    CUSTOMERS = "customers"
    BLANKS = "blanks"
    COMPONENTS = "components"
    STOCK = "stock"


class Column(NamedTuple):
    """One column: its name in the heading, the field it fills, how a cell is read, and what it says."""

    name: str
    field: str
    read: Reader
    says: str = ""
    required: bool = False


_NOTES = Column("notes", "notes", text_of(MOST_NOTES, lines=True), "anything else")
_MASS = Column("mass", "mass_mg", grams_mg, "in grams")
COLUMNS: dict[ImportKind, tuple[Column, ...]] = {
    ImportKind.CUSTOMERS: (
        Column("name", "name", text_of(120), "who it is", required=True),
        Column("email", "email", address, "one address; no two customers share one"),
        Column("phone", "phone", text_of(40)),
        _NOTES,
    ),
    ImportKind.BLANKS: (
        Column("maker", "maker", text_of(120)),
        Column("model", "model", text_of(120), required=True),
        Column("length", "length_nm", length_nm, "such as 7 ft or 2134 mm", required=True),
        Column("pieces", "pieces", whole_of(1, MOST_PIECES), "1 where it is not said"),
        _MASS,
        Column("wall butt", "wall_butt_nm", length_nm, "the thickness of the tube at the butt"),
        Column("wall tip", "wall_tip_nm", length_nm, "the same at the tip"),
        Column("test load", "test_load_mg", grams_mg, "in grams, with the sag under it"),
        Column("test sag", "test_sag_nm", length_nm, "how far the tip sank, butt held level"),
        Column("most load", "most_load_mg", grams_mg, "in grams, the largest that the maker allows"),
        Column("joints", "joints", joints_nm, "from the butt: insertion, such as 42 in: 2 in; 63 in: 2 in"),
        Column("diameters confirmed", GROWS, yes_or_no, "yes where a diameter really grows to the tip"),
        _NOTES,
    ),
    ImportKind.COMPONENTS: (
        Column("kind", "kind", text_of(40), ", ".join(KINDS), required=True),
        Column("name", "name", text_of(120), required=True),
        Column("material", "material", text_of(MOST_MATERIAL)),
        Column("feet", "feet", whole_of(1, 2), "how many feet a guide has"),
        Column("price", "price_cents", cents, "what a customer pays, such as 18.50 or 18,50"),
        Column("cost", "cost_cents", cents, "what the shop pays"),
        Column("currency", "currency", text_of(3), "three capital letters; the shop's where it is not said"),
        _MASS,
        _NOTES,
    ),
    ImportKind.STOCK: (
        Column("what", "what", text_of(20), "blank, component or adhesive", required=True),
        Column("item", "item", text_of(250), "its name on file, or #12 for the number in its address", True),
        Column("on shelf", "on_shelf", whole_of(0, MOST_COUNT), "how many lie there", required=True),
        Column("unit", "unit", text_of(MOST_UNIT), "piece, share, bottle"),
        Column("code", "code", text_of(MOST_CODE), "what a scan reads; one is made up where there is none"),
        Column("bin", "bin", text_of(MOST_BIN), "where it lies"),
        Column("least", "least", whole_of(0, MOST_COUNT), "how few there should be"),
        Column("lead days", "lead_days", whole_of(0, MOST_LEAD_DAYS), "how long an order takes"),
        Column("supplier", "supplier", text_of(120), "the name of one on file"),
        Column("supplier code", "supplier_code", text_of(MOST_SUPPLIER_CODE)),
    ),
}
# Columns that have more than one name: beside the table, a file may have any number of these.
MORE_COLUMNS = {
    ImportKind.BLANKS: "od at butt, od at 12 in, od at tip …: the outside diameter that far from the butt",
    ImportKind.COMPONENTS: "the lengths that its kind has: "
    + ", ".join(dict.fromkeys(said(name) for names in DIMENSIONS.values() for name in names)),
}
_OF_DIMENSIONS = {said(name): name for names in DIMENSIONS.values() for name in names} | {
    name.replace("_", " "): name for names in DIMENSIONS.values() for name in names
}


class HeadFault(ValueError):
    """A heading that cannot be: its text is a sentence, `column` what it is about (empty for all of it)."""

    def __init__(self, says: str, column: str = "") -> None:
        super().__init__(says)
        self.column = column


class LineFault(NamedTuple):
    """What is wrong on one line of a file, in which column (empty for the line as a whole)."""

    line: int
    column: str
    says: str


@dataclass(frozen=True, slots=True)
class Place:
    """Where a column stands in a file: its heading as it is written, and what its cells are.

    `from_butt_nm` is where a station lies; none for the tip, whose distance is the blank's length.
    """

    heading: str
    column: Column
    unit: str = ""
    from_butt_nm: int | None = None


@dataclass(frozen=True, slots=True)
class Head:
    """What stands in which cell of a line; none for a column without a heading."""

    kind: ImportKind
    places: tuple[Place | None, ...]

    def heading_of(self, field: str) -> str:
        """The heading over a field, for a person to find; the field's own name where it has no column."""
        found = (place.heading for place in self.places if place is not None and place.column.field == field)
        return next(found, next((c.name for c in COLUMNS[self.kind] if c.field == field), field))


def read_head(kind: ImportKind, cells: Sequence[str]) -> Head:
    """What the columns of a file are. Raises `HeadFault`."""
    if len(cells) > MOST_COLUMNS:
        raise HeadFault(f"A file of {kind} has at most {MOST_COLUMNS} columns.")
    places = tuple(_place(kind, cell.strip()) for cell in cells)
    seen: set[tuple[str, int | None]] = set()
    for place in places:
        if place is None:
            continue
        key = (place.column.field, place.from_butt_nm)
        if key in seen:
            raise HeadFault(f"There are two columns “{place.heading}”.", place.heading)
        seen.add(key)
    fields = {field for field, _ in seen}
    missing = [column.name for column in COLUMNS[kind] if column.required and column.field not in fields]
    if missing:
        raise HeadFault(
            f"The first line must name the columns, and {' and '.join(missing)} must be among them. "
            f"A file of {kind} may have {known_columns(kind)}."
        )
    return Head(kind, places)


def known_columns(kind: ImportKind) -> str:
    """The names of all columns of a kind of file, as one line."""
    names = ", ".join(column.name for column in COLUMNS[kind])
    return f"{names}; and {MORE_COLUMNS[kind]}" if kind in MORE_COLUMNS else names


def _place(kind: ImportKind, heading: str) -> Place | None:
    if not heading:
        return None
    found = _HEADING.fullmatch(heading)
    name = _plain(found["name"]) if found else ""
    unit = (found["unit"] or "").casefold() if found else ""
    if unit not in ("", *_UNITS):
        raise HeadFault(f"The unit of “{heading}” is not known here; say mm, in or g.", heading)
    for column in COLUMNS[kind]:
        if column.name == name:
            return Place(heading, column, _UNITS.get(unit, ""))
    if kind is ImportKind.BLANKS and name.startswith(("od at ", "od @ ")):
        return _station(heading, name.split(maxsplit=2)[2], _UNITS.get(unit, ""))
    if kind is ImportKind.COMPONENTS and name in _OF_DIMENSIONS:
        return Place(heading, _dimension(_OF_DIMENSIONS[name]), _UNITS.get(unit, ""))
    raise HeadFault(
        f"There is no column “{heading}”. A file of {kind} may have {known_columns(kind)}.", heading
    )


def _plain(name: str) -> str:
    return " ".join(name.casefold().replace("_", " ").replace("-", "").split())


def _dimension(name: str) -> Column:
    return Column(said(name), f"dimensions.{name}", length_nm)


def _station(heading: str, at: str, unit: str) -> Place:
    column = Column(heading, STATION, length_nm)
    if at in ("butt", "tip"):
        return Place(heading, column, unit, 0 if at == "butt" else None)
    try:
        return Place(heading, column, unit, parse_length(at))
    except LengthError as fault:
        raise HeadFault(f"“{heading}” does not say how far from the butt: {fault}", heading) from fault


def read_line(head: Head, line: int, cells: Sequence[str]) -> tuple[dict[str, Any], list[LineFault]]:
    """The values of one line by field, and everything that is wrong with it."""
    if len(cells) > len(head.places) and any(cell.strip() for cell in cells[len(head.places) :]):
        says = f"This line has {len(cells)} cells, and the first line names {len(head.places)} columns."
        return {}, [LineFault(line, "", says)]
    values, stations, faults = _read_cells(head, line, cells)
    if not faults:
        check = _CHECKS.get(head.kind)
        wrong = check(values, stations) if check else {}
        faults = [LineFault(line, head.heading_of(field), says) for field, says in wrong.items()]
    return values, faults


def _read_cells(
    head: Head, line: int, cells: Sequence[str]
) -> tuple[dict[str, Any], list[tuple[int | None, int]], list[LineFault]]:
    values: dict[str, Any] = {}
    stations: list[tuple[int | None, int]] = []
    faults = []
    for number, place in enumerate(head.places):
        cell = cells[number].strip() if number < len(cells) else ""
        if place is None:
            if cell:
                faults.append(LineFault(line, f"column {number + 1}", "This column has no heading."))
        elif cell:
            try:
                value = place.column.read(cell, place.unit)
            except CellFault as fault:
                faults.append(LineFault(line, place.heading, str(fault)))
                continue
            if place.column.field == STATION:
                stations.append((place.from_butt_nm, value))
            else:
                values[place.column.field] = value
        elif place.column.required:
            faults.append(LineFault(line, place.heading, "This is missing; please fill it in."))
    return values, stations, faults


def _check_blank(values: dict[str, Any], stations: Sequence[tuple[int | None, int]]) -> dict[str, str]:
    length = values["length_nm"]
    found = sorted((length if at is None else at, od) for at, od in stations)
    values["stations"] = found
    facts = BlankFacts(
        values["model"], length, values.setdefault("pieces", 1), values.get("mass_mg"), found,
        values.get("joints", ()), values.get("wall_butt_nm"), values.get("wall_tip_nm"),
        values.get("test_load_mg"), values.get("test_sag_nm"), values.get("most_load_mg"),
    )  # fmt: skip
    faults = faults_of_blank(facts)
    confirmed = values.pop(GROWS, False)
    if not faults and not confirmed and (question := growing_station(found)):
        faults = {STATION: f"{question} (A column “diameters confirmed” with yes confirms it.)"}
    return {_BLANK_FIELDS.get(field, field): says for field, says in faults.items()}


def _check_component(values: dict[str, Any], _stations: object) -> dict[str, str]:
    given = {field for field in values if field.startswith("dimensions.")}
    dimensions = {field.removeprefix("dimensions."): values.pop(field) for field in sorted(given)}
    values["kind"] = values["kind"].casefold()
    values["dimensions"] = dimensions
    facts = ComponentFacts(
        values["kind"], values["name"], dimensions, values.get("mass_mg"), values.get("material", ""),
        values.get("feet"), values.get("price_cents"), values.get("cost_cents"),
        values.get("currency", "EUR"),
    )  # fmt: skip
    faults = faults_of_component(facts)
    return {"mass_mg" if field == "mass_g" else field: says for field, says in faults.items()}


def _check_stock(values: dict[str, Any], _stations: object) -> dict[str, str]:
    values["what"] = values["what"].casefold()
    if values["what"] not in ("blank", "component", "adhesive"):
        return {"what": "Only blanks, components and adhesives are counted: say one of these three words."}
    entry = StockEntry(
        values.get("code", "made up"), values.get("unit", "piece"), values.get("bin", ""),
        values.get("least", 0), values.get("lead_days"), values.get("supplier_code", ""),
    )  # fmt: skip
    return faults_of_entry(entry)


_BLANK_FIELDS = {
    "length": "length_nm", "mass_g": "mass_mg", "stations": STATION, "wall_butt": "wall_butt_nm",
    "wall_tip": "wall_tip_nm", "test_load_g": "test_load_mg", "test_sag": "test_sag_nm",
    "most_load_g": "most_load_mg",
}  # fmt: skip
_CHECKS = {
    ImportKind.BLANKS: _check_blank,
    ImportKind.COMPONENTS: _check_component,
    ImportKind.STOCK: _check_stock,
}


class Key(NamedTuple):
    """By which a record is told from others: the field that says it, and the words compared."""

    field: str
    words: str


def keys_of(kind: ImportKind, values: dict[str, Any]) -> list[Key]:
    """By what a line is known; the first of them is what no other record may share.

    A customer is known by the address, and without one by the name; a blank by maker, model and length; a
    component by its kind and name; a counted item by itself and by its code.
    """
    if kind is ImportKind.CUSTOMERS:
        name = Key("name", values["name"].casefold())
        return [Key("email", values["email"].casefold()), name] if values.get("email") else [name]
    if kind is ImportKind.BLANKS:
        words = f"{values.get('maker', '')}\t{values['model']}\t{values['length_nm']}"
        return [Key("model", words.casefold())]
    if kind is ImportKind.COMPONENTS:
        return [Key("name", f"{values['kind']}\t{values['name']}".casefold())]
    item = Key("item", f"{values['what']}\t{values['item_id']}")
    return [item, Key("code", values["code"])] if values.get("code") else [item]
