"""Masses in grams: kept to the milligram, refused rather than rounded, and written out again as they were."""

import pytest

from shop.rules.masses import MassError, grams_of, mg_of_grams


@pytest.mark.parametrize(("grams", "mg"), [(58, 58_000), (58.125, 58_125), (0.001, 1), (5e3, 5_000_000)])
def test_grams_are_kept_to_the_milligram(grams: float, mg: int) -> None:
    assert mg_of_grams(grams) == mg


@pytest.mark.parametrize("grams", [0.0001, 58.1255, 1e-7])
def test_a_finer_mass_is_refused_and_not_rounded(grams: float) -> None:
    with pytest.raises(MassError, match="at most 3 decimals"):
        mg_of_grams(grams)


@pytest.mark.parametrize("grams", ["58", "58.125", "0.001", "99999.999", "100000"])
def test_grams_are_written_as_they_were_typed(grams: str) -> None:
    assert grams_of(mg_of_grams(float(grams))) == grams
