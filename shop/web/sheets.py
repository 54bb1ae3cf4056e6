"""Says of an adhesive, wherever it is shown, that its figures are not from its data sheet."""

from shop.queries.adhesives import AdhesiveView
from shop.rules.ready_made_sheets import MARK


def sheet_mark(item: AdhesiveView) -> str:
    """`not from your data sheet` until somebody confirmed the figures of a ready-made class, else empty."""
    return "" if item.confirmed else MARK


def marked(label: str, item: AdhesiveView) -> str:
    """A label of an adhesive, such as a choice on the Cup, with the mark behind it where it needs one."""
    mark = sheet_mark(item)
    return f"{label}, {mark}" if mark else label
