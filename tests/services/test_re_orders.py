"""The same again with a make-up: copied with what the shelf says today, and what has changed is told."""

from dataclasses import replace

import pytest
from sqlalchemy.orm import Session

from shop.craft.quantities import parse_quantity
from shop.db.make_ups import MakeUp as MakeUpRecord
from shop.queries.builds import build_view
from shop.queries.make_ups import latest_make_up
from shop.queries.re_orders import as_built, changes_between
from shop.services.components import change_component
from shop.services.events import Logged, advance, send_back
from shop.services.make_ups import save_make_up
from shop.services.re_orders import order_same_again
from tests.conftest import Hands
from tests.make_up_shop import NUMBER, SEAT, WHOLE, fill_for_make_ups
from tests.quote_shop import bench_of
from tests.spec_shop import UTC


@pytest.fixture
def number(session: Session, hands: Hands) -> str:
    fill_for_make_ups(session, hands.wall_at)
    save_make_up(session, NUMBER, bench_of(session, hands.wall_at), WHOLE, revision=0)
    return NUMBER


def test_the_newest_make_up_is_copied(session: Session, hands: Hands, number: str) -> None:
    made = order_same_again(session, number, bench_of(session, hands.wall_at), zone=UTC)
    before, after = (latest_make_up(session, build_view(session, n).id) for n in (number, "26-002"))
    assert before is not None
    assert after is not None
    assert replace(after.value, revision=before.revision) == before.value
    assert after.reason == f"As built on {number}."
    assert (made.changes, made.left_out) == ((), "")
    assert made.build.copied_from_id == build_view(session, number).id


def test_what_has_changed_on_the_shelf_is_told(session: Session, hands: Hands, number: str) -> None:
    change_component(session, SEAT, name="Casting seat, new hood", mass_mg=40_000)
    made = order_same_again(session, number, bench_of(session, hands.wall_at), zone=UTC)
    said = ("The reel seat: Casting seat, new hood instead of Casting seat.",)
    assert made.changes == said
    assert changes_between(session, build_view(session, number).id, made.build.id) == said


def test_a_part_that_no_component_is_named_for_leaves_the_make_up_out_and_says_so(
    session: Session, hands: Hands, number: str
) -> None:
    # A make-up of an earlier version may have parts that no component stands for.
    record = session.get_one(MakeUpRecord, 1)
    seat = {**record.document["parts"][1], "component_id": None}
    record.document = {**record.document, "parts": [record.document["parts"][0], seat]}
    session.flush()
    made = order_same_again(session, number, bench_of(session, hands.wall_at), zone=UTC)
    assert made.left_out == (
        f"The make-up of {number} was not copied: no component on file is named for the reel seat."
    )
    assert latest_make_up(session, made.build.id) is None


def test_as_built_takes_each_figure_from_the_last_pass_that_measured_it(
    session: Session, hands: Hands, number: str
) -> None:
    bench = bench_of(session, hands.wall_at)
    advance(session, number, bench, Logged("agreed"))
    measured = {"rear grip length": parse_quantity("9 7/16 in"), "note": parse_quantity("2 g")}
    advance(session, number, bench, Logged("fitted", measured=measured))
    send_back(session, number, bench, to="agreed", reason="too long")
    again = {"rear grip length": parse_quantity("9 13/32 in")}
    advance(session, number, bench, Logged("fitted", measured=again))
    built = as_built(session, build_view(session, number))
    assert built.measured == {**measured, **again}
    assert "rear grip length" in built.meant
