"""Parts of a build: following its make-up, setting aside and putting back, and holding one against the rod.

A verb locks the build first and the stock after it, so that of two people at once the second sees what the
first has left. What becomes of parts at their stage is in `shop.services.part_uses`.
"""

from datetime import datetime

from sqlalchemy.orm import Session

from shop.db.build_parts import BuildPart
from shop.db.builds import Build
from shop.queries.build_parts import (
    BuildPartView,
    groups_passed,
    own_use,
    part_of_build,
    part_records,
    parts_of_build,
)
from shop.queries.builds import build_record
from shop.queries.components import component_view
from shop.queries.make_ups import latest_make_up
from shop.queries.stocks import StockView, UnitCost, stock_of_code, stock_record, stock_records, stock_view
from shop.rules.build_parts import (
    MOST_OF_ONE,
    THREAD,
    InHand,
    fault_of_scan,
    is_by_hand,
    needs_of,
    says_parts,
)
from shop.rules.record import EventKind
from shop.rules.refusals import BadInput, Overtaken
from shop.rules.stock import MOST_REASON, MoveKind, fault_of_count
from shop.services.bench import Bench, Signer
from shop.services.events import add_event
from shop.services.part_uses import put_back_left
from shop.services.stock_moves import move_stock

NOT_COUNTED = "{name} is not counted, so none of it is set aside or put back."


def follow_make_up(session: Session, build: Build) -> None:
    """Bring a build's parts in line with its blank and its newest make-up.

    What was set aside or used stays counted, also of a part that the make-up has no more: a person says what
    becomes of that. What the make-up names anew after the stage that uses its group was reached is on the rod
    already. Parts named by hand stay as they are.
    """
    latest = latest_make_up(session, build.id)
    needs = needs_of(build.rod_kind, build.blank_id, None if latest is None else latest.value)
    wanted = {(need.group, need.blank_id, need.component_id): need.needed for need in needs}
    passed = groups_passed(session, build.stage_id)
    for record in part_records(session, build.id).values():
        if is_by_hand(build.rod_kind, record.part_group):
            continue
        key = (record.part_group, record.blank_id, record.component_id)
        _need(session, record, wanted.pop(key, 0), passed)
    for (group, blank_id, component_id), needed in wanted.items():
        record = _new_part(build, group, blank_id, component_id)
        session.add(record)
        _need(session, record, needed, passed)
    session.flush()


def _new_part(build: Build, group: str, blank_id: int | None, component_id: int | None) -> BuildPart:
    return BuildPart(
        build_id=build.id, part_group=group, blank_id=blank_id, component_id=component_id, needed=0,
        set_aside=0, used=0,
    )  # fmt: skip


def _need(session: Session, record: BuildPart, needed: int, passed: frozenset[str]) -> None:
    """Let a part be needed so many times; one that is not, and of which nothing was taken, goes."""
    added = max(0, needed - max(record.needed, record.set_aside + record.used))
    record.needed = needed
    if record.part_group in passed:
        record.used += added
    if not needed:
        record.confirmed_at, record.confirmed_by = None, ""
        if not record.set_aside and not record.used:
            session.delete(record)


def check_as_seen(session: Session, number: str, *, part_id: int, seen: str) -> None:
    """Check that a build has of a part what somebody saw: a second press of one button moves nothing more.

    The build is locked until the verb that follows has moved something. Raises `NotOnFile`, `Overtaken`.
    """
    part = part_of_build(session, build_record(session, number).id, part_id)
    if part.seen != seen:
        raise Overtaken(
            f"Something was done with {part.name} since this page was shown; look at what there is now."
        )


def name_part(session: Session, number: str, bench: Bench, *, component_id: int, count: int) -> None:
    """Say how many of a component a build takes, where its make-up does not: thread, and parts of a repair.

    Nothing of it any more with a count of 0. Raises `NotOnFile`, `BadInput`, `Overtaken` on a finished build.
    """
    build = _open_build(session, number)
    component = component_view(session, component_id)
    if not is_by_hand(build.rod_kind, component.kind):
        sentence = f"A {component.kind} goes on a rod by its make-up; only {THREAD} is named here."
        raise BadInput({"component_id": sentence})
    if not 0 <= count <= MOST_OF_ONE:
        raise BadInput({"count": f"A rod takes 0 to {MOST_OF_ONE} of one part."})
    records = part_records(session, build.id).values()
    record = next((part for part in records if part.component_id == component_id), None)
    if record is None:
        if not count:
            raise Overtaken(f"{component.name} is not on the list of {number}.")
        record = _new_part(build, component.kind, None, component_id)
        session.add(record)
    _need(session, record, count, groups_passed(session, build.stage_id))
    _note(session, build, bench, f"Named by hand: {says_parts([(count, component.name)])}.")


def _open_build(session: Session, number: str) -> Build:
    build = build_record(session, number)
    if build.closed_at is not None:
        raise Overtaken(f"{number} is finished, so nothing is set aside or taken for it any more.")
    return build


def _note(session: Session, build: Build, bench: Signer, said: str, at: datetime | None = None) -> None:
    add_event(session, build, bench, EventKind.PARTS, at or bench.now, "", said)
    session.flush()


def set_aside(session: Session, number: str, bench: Bench, *, part_id: int, count: int | None = None) -> int:
    """Set `count` of a part aside for a build, all that it misses where none is said; gives how many.

    Raises `NotOnFile`, `BadInput` for more than it takes, `Overtaken` where not so many are free, or where
    the build misses none.
    """
    build = _open_build(session, number)
    part = part_of_build(session, build.id, part_id)
    if part.stock_id is None:
        raise Overtaken(NOT_COUNTED.format(name=part.name))
    if not part.missing:
        raise Overtaken(f"{number} has all of {part.name} that it takes.")
    many = _within(count, part.missing, f"{number} takes only {part.missing} more of {part.name}.")
    stock = stock_record(session, part.stock_id)
    move_stock(session, bench, stock, MoveKind.SET_ASIDE, many, name=part.name, build_id=build.id)
    part_records(session, build.id)[part.id].set_aside += many
    _note(session, build, bench, f"Set aside: {says_parts([(many, part.name)])}.")
    return many


def _within(count: int | None, most: int, sentence: str) -> int:
    """The count that was said, or all there are. Raises `BadInput` with the sentence for more."""
    if count is None:
        return most
    fault = fault_of_count(count) or (sentence if count > most else "")
    if fault:
        raise BadInput({"count": fault})
    return count


def set_aside_all_that_is_there(session: Session, number: str, bench: Bench) -> list[tuple[int, str]]:
    """Set aside whatever a build misses and the shelf has free; gives counts and names.

    Raises `NotOnFile`, or `Overtaken` where it misses nothing, or where nothing of that is there.
    """
    build = _open_build(session, number)
    lacking = [part for part in parts_of_build(session, build.id) if part.missing]
    if not lacking:
        raise Overtaken(f"{number} has every counted part that it takes.")
    records = part_records(session, build.id)
    stocks = stock_records(session, [part.stock_id for part in lacking if part.stock_id is not None])
    taken = []
    for part in lacking:
        assert part.stock_id is not None
        stock = stocks[part.stock_id]
        many = min(part.missing, stock.on_shelf - stock.set_aside)
        if many > 0:
            move_stock(session, bench, stock, MoveKind.SET_ASIDE, many, name=part.name, build_id=build.id)
            records[part.id].set_aside += many
            taken.append((many, part.name))
    if not taken:
        names = says_parts((part.missing, part.name) for part in lacking)
        raise Overtaken(f"Nothing that {number} misses is free on the shelf: {names}.")
    _note(session, build, bench, f"Set aside: {says_parts(taken)}.")
    return taken


def put_back(session: Session, number: str, bench: Bench, *, part_id: int, count: int | None = None) -> int:
    """Put `count` of what is set aside back on the shelf, all of it where none is said; gives how many.

    Raises `NotOnFile`, `BadInput` for more than is set aside, `Overtaken` where nothing is.
    """
    build = build_record(session, number)
    part = part_of_build(session, build.id, part_id)
    if part.stock_id is None or not part.set_aside:
        raise Overtaken(f"No {part.name} is set aside for {number}.")
    many = _within(count, part.set_aside, f"Only {part.set_aside} × {part.name} are set aside for {number}.")
    stock = stock_record(session, part.stock_id)
    move_stock(session, bench, stock, MoveKind.PUT_BACK, many, name=part.name, build_id=build.id)
    record = part_records(session, build.id)[part.id]
    record.set_aside -= many
    _need(session, record, record.needed, frozenset())
    _note(session, build, bench, f"Put back: {says_parts([(many, part.name)])}.")
    return many


def put_back_all(session: Session, build: Build, bench: Signer) -> None:
    """Put back all that is set aside for a build, as when its order is cancelled."""
    if said := put_back_left(session, build, bench, bench.now):
        _note(session, build, bench, said)


def came_off(session: Session, number: str, bench: Bench, *, part_id: int, count: int = 1) -> None:
    """Say that used parts came off the rod whole and lie on the shelf again; the rod misses them then.

    What they cost is taken off the cost of the build. Raises `NotOnFile`, `BadInput` for more than were used,
    `Overtaken` where nobody counts the part.
    """
    build = build_record(session, number)
    part = part_of_build(session, build.id, part_id)
    if part.stock_id is None:
        raise Overtaken(NOT_COUNTED.format(name=part.name))
    _take_off(session, build, part, count)
    own = own_use(session, build.id, part.stock_id)
    from_count = min(count, own.used)
    stock = stock_record(session, part.stock_id)
    if from_count:
        move_stock(
            session, bench, stock, MoveKind.CAME_OFF, from_count, name=part.name, build_id=build.id,
            cost=UnitCost(own.unit_cost_cents, own.currency),
        )  # fmt: skip
    if count > from_count:
        # It never was on the count, so it is no saving for this build either.
        note = f"Came off {number}, which had it from elsewhere."
        move_stock(session, bench, stock, MoveKind.CAME_OFF, count - from_count, name=part.name, note=note)
    _note(session, build, bench, f"Came off whole, back on the shelf: {says_parts([(count, part.name)])}.")


def take_another(
    session: Session, number: str, bench: Bench, *, part_id: int, count: int = 1, reason: str = ""
) -> None:
    """Say that used parts are spoilt and the rod takes others in their place; the spoilt ones stay its cost.

    Raises `NotOnFile`, or `BadInput` for more than were used or a reason that is too long.
    """
    build = _open_build(session, number)
    part = part_of_build(session, build.id, part_id)
    if len(reason) > MOST_REASON:
        raise BadInput({"reason": f"The reason has at most {MOST_REASON} characters."})
    _take_off(session, build, part, count)
    why = f" {reason.strip()}" if reason.strip() else ""
    _note(session, build, bench, f"Spoilt, to be taken anew: {says_parts([(count, part.name)])}.{why}")


def _take_off(session: Session, build: Build, part: BuildPartView, count: int) -> None:
    """Count so many of a part as not on the rod any more. Raises `BadInput`, `Overtaken`."""
    if not part.used:
        raise Overtaken(f"No {part.name} is on this rod by the count.")
    many = _within(count, part.used, f"Only {part.used} × {part.name} are on this rod by the count.")
    record = part_records(session, build.id)[part.id]
    record.used -= many
    record.confirmed_at, record.confirmed_by = None, ""
    _need(session, record, record.needed, frozenset())


def confirm_part(
    session: Session, number: str, bench: Bench, *, code: str = "", stock_id: int | None = None,
    part_id: int | None = None,
) -> str:  # fmt: skip
    """Hold the part in hand against the rod: by its code as scanned, as a counted item, or from its list.

    Gives the part's name. Whoever was first to confirm it stays noted. Raises `BadInput`, by the field that
    was said, for a code that nobody knows and for a part that is not one of this rod's, naming both;
    `NotOnFile`; `Overtaken` on a finished build.
    """
    build = _open_build(session, number)
    parts = [part for part in parts_of_build(session, build.id) if part.needed]
    if part_id is None:
        in_hand = _in_hand(session, code.strip(), stock_id)
        if fault := fault_of_scan(in_hand, (_as_held(part) for part in parts)):
            raise BadInput({"code" if stock_id is None else "stock_id": fault})
        part = next(part for part in parts if _as_held(part)[:2] == in_hand[:2])
    else:
        part = part_of_build(session, build.id, part_id)
    if part.confirmed_at is None:
        record = part_records(session, build.id)[part.id]
        record.confirmed_at, record.confirmed_by = bench.now, bench.name("")
        _note(session, build, bench, f"Held against the rod, and it is the right one: {part.name}.")
    return part.name


def _as_held(part: BuildPartView) -> InHand:
    return InHand(part.group, part.blank_id or part.component_id or 0, part.name)


def _in_hand(session: Session, code: str, stock_id: int | None) -> InHand:
    """What somebody holds. Raises `BadInput` for no code and one that nobody knows, `NotOnFile`."""
    item: StockView | None
    if stock_id is not None:
        item = stock_view(session, stock_id)
    elif not code:
        raise BadInput({"code": "Scan the part, or type its code."})
    else:
        # Whoever types a code on a telephone types it small.
        item = stock_of_code(session, code) or stock_of_code(session, code.upper())
    if item is None:
        raise BadInput({"code": f"Nothing on the shelf has the code “{code}”."})
    if item.adhesive_id is not None:
        field = "code" if stock_id is None else "stock_id"
        raise BadInput({field: f"In hand is “{item.name}”: an adhesive is said on the Cup, not here."})
    return InHand(item.kind, item.blank_id or item.component_id or 0, item.name)
