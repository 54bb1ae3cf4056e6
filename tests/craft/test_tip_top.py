"""The size of a tip-top: exact 64ths, the half size above, a tube that fits or does not."""

from typing import Any

import pytest

from shop.craft.faults import SumFault
from shop.craft.fit.tip_top import tip_top_size
from shop.craft.lengths import parse_length
from shop.craft.sums.reading import read_inputs
from shop.craft.sums.tip_top import TIP_TOP_SIZE


@pytest.mark.parametrize(
    ("tip", "size"),
    [
        ("0.084 in", 5.5),  # worked by hand: 0.084 / 0.015625 = 5.376; with 0.015 it would be 5.6, so 6
        ("5/64 in", 5),  # exactly a size: no more room is asked for
        ("0.0782 in", 5.5),  # a hair over it
        ("0.0075 in", 0.5),
    ],
)
def test_the_half_size_that_goes_over_the_tip(tip: str, size: float) -> None:
    assert float(tip_top_size(parse_length(tip)).size) == size


def test_the_tube_of_a_size_is_exact() -> None:
    assert tip_top_size(parse_length("0.084 in")).tube_nm == parse_length("11/128 in")


def test_a_tip_of_nothing_has_no_size() -> None:
    with pytest.raises(SumFault) as fault:
        tip_top_size(0)
    assert list(fault.value.errors) == ["tip_od"]


@pytest.mark.parametrize(
    ("tube", "warning"),
    [("11/128 in", None), ("0.083 in", "does not go over"), ("6/64 in", "sit loose"), ("", None)],
)
def test_the_tube_at_hand_is_judged(tube: str, warning: Any) -> None:
    answer = TIP_TOP_SIZE.work(read_inputs(TIP_TOP_SIZE, {"tip_od": "0.084 in", "tube_bore": tube}))
    assert answer.value("size_64ths") == 5.5
    assert [warning in said for said in answer.warnings] == ([] if warning is None else [True])
