"""The demo shop: what a stranger sees in it, that it is the same each time, and what it refuses."""

import re
import shutil
from pathlib import Path

import pytest

from seed_demo import OWNER, fill
from shop.app import open_hub
from shop.clock import Clock
from shop.queries.bench import BenchView
from shop.queries.blanks import blanks_after
from shop.queries.builds import build_view, builds_after, open_builds
from shop.queries.components import components_by_kind
from shop.queries.lots import builds_of_lot, lots_of_build, lots_on_file
from shop.queries.messages import messages_of_build
from shop.queries.promises import moved_promises
from shop.queries.shop import read_shop
from shop.rules.refusals import Overtaken
from shop.web.benches import BenchSide
from shop.web.deps import Hub
from shop.web.lot_page import state_of
from tests.conftest import Hands, quick_settings


@pytest.fixture
def bench(hub: Hub, hands: Hands) -> BenchView:
    fill(hub, hands.wall_at)
    with hub.database.reading() as session:
        return BenchSide(hub, hands.wall_at).view(session)


def reasons(bench: BenchView) -> str:
    """Every reason why a rod of the demo is held, in one text."""
    return "\n".join(hold.reason for row in bench.held for hold in row.decision.holds)


def test_there_is_something_of_everything(bench: BenchView, hub: Hub, hands: Hands) -> None:
    rows = [*bench.free, *bench.curing, *bench.held]
    assert {row.build.rod_kind for row in rows} == {"casting", "spinning", "fly", "surf", "boat", "repair"}
    assert len(bench.free) >= 4
    assert len(bench.curing) >= 2
    assert "Stalled: too cold" in reasons(bench)
    assert "recoat window of the Stillwater wrap finish at the guide wraps has shut" in reasons(bench)
    overdue = [row for row in rows if row.build.promised_on and row.build.promised_on < hands.wall_at.date()]
    assert overdue
    with hub.database.reading() as session:
        assert 14 <= len(builds_after(session, 0, 100)) <= 30
        assert len(open_builds(session)) == len(rows)


def test_a_promise_has_moved_and_a_customer_waits_for_an_answer(bench: BenchView, hub: Hub) -> None:
    assert bench.free
    with hub.database.reading() as session:
        (moved,) = moved_promises(session)
        shop = read_shop(session)
        build = build_view(session, moved.number)
        messages = messages_of_build(session, build.id, 10)
    assert (moved.promised_on, bool(moved.reason)) == (build.promised_on, True)
    assert (shop.unread_count, bool(shop.care_sheet)) == (1, True)
    assert [message.from_customer for message in messages] == [True, False, True]


def test_its_blanks_say_where_they_join_and_what_they_bear(bench: BenchView, hub: Hub) -> None:
    assert bench.free
    with hub.database.reading() as session:
        blanks = blanks_after(session, 0, 100)
    assert max(blank.pieces for blank in blanks) > 1
    for blank in blanks:
        assert len(blank.joints) == blank.pieces - 1
        assert None not in (blank.wall_butt_nm, blank.wall_tip_nm, blank.test_load_mg, blank.most_load_mg)


def test_its_shelf_has_the_parts_of_a_whole_rod_weighed_and_measured(bench: BenchView, hub: Hub) -> None:
    assert bench.free
    with hub.database.reading() as session:
        parts = components_by_kind(session)
    kinds = {"grip", "reel seat", "arbor", "winding check", "butt cap", "guide", "tip-top", "thread"}
    assert kinds <= {part.kind for part in parts}
    assert all(part.mass_mg and part.material and part.dimensions for part in parts)
    guides = [part for part in parts if part.kind == "guide"]
    assert len({guide.dimensions["ring_od"] for guide in guides}) == 5
    assert {guide.feet for guide in guides} == {1, 2}
    # A shoulder has to go into the hood of the seat, and a grip is bored before it is reamed.
    seat = next(part for part in parts if part.name.startswith("Casting seat"))
    rear = next(part for part in parts if part.name.startswith("Cork rear grip"))
    assert rear.dimensions["shoulder_od"] < seat.dimensions["hood_bore"]
    assert rear.dimensions["shoulder_length"] < seat.dimensions["hood_depth"]
    assert rear.dimensions["bore_tip_end"] < seat.dimensions["bore"]


def test_its_rods_are_mixed_from_lots_and_its_shelf_has_lots_of_every_state(
    bench: BenchView, hub: Hub, hands: Hands
) -> None:
    assert bench.free
    today = hands.wall_at.date()
    with hub.database.reading() as session:
        lots = lots_on_file(session, today)
        unnamed = [lots_of_build(session, build.id).unnamed for build in builds_after(session, 0, 100)]
        used = {lot.number for lot in lots if builds_of_lot(session, lot.id)}
    states = {state_of(lot, today) for lot in lots}
    assert states == {"in date", "running out", "out of date", "quarantined", "used up"}
    assert not any(unnamed)
    assert used == {"R-2207", "H-1184", "S-4410", "S-4411", "Q-0931"}
    assert all(lot.left_ml for lot in lots)
    assert "out of date" not in reasons(bench)


def test_it_is_the_same_each_time_for_the_same_moment(hands: Hands, migrated: Path, tmp_path: Path) -> None:
    seen = []
    for name in ("one", "two"):
        shutil.copytree(migrated, tmp_path / name)
        hub = open_hub(quick_settings(tmp_path / name), Clock(hands.wall, hands.steady))
        fill(hub, hands.wall_at)
        with hub.database.reading() as session:
            view = BenchSide(hub, hands.wall_at).view(session)
        seen.append([(row.build.number, row.decision.ready_at) for row in (*view.free, *view.curing)])
        hub.database.close()
    assert seen[0] == seen[1]


def test_it_refuses_a_database_that_is_not_empty(bench: BenchView, hub: Hub, hands: Hands) -> None:
    assert bench.free
    with pytest.raises(Overtaken, match="empty database only"):
        fill(hub, hands.wall_at)


def test_it_gives_a_way_in(hub: Hub, hands: Hands) -> None:
    demo = fill(hub, hands.wall_at)
    assert demo.owner_name == OWNER
    assert len(demo.owner_password) >= 10
    assert re.fullmatch(r"/rod/[\w-]{43}", demo.status_url_path)
