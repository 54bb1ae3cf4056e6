"""What each column of a file takes, what is refused and where, and by what a record is known."""

from typing import Any

import pytest

from shop.craft.lengths import NM_PER_MM
from shop.rules.imports import COLUMNS, HeadFault, ImportKind, keys_of, read_head, read_line

CUSTOMERS, BLANKS, COMPONENTS, STOCK = ImportKind


def read(kind: ImportKind, head: list[str], cells: list[str]) -> tuple[dict[str, Any], list[tuple[str, str]]]:
    values, faults = read_line(read_head(kind, head), 7, cells)
    assert {fault.line for fault in faults} <= {7}
    return values, [(fault.column, fault.says) for fault in faults]


@pytest.mark.parametrize(
    ("kind", "head", "cells", "values"),
    [
        (
            CUSTOMERS, ["NAME", " E-Mail ", "Notes"], [" Ada Thorn ", "ada@thorn.example", "a\r\nb"],
            {"name": "Ada Thorn", "email": "ada@thorn.example", "notes": "a\r\nb"},
        ),
        (CUSTOMERS, ["name", "phone", ""], ["Bo"], {"name": "Bo"}),
        (
            BLANKS, ["Maker", "Model", "Length", "od at 12 in", "od at butt", "od_at_tip [mm]", "Mass (g)"],
            ["Reedline", "R7", "7 ft", '0.5"', "14,2 mm", "1.8", "58,5"],
            {
                "maker": "Reedline", "model": "R7", "length_nm": 2133600000, "pieces": 1, "mass_mg": 58500,
                "stations": [(0, 14200000), (304800000, 12700000), (2133600000, 1800000)],
            },
        ),
        (
            BLANKS, ["model", "length (in)", "od at butt (mm)", "od at tip (mm)", "diameters confirmed"],
            ["Odd", "60", "5", "6", "yes"],
            {
                "model": "Odd", "length_nm": 1524000000, "pieces": 1,
                "stations": [(0, 5000000), (1524000000, 6000000)],
            },
        ),
        (
            BLANKS, ["model", "length", "pieces", "joints (in)"],
            ["R7", "7 ft", "3", " 56: 1 1/2; 28:2 in ; "],
            {
                "model": "R7", "length_nm": 2133600000, "pieces": 3, "stations": [],
                "joints": [(711200000, 50800000), (1422400000, 38100000)],
            },
        ),
        (
            COMPONENTS, ["Kind", "Name", "Price", "Cost", "Length", "Outside diameter (mm)"],
            ["Grip", "Rear grip", "388,67", "388.6", "8 3/16 in", "28.5"],
            {
                "kind": "grip", "name": "Rear grip", "price_cents": 38867, "cost_cents": 38860,
                "dimensions": {"length": 207962500, "od": 28500000},
            },
        ),
        (
            STOCK, ["what", "item", "on shelf", "least"], ["Blank", "Reedline R7", "4", "0"],
            {"what": "blank", "item": "Reedline R7", "on_shelf": 4, "least": 0},
        ),
    ],
)  # fmt: skip
def test_a_line_that_is_in_order(
    kind: ImportKind, head: list[str], cells: list[str], values: dict[str, Any]
) -> None:
    assert read(kind, head, cells) == (values, [])


@pytest.mark.parametrize(
    ("kind", "head", "cells", "faults"),
    [
        (CUSTOMERS, ["Name", "E-mail"], ["", "ada"], [("Name", "missing"), ("E-mail", "“ada” is not an")]),
        (CUSTOMERS, ["name"], ["Ada\r\nThorn"], [("name", "several lines")]),
        (CUSTOMERS, ["name"], ["x" * 121], [("name", "121 characters; at most 120")]),
        (CUSTOMERS, ["name", ""], ["Ada", "stray"], [("column 2", "no heading")]),
        (CUSTOMERS, ["name"], ["Ada", "stray"], [("", "2 cells, and the first line names 1")]),
        (BLANKS, ["model", "length"], ["R7", "84"], [("length", "has no unit")]),
        (BLANKS, ["model", "length"], ["R7", "9 m"], [("length", "at most at 8 m")]),
        (BLANKS, ["model", "length", "joints"], ["R7", "7 ft", "42 in"], [("joints", "one piece has no")]),
        (BLANKS, ["model", "length", "joints"], ["R7", "7 ft", "42: 2 in"], [("joints", "has no unit")]),
        (BLANKS, ["model", "length", "joints"], ["R7", "7 ft", ": 2 in"], [("joints", "")]),
        (BLANKS, ["model", "length", "pieces"], ["R7", "7 ft", "9"], [("pieces", "from 1 to 8")]),
        (BLANKS, ["model", "length", "od at 9 ft"], ["R7", "7 ft", "3 mm"], [("od at 9 ft", "not lie on")]),
        (
            BLANKS, ["model", "length", "od at butt", "od at tip"], ["R7", "7 ft", "3 mm", "4 mm"],
            [("od at butt", "diameters confirmed")],
        ),
        (BLANKS, ["model", "length", "mass"], ["R7", "7 ft", "58.1234"], [("mass", "to the milligram")]),
        (BLANKS, ["model", "length", "test load"], ["R7", "7 ft", "1,000"], [("test load", "two ways")]),
        (BLANKS, ["model", "length", "Test sag"], ["R7", "7 ft", "9 in"], [("test load", "needs the")]),
        (COMPONENTS, ["kind", "name", "price"], ["grip", "G", "1.234,56"], [("price", "nothing between")]),
        (COMPONENTS, ["kind", "name", "price"], ["grip", "G", "1,234"], [("price", "is no amount")]),
        (COMPONENTS, ["kind", "name", "price"], ["grip", "G", "-5"], [("price", "is no amount")]),
        (COMPONENTS, ["kind", "name", "length"], ["grip", "G", "1,250 mm"], [("length", "two ways")]),
        (COMPONENTS, ["kind", "name"], ["gripp", "G"], [("kind", "must be one of")]),
        (COMPONENTS, ["kind", "name", "Bore"], ["grip", "G", "6 mm"], [("Bore", "has no “bore”")]),
        (COMPONENTS, ["kind", "name", "currency"], ["grip", "G", "eur"], [("currency", "three capital")]),
        (STOCK, ["what", "item", "on shelf"], ["rod", "R7", "1"], [("what", "Only blanks, components")]),
        (STOCK, ["what", "item", "on shelf"], ["blank", "R7", "1.5"], [("on shelf", "no whole number")]),
        (STOCK, ["what", "item", "on shelf"], ["blank", "R7", "٣"], [("on shelf", "no whole number")]),
        (STOCK, ["what", "item", "on shelf"], ["blank", "R7", "100001"], [("on shelf", "to 100,000")]),
    ],
)  # fmt: skip
def test_a_line_that_is_not(
    kind: ImportKind, head: list[str], cells: list[str], faults: list[tuple[str, str]]
) -> None:
    _, found = read(kind, head, cells)
    assert [column for column, _ in found] == [column for column, _ in faults]
    assert [says for (_, says), (_, part) in zip(found, faults, strict=True) if part not in says] == []


@pytest.mark.parametrize(
    ("kind", "head", "says"),
    [
        (CUSTOMERS, ["email"], "name must be among them"),
        (CUSTOMERS, ["name", "Name"], "two columns “Name”"),
        (CUSTOMERS, ["name", "mood"], "no column “mood”"),
        (BLANKS, ["model", "length (furlongs)"], "The unit of “length (furlongs)”"),
        (BLANKS, ["model", "length", "od at noon"], "does not say how far from the butt"),
        (BLANKS, ["model", "length", "od at 1 in", "OD at 25.4 mm"], "two columns"),
        (STOCK, ["x"] * 121, "at most 120 columns"),
    ],
)
def test_a_heading_that_cannot_be(kind: ImportKind, head: list[str], says: str) -> None:
    with pytest.raises(HeadFault) as fault:
        read_head(kind, head)
    assert says in str(fault.value)


def test_every_column_is_known_by_its_own_name() -> None:
    for kind, columns in COLUMNS.items():
        head = read_head(kind, [column.name.upper() for column in columns])
        assert [place.column for place in head.places if place] == list(columns)


def test_by_what_a_record_is_known() -> None:
    ada = {"name": "Ada", "email": "Ada@Thorn.example"}
    assert keys_of(CUSTOMERS, ada)[0] == keys_of(CUSTOMERS, {"name": "X", "email": "ada@thorn.example"})[0]
    assert keys_of(CUSTOMERS, ada)[1] == keys_of(CUSTOMERS, {"name": "ADA"})[0]
    r7 = {"maker": "Reedline", "model": "R7", "length_nm": 2000 * NM_PER_MM}
    assert keys_of(BLANKS, r7) != keys_of(BLANKS, r7 | {"length_nm": 2001 * NM_PER_MM})
