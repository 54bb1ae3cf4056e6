"""A build's parts as its page shows them: finished words for each part, and what may be done with it."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from shop.db.sessions import Session
from shop.queries.build_parts import BuildPartView, CostOfBuild, cost_of_build, parts_of_build
from shop.queries.builds import BuildView, build_view
from shop.queries.components import components_by_kind
from shop.rules.build_parts import HELD_UP, THREAD, is_by_hand, says_parts, too_many
from shop.rules.facts import PartFact
from shop.rules.people import Right
from shop.rules.purchases import here_by
from shop.web.benches import BenchSide
from shop.web.stock_page import many
from shop.web.templating import Frame
from shop.web.wording import amount, day, when


class PartLine(NamedTuple):
    """A part in the list: its state (`done`, `held`, `free`), what there is of it, what may be done.

    `is_held_up` is whether it is one to be held against the rod by itself, before it is on; `seen` goes back
    with its form.
    """

    id: int
    name: str
    group: str
    state: str
    word: str
    says: str
    where: str
    confirmed: str
    missing: int
    free: int
    set_aside: int
    too_many: int
    used: int
    is_counted: bool
    is_held_up: bool
    seen: str


class PartsInShort(NamedTuple):
    """The parts of a rod in one line for its own page: how it stands, and what is missing."""

    state: str
    says: str


def parts_context(page: Frame, session: Session, bench: BenchSide, number: str) -> dict[str, Any]:
    """Everything that the page of a build's parts needs but its form. Raises `NotOnFile`."""
    build = build_view(session, number)
    found = parts_of_build(session, build.id)
    today = bench.now.astimezone(page.zone).date()
    rights = {right: page.person is not None and page.person.may(right) for right in Right}
    is_open = build.closed_at is None
    return {
        "build": build,
        "parts": [part_line(part, today, bench.now, page.zone) for part in found],
        "missing": sum(part.missing for part in found),
        "may_bench": rights[Right.BENCH],
        "may_set_aside": rights[Right.BENCH] and is_open,
        "by_hand": _by_hand(session, build) if rights[Right.BENCH] and is_open else [],
        "is_repair": is_by_hand(build.rod_kind, ""),
        "cost": cost_words(cost_of_build(session, build.id)) if rights[Right.DESK] else "",
    }


def _by_hand(session: Session, build: BuildView) -> list[tuple[str, str]]:
    """The components that may be named by hand for a build, as options."""
    return [
        ("", "choose one"),
        *(
            (str(item.id), item.name if item.kind == THREAD else f"{item.name} ({item.kind})")
            for item in components_by_kind(session)
            if is_by_hand(build.rod_kind, item.kind)
        ),
    ]


def part_line(part: BuildPartView, today: date, now: datetime, zone: ZoneInfo) -> PartLine:
    """One part in finished words."""
    state, word = _state(part)
    confirmed = ""
    if part.confirmed_at is not None:
        confirmed = f"Held against the rod {when(part.confirmed_at, now, zone)}, {part.confirmed_by}"
    return PartLine(
        part.id, part.name, part.group, state, word, _says(part, today), part.bin or "", confirmed,
        part.missing, part.free or 0, part.set_aside, part.too_many, part.used, part.is_counted,
        part.group in HELD_UP and part.used < part.needed, part.seen,
    )  # fmt: skip


def _state(part: BuildPartView) -> tuple[str, str]:
    if part.too_many:
        return "held", f"{part.too_many} too many set aside"
    if part.missing:
        return "held", f"{part.missing} missing"
    if part.used >= part.needed > 0:
        return "done", "on the rod"
    if not part.is_counted:
        return "free", "not counted"
    return ("free", "set aside") if part.needed else ("held", "not on the make-up any more")


def _says(part: BuildPartView, today: date) -> str:
    """How many of it are where, and when the missing could be here."""
    said = [f"takes {part.needed}"]
    if part.set_aside:
        said.append(f"{part.set_aside} set aside")
    if part.used:
        said.append(f"{part.used} used")
    if part.missing:
        said.append(f"{part.free} free on the shelf" if part.free else "none free on the shelf")
    expected = here_by(today, part.lead_days)
    if part.missing > (part.free or 0) and expected is not None:
        said.append(f"here by {day(expected, today)} if ordered today")
    return "; ".join(said)


def cost_words(cost: CostOfBuild) -> str:
    """What the used parts cost, in words; empty where none has been used."""
    said = [amount(cents, currency) for currency, cents in cost.cents.items()]
    if cost.unknown:
        said.append(f"{many(cost.unknown, 'part')} without a cost on file")
    return ", ".join(said)


def parts_in_short(parts: Iterable[PartFact]) -> PartsInShort | None:
    """How a rod stands for parts; none where it takes none on file and has none."""
    known = list(parts)
    wanted = [part for part in known if part.needed]
    missing = says_parts((part.missing, part.name) for part in wanted if part.missing)
    beyond = [(too_many(part.needed, part.set_aside, part.used), part.name) for part in known]
    to_put_back = says_parts((count, name) for count, name in beyond if count)
    said = [f"Missing: {missing}."] if missing else []
    if to_put_back:
        said.append(f"Set aside, but not taken any more: {to_put_back}.")
    if said:
        return PartsInShort("held", " ".join(said))
    if not wanted:
        return None
    if all(part.used >= part.needed for part in wanted):
        return PartsInShort("done", "All its parts are on the rod.")
    if all(part.on_shelf is None for part in wanted):
        return PartsInShort("free", "None of its parts is counted.")
    return PartsInShort("free", "Every counted part is set aside or on the rod.")
