"""The drawing of bent rods: one scale for both axes, tips down, and strokes that words tell apart."""

import re
from dataclasses import replace
from itertools import pairwise

import pytest

from shop.craft.sums.base import Column, Figure, Kind, Outcome, Table
from shop.web.curves import LABEL_HEIGHT, LEFT, MOST_HEIGHT, WIDTH, draw_curves
from shop.web.templating import ENVIRONMENT

MM = 1_000_000
X, Y = Column("x", "Out", Kind.LENGTH), Column("y", "Down", Kind.LENGTH)
LOAD = Column("load", "Load", Kind.TEXT)
# Tips 100, 700 and 1500 mm below a clamp at the origin.
TIPS = {"light": (2000, 100), "middle": (1800, 700), "heavy": (1200, 1500)}


def bent() -> Outcome:
    rows = tuple(
        (name, round(out * MM * part / 4), round(down * MM * part**2 / 16))
        for name, (out, down) in TIPS.items()
        for part in range(5)
    )
    return Outcome((Figure("sag", "Sag", Kind.LENGTH, MM), Table("shape", "Shape", (LOAD, X, Y), rows)))


def points_of(d: str) -> list[tuple[float, float]]:
    numbers = [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", d)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def test_both_axes_have_one_scale_and_every_rod_starts_at_the_clamp() -> None:
    drawing = draw_curves(bent())
    assert drawing is not None
    clamp = points_of(drawing.paths[0].d)[0]
    assert clamp[0] == LEFT
    scales = []
    for path, (out, down) in zip(drawing.paths, TIPS.values(), strict=True):
        first, *_, last = points_of(path.d)
        assert first == clamp
        scales += [(last[0] - clamp[0]) / out, (last[1] - clamp[1]) / down]
    assert scales == pytest.approx([scales[0]] * 6, rel=0.01)
    assert drawing.width == WIDTH
    assert drawing.height <= MOST_HEIGHT + LABEL_HEIGHT


def test_nothing_is_drawn_outside_the_box() -> None:
    drawing = draw_curves(bent())
    assert drawing is not None
    for path in drawing.paths:
        for x, y in [*points_of(path.d), (path.x, path.y)]:
            assert 0 <= x <= drawing.width
            assert 0 <= y <= drawing.height


def test_each_load_has_a_stroke_of_its_own_and_says_its_tip_in_words() -> None:
    drawing = draw_curves(bent())
    assert drawing is not None
    assert len({path.pattern for path in drawing.paths}) == 3
    assert [(path.mark, path.label) for path in drawing.paths] == [(name, name) for name in TIPS]
    assert drawing.paths[2].says == (
        "the tip 59 1/16 in (1500 mm) below the clamp and 47 1/4 in (1200 mm) out from it"
    )
    assert "clamped at the left" in drawing.description
    for name, (_, down) in TIPS.items():
        assert re.search(rf"{name}: the tip [^(]+ \({down} mm\) below", drawing.description)


def test_a_rod_held_upward_is_drawn_upward_and_said_so() -> None:
    table = Table("t", "Held up", (X, Y), ((0, 0), (700 * MM, -700 * MM), (1500 * MM, -600 * MM)))
    drawing = draw_curves(Outcome((table,)))
    assert drawing is not None
    first, _, last = points_of(drawing.paths[0].d)
    assert last[1] < first[1]
    assert drawing.paths[0].says == (
        "the tip 23 5/8 in (600 mm) above the clamp and 59 1/16 in (1500 mm) out from it"
    )


def test_three_tables_are_three_loads_marked_by_their_names() -> None:
    tables = tuple(
        Table(name, f"{name.capitalize()} load: the bent blank", (X, Y), ((0, 0), (out * MM, down * MM)))
        for name, (out, down) in TIPS.items()
    )
    drawing = draw_curves(Outcome(tables))
    assert drawing is not None
    assert [(path.mark, path.label) for path in drawing.paths] == [
        ("light", "Light load"), ("middle", "Middle load"), ("heavy", "Heavy load"),
    ]  # fmt: skip


def test_a_long_name_gives_way_to_a_letter_and_marks_do_not_cover_each_other() -> None:
    tables = tuple(
        Table(f"load number {number}", f"Bent {number}", (X, Y), ((0, 0), (2000 * MM, 500 * MM + number)))
        for number in range(3)
    )
    drawing = draw_curves(Outcome(tables))
    assert drawing is not None
    assert [path.mark for path in drawing.paths] == ["A", "B", "C"]
    assert drawing.paths[1].label == "Bent 1"
    heights = sorted(path.y for path in drawing.paths)
    assert min(high - low for low, high in pairwise(heights)) >= LABEL_HEIGHT


def test_one_shape_alone_needs_no_mark() -> None:
    drawing = draw_curves(Outcome((Table("shape", "The bent blank", (X, Y), ((0, 0), (MM, MM))),)))
    assert drawing is not None
    assert [path.mark for path in drawing.paths] == [""]


@pytest.mark.parametrize(
    "table",
    [
        Table("t", "Only x", (X,), ((0,), (1,))),
        Table("t", "One point", (X, Y), ((0, 0),)),
        Table(
            "t", "No lengths", (replace(X, kind=Kind.NUMBER), replace(Y, kind=Kind.NUMBER)), ((0, 0), (1, 1))
        ),
    ],
    ids=lambda table: table.label,
)
def test_what_is_no_shape_is_not_drawn(table: Table) -> None:
    assert draw_curves(Outcome((table,))) is None


def test_a_straight_rod_is_drawn_along_the_level() -> None:
    drawing = draw_curves(Outcome((Table("t", "Straight", (X, Y), ((0, 0), (2000 * MM, 0))),)))
    assert drawing is not None
    (first, last) = points_of(drawing.paths[0].d)
    assert first[1] == last[1]


def test_the_template_says_each_rod_in_words_and_marks_it() -> None:
    macros = ENVIRONMENT.get_template("macros/curves.html").module
    html = macros.curves_figure(draw_curves(bent()))  # type: ignore[attr-defined]
    assert html.count('role="img"') == 1
    for name in TIPS:
        assert f">{name}</text>" in html
        assert f"{name}: the tip" in html.split("figcaption")[1]
