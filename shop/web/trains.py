"""A whole train of guides put into the form of a make-up, so that nobody types nine distances.

The spacing is `shop.craft.guides.spacing`; nothing is kept until the make-up itself is.
"""

from fractions import Fraction

from shop.craft.faults import SumFault
from shop.craft.guides.spacing import Search, Train, clear_train, train
from shop.craft.lengths import NM_PER_64TH, NM_PER_INCH, half_away, typable
from shop.rules.make_up import Bare
from shop.rules.refusals import BadInput
from shop.web.deps import Posted
from shop.web.forms import Fields
from shop.web.make_up_form import typed_guides

MOST_GUIDES = 30
# First gaps that are tried where a joint is in the way: an inch to either side, by sixteenths.
RANGE_NM, STEP_NM = NM_PER_INCH, NM_PER_INCH // 16
FIELD_OF = {"count": "train_count", "first": "train_first", "last": "train_last", "clear": "train_clear"}


def filled_train(blank: Bare | None, posted: Posted) -> Posted:
    """The form with its guides at the distances of a train; the guides chosen before keep their order.

    Raises `BadInput` beside the fields of the train.
    """
    fields = Fields(posted)
    count = fields.whole("train_count", "The number of guides", 1, MOST_GUIDES)
    first = fields.length_nm("train_first")
    last = fields.length_nm("train_last")
    clear = fields.length_nm("train_clear")
    fields.required("train_count", "The number of guides", count)
    fields.required("train_first", "The distance of the first guide", first)
    fields.required("train_last", "The distance of the last guide", last)
    if clear is not None and clear < 0:
        fields.errors["train_clear"] = "The room to keep at a joint cannot be less than nothing."
    fields.done()
    assert count is not None
    assert first is not None
    assert last is not None
    try:
        laid = _laid(blank, count, first, last, clear)
    except SumFault as fault:
        raise BadInput({FIELD_OF.get(name, ""): words for name, words in fault.errors.items()}) from fault
    rows = typed_guides(posted)
    tip_tops = [row for row in rows if row.from_tip.startswith("0 ")]
    chosen = [row.component for row in rows if row not in tip_tops]
    components = [chosen[place] if place < len(chosen) else "" for place in range(count)]
    columns = {
        "guide_from_tip": [row.from_tip for row in tip_tops] + _rounded(laid),
        "guide_component": [row.component for row in tip_tops] + components,
    }
    return posted.with_rows("guide_", columns)


def _laid(blank: Bare | None, count: int, first: int, last: int, clear: int | None) -> Train:
    joints = () if blank is None else tuple(blank.length_nm - at for at, _insertion in blank.joints)
    if clear is None or not joints:
        return train(count, first, last)
    return clear_train(count, first, last, joints, Search(clear, RANGE_NM, STEP_NM))


def _rounded(laid: Train) -> list[str]:
    """To the nearest 1/64 in, far finer than guides are placed; the last stays exactly where it was put."""
    inner = [half_away(Fraction(at, NM_PER_64TH)) * NM_PER_64TH for at in laid.from_tip_nm[:-1]]
    return [typable(at) for at in (*inner, laid.from_tip_nm[-1])]
