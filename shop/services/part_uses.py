"""What becomes of a build's parts as it goes on: used at their stage, put back when nothing needs them.

These write moves and counts and give back a sentence for the record, to which their caller adds it, since
`shop.services.events` is one of those. What people do with parts by hand is in `shop.services.build_parts`.
"""

from collections.abc import Collection
from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.queries.build_parts import BuildPartView, own_use, part_records, parts_of_build
from shop.queries.stocks import StockView, stock_records, stock_view, unit_costs
from shop.rules.build_parts import says_parts
from shop.rules.stock import MoveKind
from shop.services.bench import Signer
from shop.services.stock_moves import move_stock

Said = list[tuple[int, str]]


def use_parts(session: Session, build: Build, signer: Signer, uses: Collection[str], at: datetime) -> str:
    """Use up the parts of the groups that a stage uses; gives what happened as a sentence, empty for nothing.

    What was set aside is used, at its cost now. What was not set aside came from elsewhere, since it is on
    the rod: nothing is taken from the shelf for it, and nobody buys it any more.
    """
    if not uses:
        return ""
    records = part_records(session, build.id)
    going = [part for part in parts_of_build(session, build.id) if part.group in uses]
    items = _items(session, going)
    costs = unit_costs(session, items.values())
    stocks = stock_records(session, items)
    used: Said = []
    elsewhere: Said = []
    for part in going:
        open_need = max(0, part.needed - part.used)
        taken = min(part.set_aside, open_need)
        if part.stock_id is not None and taken:
            move_stock(
                session, signer, stocks[part.stock_id], MoveKind.USED, taken, name=part.name, at=at,
                cost=costs[part.stock_id], build_id=build.id,
            )  # fmt: skip
            used.append((taken, part.name))
        if part.stock_id is not None and open_need > taken:
            elsewhere.append((open_need - taken, part.name))
        records[part.id].set_aside -= taken
        records[part.id].used += open_need
    session.flush()
    said = [f"Used: {says_parts(used)}."] if used else []
    if elsewhere:
        said.append(f"Not set aside before, so not taken off the count: {says_parts(elsewhere)}.")
    return " ".join(said)


def _items(session: Session, parts: list[BuildPartView]) -> dict[int, StockView]:
    ids = sorted({part.stock_id for part in parts if part.stock_id is not None})
    return {stock_id: stock_view(session, stock_id) for stock_id in ids}


def put_back_left(session: Session, build: Build, signer: Signer, at: datetime) -> str:
    """Put back all that is still set aside for a build; gives that as a sentence, empty for nothing."""
    records = part_records(session, build.id)
    left = [part for part in parts_of_build(session, build.id) if part.set_aside]
    stocks = stock_records(session, [part.stock_id for part in left if part.stock_id is not None])
    for part in left:
        if part.stock_id is not None:
            move_stock(
                session, signer, stocks[part.stock_id], MoveKind.PUT_BACK, part.set_aside, name=part.name,
                at=at, build_id=build.id,
            )  # fmt: skip
        records[part.id].set_aside = 0
    session.flush()
    return f"Put back: {says_parts((part.set_aside, part.name) for part in left)}." if left else ""


def parts_that_stay(session: Session, build: Build, groups: Collection[str]) -> str:
    """What was used of some groups, as a sentence for when its stage no longer stands; empty for nothing.

    Nothing comes back by itself: a grip that was glued may have come off whole or in crumbs. Only what a new
    make-up named while the stage stood was never on the rod, where the part it replaces is.
    """
    _forget_replacements(session, build, groups)
    used = [
        (part.used, part.name)
        for part in parts_of_build(session, build.id)
        if part.group in groups and part.used and part.is_counted
    ]
    if not used:
        return ""
    return (
        f"Still counted as used: {says_parts(used)}. Say at the rod's parts what came off whole and what has "
        "to be taken anew."
    )


def _forget_replacements(session: Session, build: Build, groups: Collection[str]) -> None:
    """Count as used no more of a group than the rod takes of it, as far as no move says that it was.

    A make-up that is changed after the stage counts its new parts as on the rod (`follow_make_up`). When the
    rod goes back before that stage, they are still to be got, set aside and put on.
    """
    records = part_records(session, build.id)
    parts = [part for part in parts_of_build(session, build.id) if part.group in groups]
    beyond = dict.fromkeys(groups, 0)
    for part in parts:
        beyond[part.group] += part.used - part.needed
    for part in reversed(parts):
        taken = 0 if part.stock_id is None else own_use(session, build.id, part.stock_id).used
        many = min(max(0, part.used - taken), beyond[part.group]) if part.needed else 0
        if many > 0:
            records[part.id].used -= many
            beyond[part.group] -= many
    session.flush()
