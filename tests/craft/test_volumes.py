"""Volumes of frusta, annuli, films, faces and fillets, beside figures from outside."""

from collections.abc import Callable
from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.faults import SumFault
from shop.craft.lengths import NM_PER_INCH, nm_of_mm
from shop.craft.volumes import (
    annulus_ml,
    fillet_ml,
    film_ml,
    need_figures,
    need_lengths,
    ring_face_ml,
)
from tests.craft.figures import figure, figures

CM = 10_000_000
MM = 1_000_000


def frustum_ml(start_nm: float, end_nm: float, length_nm: float) -> float:
    """A cone cut off, by its two diameters; an annulus is two of them: V = πh/12·(D₁² + D₁·D₂ + D₂²)."""
    return pi / 12 * length_nm * (start_nm**2 + start_nm * end_nm + end_nm**2) / CM**3


def test_frustum_of_a_published_worked_example() -> None:
    known = figure("frustum-volume-10-5-12")  # a cone-frustum page: 4π·175
    given_cm = known["inputs"]
    volume = frustum_ml(2 * given_cm["R_cm"] * CM, 2 * given_cm["r_cm"] * CM, given_cm["h_cm"] * CM)
    assert volume == pytest.approx(known["expected"]["volume_cm3"], abs=known["tolerance"]["value"])


def test_frustum_of_the_handbook() -> None:
    known = figure("frustum-volume-exact")  # MathWorld, “Conical Frustum”
    nm = [nm_of_mm(known["inputs"][name]) for name in ("D1_mm", "D2_mm", "L_mm")]
    assert frustum_ml(*nm) == pytest.approx(known["expected"]["volume_mm3"] / 1000, rel=1e-7)


@pytest.mark.parametrize("known", figures("glue-annulus-"), ids=lambda known: known["id"])
def test_annulus_is_the_difference_of_two_frusta(known: dict[str, dict[str, float]]) -> None:
    names = ("bore_start_mm", "bore_end_mm", "rod_start_mm", "rod_end_mm", "length_mm")
    nm = [nm_of_mm(known["inputs"][name]) for name in names]
    assert annulus_ml(*nm) == pytest.approx(known["expected"]["volume_mL"], rel=1e-7)


def test_a_cylinder_of_a_cubic_inch_is_that_many_millilitres() -> None:
    known = figure("unit-in3-mL")  # NIST SP 811: 2.54³ cm³
    volume = frustum_ml(NM_PER_INCH, NM_PER_INCH, NM_PER_INCH) / (pi / 4)
    assert volume == pytest.approx(known["expected"]["mL"], rel=1e-8)


@pytest.mark.parametrize(
    ("volume", "expected_ml"),
    [
        (frustum_ml(3 * CM, 0, 4 * CM), 3 * pi),  # a cone: π/4·9·4/3
        (frustum_ml(2 * CM, 2 * CM, 3 * CM), 3 * pi),  # a cylinder
        (film_ml(2 * CM, 5 * CM, MM), pi),  # π·2·5·0.1
        (film_ml(13_792_200, 228_600_000, 76_200), 0.75477),  # 0.543 × 9 in, 0.003 in: 0.75 mL
        (ring_face_ml(4 * CM, 2 * CM, MM), 0.3 * pi),  # π/4·12·0.1
        (fillet_ml(2 * CM, 2 * MM), 0.04 * pi),  # π·2·0.2²/2
        (annulus_ml(16_510_000, 16_510_000, 12_446_000, 12_446_000, 63_500_000), 5.8689),  # 5.87 mL
        (annulus_ml(CM, CM, CM, CM, CM), 0.0),  # touching all along
    ],
)
def test_shapes_worked_by_hand(volume: float, expected_ml: float) -> None:
    assert volume == pytest.approx(expected_ml, rel=2e-5, abs=1e-12)


SLOPES = st.integers(-3, 3)
STEPS = st.integers(1, 2_000)


@settings(max_examples=60)
@given(SLOPES, SLOPES, STEPS, STEPS, st.integers(1, 50_000))
def test_volumes_add_up_wherever_they_are_split(
    bore_slope: int, rod_slope: int, first: int, second: int, step_nm: int
) -> None:
    bore, rod = 12_700_000, 12_500_000
    whole, front, back = (first + second) * step_nm, first * step_nm, second * step_nm
    bores = [bore + bore_slope * steps for steps in (0, first, first + second)]
    rods = [rod + rod_slope * steps for steps in (0, first, first + second)]
    together = annulus_ml(bores[0], bores[2], rods[0], rods[2], whole)
    split = annulus_ml(bores[0], bores[1], rods[0], rods[1], front)
    split += annulus_ml(bores[1], bores[2], rods[1], rods[2], back)
    assert split == pytest.approx(together, rel=1e-12)
    solid = frustum_ml(bores[0], bores[1], front) + frustum_ml(bores[1], bores[2], back)
    assert solid == pytest.approx(frustum_ml(bores[0], bores[2], whole), rel=1e-12)
    assert together + frustum_ml(rods[0], rods[2], whole) == pytest.approx(
        frustum_ml(bores[0], bores[2], whole), rel=1e-12
    )


@settings(max_examples=60)
@given(st.integers(5_000_000, 40_000_000), st.integers(1, 20_000))
def test_a_film_is_the_thin_annulus_at_its_own_middle(od_nm: int, half_film_nm: int) -> None:
    bore_nm = od_nm + 4 * half_film_nm
    annulus = annulus_ml(bore_nm, bore_nm, od_nm, od_nm, CM)
    assert film_ml(od_nm + 2 * half_film_nm, CM, 2 * half_film_nm) == pytest.approx(annulus, rel=1e-9)


BAD_ANNULI = [
    ((10, 10, 11, 9, 5), "rod_start", "it does not go in"),
    ((10, 10, 9, 11, 5), "rod_end", "no room for glue"),
    ((0, 10, 9, 9, 5), "bore_start", "more than nothing"),
    ((10, -1, 9, 9, 5), "bore_end", "more than nothing"),
    ((10, 10, 0, 9, 5), "rod_start", "more than nothing"),
    ((10, 10, 9, 9, 0), "length", "more than nothing"),
]


@pytest.mark.parametrize(("mm", "field", "sentence"), BAD_ANNULI)
def test_refuses_an_annulus_that_cannot_be(mm: tuple[int, ...], field: str, sentence: str) -> None:
    with pytest.raises(SumFault) as fault:
        annulus_ml(*(value * MM for value in mm))
    assert list(fault.value.errors) == [field]
    assert sentence in fault.value.errors[field]


def test_both_ends_that_do_not_go_in_are_said_at_once() -> None:
    with pytest.raises(SumFault) as fault:
        annulus_ml(10 * MM, 10 * MM, 11 * MM, 12 * MM, 5 * MM)
    assert sorted(fault.value.errors) == ["rod_end", "rod_start"]


@pytest.mark.parametrize(
    ("shape", "sizes", "field"),
    [
        (film_ml, (CM, CM, 0), "film"),
        (ring_face_ml, (CM, CM, MM), "face_inner"),
        (ring_face_ml, (CM, 0, MM), "face_inner"),
        (fillet_ml, (CM, 0), "fillet_leg"),
    ],
)
def test_refuses_films_faces_and_fillets_that_cannot_be(
    shape: Callable[..., float], sizes: tuple[int, ...], field: str
) -> None:
    with pytest.raises(SumFault) as fault:
        shape(*sizes)
    assert list(fault.value.errors) == [field]


@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_refuses_figures_that_are_not_above_nothing(value: float) -> None:
    with pytest.raises(SumFault) as fault:
        need_figures(good=1.0, pot_life=value)
    assert list(fault.value.errors) == ["pot_life"]
    assert fault.value.errors["pot_life"].startswith("The pot life is ")


def test_names_every_length_that_is_not_above_nothing() -> None:
    with pytest.raises(SumFault) as fault:
        need_lengths(od=0, length=CM, film=-MM)
    assert sorted(fault.value.errors) == ["film", "od"]
