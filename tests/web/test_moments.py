"""The strip on In hand: what has come, that it goes when it was seen, and comes again when it moved."""

import re
from collections.abc import Callable
from datetime import datetime, time
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient
from sqlalchemy.orm import Session

from shop.db.mixes import Serving
from shop.rules.hours import Hours
from shop.rules.people import ROLE_RIGHTS, Actor, Role
from shop.services.bench import Bench
from shop.services.builds import take_on_build
from shop.services.hours import set_hours
from shop.services.mixes import make_mix
from shop.services.zones import change_zone
from shop.web.benches import BenchSide
from shop.web.deps import Hub
from tests.api.filled import CUSTOMER, SEQUENCE, ZONE
from tests.conftest import Hands
from tests.web.bench_shop import HTMX, open_bench

SignIn = Callable[[Role], TestClient]
SET, PUDDLE, POT = "set-1", "puddle-1", "pot-over-1"
LINE = re.compile(r'data-moment="([a-z-]+\d+)" data-at="([^"]+)"')


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    """One rod, whose rear grip was closed at nine with a cup that sets in ten hours at twenty degrees."""
    open_bench(hub, hands)
    client = signed_in(Role.HELPER)
    assert client.post("/cup", data={"adhesive_id": "1", "zone_id": "1"}).status_code == 303
    closed = client.post("/mixes/1/cures", data={"build": "26-001", "place": "rear grip"})
    assert closed.status_code == 303
    return client


def at_bench(hub: Hub, session: Session, hands: Hands) -> Bench:
    somebody = Actor("Nell", ROLE_RIGHTS[Role.HELPER], user_id=1, role=Role.HELPER)
    return BenchSide(hub, hands.wall_at).bench(session, somebody)


def strip_of(client: TestClient) -> str:
    page = client.get("/")
    assert page.status_code == 200
    return page.text.split('id="moments"')[1].split("</section>")[0]


def due(client: TestClient) -> list[str]:
    """The keys of what has come and is told, in order."""
    return [key for key, _ in LINE.findall(strip_of(client).split("<h3>Next</h3>")[0])]


def coming(client: TestClient) -> dict[str, datetime]:
    """What comes next, with its instants."""
    rest = strip_of(client).partition("<h3>Next</h3>")[2]
    return {key: datetime.fromisoformat(at) for key, at in LINE.findall(rest)}


def dated(client: TestClient, *keys: str) -> dict[str, list[str]]:
    """What a page posts for these moments: each key with the instant that the page has of it."""
    at = dict(LINE.findall(strip_of(client)))
    return {"key": [f"{key}@{at[key]}" for key in keys]}


def test_what_comes_is_listed_and_told_when_its_instant_has_come(bench: TestClient, hands: Hands) -> None:
    assert due(bench) == []
    assert "Nothing to see to" in strip_of(bench)
    ahead = coming(bench)
    assert set(ahead) == {SET, PUDDLE, "pot-ends-1", POT}
    instant = ahead[SET]
    hands.forward(seconds=(instant - hands.wall_at).total_seconds() - 1)
    assert SET not in due(bench)
    hands.forward(seconds=1)
    assert due(bench) == [PUDDLE, SET]
    page = strip_of(bench)
    assert "26-001 rear grip" in page
    assert "has set; the next joint may push on it" in page
    assert 'href="/builds/26-001#next"' in page
    assert "19:00" in page


def test_the_pot_life_is_called_before_it_ends(bench: TestClient, hands: Hands) -> None:
    hands.forward(minutes=24)
    assert due(bench) == []
    hands.forward(minutes=1)
    assert due(bench) == ["pot-ends-1"]
    assert "by 09:30" in strip_of(bench)
    hands.forward(minutes=5)
    assert due(bench) == [POT]


def test_a_cup_names_every_rod_that_is_not_closed_yet(bench: TestClient, hub: Hub, hands: Hands) -> None:
    """A cup for two rods, one of which is closed before the call."""
    with hub.database.writing(hands.wall_at) as session:
        take_on_build(
            session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="8 ft spinning",
            rod_kind="spinning", sequence_id=SEQUENCE,
        )  # fmt: skip
        serving = {"mix_id": 2, "place": "rear grip", "left_out_reason": ""}
        cup = make_mix(session, at_bench(hub, session, hands), adhesive_id=1, zone_id=1, mixed_at=None)
        assert cup.root_id == 2
        session.add_all([Serving(build_id=build_id, **serving) for build_id in (1, 2)])
    hands.forward(minutes=26)
    assert due(bench) == ["pot-ends-1", "pot-ends-2"]
    assert "26-001 rear grip, 26-002 rear grip" in strip_of(bench)
    bench.post("/mixes/2/cures", data={"build": "26-001", "place": "rear grip"})
    assert "26-001 rear grip, 26-002" not in strip_of(bench)
    assert "pot-ends-2" in due(bench)
    bench.post("/mixes/2/cures", data={"build": "26-002", "place": "rear grip"})
    assert "pot-ends-2" not in due(bench)
    assert "pot-over-2" not in coming(bench)


def test_seen_takes_it_off_and_goes_back_to_the_bench(bench: TestClient, hands: Hands) -> None:
    hands.forward(hours=10)
    answer = bench.post("/moments/seen", data=dated(bench, SET))
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert due(bench) == [PUDDLE]
    hands.forward(hours=1)
    assert due(bench) == [PUDDLE]


def test_with_htmx_the_way_back_is_followed_to_the_part_that_refreshes(
    bench: TestClient, hands: Hands
) -> None:
    hands.forward(hours=10)
    answer = bench.post("/moments/seen", data=dated(bench, SET, PUDDLE), headers=HTMX, follow_redirects=True)
    assert answer.status_code == 200
    assert answer.text.lstrip().startswith('<div id="in-hand"')
    assert "Nothing to see to" in answer.text


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({}, "No moment was named"),
        ({"key": "<b>soup"}, "“&lt;b&gt;soup” is no moment of this shop"),
        ({"key": SET}, "“set-1” is no moment of this shop"),
        ({"all": "soon"}, "“soon” is no instant"),
    ],
)
@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_what_is_no_moment_is_not_taken_down(
    bench: TestClient, hands: Hands, fields: dict[str, str], says: str, headers: dict[str, str]
) -> None:
    hands.forward(hours=10)
    answer = bench.post("/moments/seen", data=fields, headers=headers)
    assert answer.status_code == 422
    assert says in answer.text
    assert ("<html" in answer.text) == (headers == {})
    assert due(bench) == [PUDDLE, SET]


def test_only_who_works_at_the_bench_says_that_it_was_seen(bench: TestClient, hands: Hands) -> None:
    hands.forward(hours=10)
    fields = dated(bench, SET)
    other = bench.post("/moments/seen", data=fields, headers={"sec-fetch-site": "cross-site"})
    assert other.status_code == 403
    token = bench.cookies["tackfree"]
    bench.cookies.clear()
    assert bench.post("/moments/seen", data=fields).headers["location"].startswith("/sign-in")
    bench.cookies.set("tackfree", token)
    assert SET in due(bench)


def test_what_the_cold_moves_to_later_is_told_again(bench: TestClient, hub: Hub, hands: Hands) -> None:
    hands.forward(hours=10)
    bench.post("/moments/seen", data=dated(bench, SET))
    with hub.database.writing(hands.wall_at) as session:
        change_zone(session, ZONE, assumed_c=16.0)
    assert SET not in due(bench)
    instant = coming(bench)[SET]
    assert instant > hands.wall_at
    hands.forward(seconds=(instant - hands.wall_at).total_seconds())
    assert SET in due(bench)


def test_a_tacky_puddle_is_answered_on_the_strip_and_unsays_that_it_has_set(
    bench: TestClient, hands: Hands
) -> None:
    hands.forward(hours=10, minutes=1)
    assert 'action="/mixes/1/puddle"' in strip_of(bench)
    answer = bench.post("/mixes/1/puddle", data={"state": "tacky", "back": "in-hand"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert due(bench) == []
    assert set(coming(bench)) == {PUDDLE}


def test_a_moment_nobody_has_seen_is_told_for_twelve_hours_where_no_hours_are_known(
    bench: TestClient, hub: Hub, hands: Hands
) -> None:
    with hub.database.writing(hands.wall_at) as session:
        set_hours(session, Hours(), version=1)
    hands.forward(hours=22)
    assert SET in due(bench)
    hands.forward(minutes=1)
    assert due(bench) == []


def test_what_came_over_the_weekend_is_told_on_monday(bench: TestClient, hub: Hub, hands: Hands) -> None:
    """The rear grip was closed on a Monday at nine; the shop is open on Mondays alone."""
    with hub.database.writing(hands.wall_at) as session:
        set_hours(session, Hours(((time(8), time(17)), *(None,) * 6)), version=1)
    hands.forward(days=7, hours=-1)
    assert SET in due(bench)
    bench.post("/moments/seen", data=dated(bench, SET))
    assert SET not in due(bench)


def test_seen_on_a_page_from_before_it_moved_does_not_silence_it(
    bench: TestClient, hub: Hub, hands: Hands
) -> None:
    """The page says nineteen; the cold has moved it, and it has come again before somebody taps."""
    hands.forward(hours=10)
    fields = dated(bench, SET)
    with hub.database.writing(hands.wall_at) as session:
        change_zone(session, ZONE, assumed_c=18.0)
    instant = coming(bench)[SET]
    hands.forward(seconds=(instant - hands.wall_at).total_seconds())
    assert bench.post("/moments/seen", data=fields).status_code == 303
    assert SET in due(bench)
    bench.post("/moments/seen", data=dated(bench, SET))
    assert SET not in due(bench)
    # A tablet that has not loaded the page since takes nothing back.
    bench.post("/moments/seen", data=fields)
    assert SET not in due(bench)


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_what_is_not_told_is_passed_over_and_said_so(
    bench: TestClient, hub: Hub, hands: Hands, headers: dict[str, str]
) -> None:
    fields = dated(bench, SET)
    gone = {"key": f"set-900@{hands.wall_at.isoformat()}"}
    assert bench.post("/moments/seen", data=gone, headers=headers).status_code == 303
    # What the browser goes on to says so once: the page at its head, the part that refreshes in itself.
    said = bench.get("/", headers=headers).text
    assert said.count("is not told any more") == 1
    assert ('id="main"' in said) is (headers == {})
    assert "is not told any more" not in bench.get("/", headers=headers).text
    assert bench.post("/moments/seen", data=fields).status_code == 303
    assert marks(hub) == 0
    hands.forward(hours=10)
    assert SET in due(bench)


def marks(hub: Hub) -> int:
    with hub.database.engine.connect() as connection:
        found: int = connection.exec_driver_sql("SELECT count(*) FROM seen_moments").scalar_one()
    return found


def test_marks_of_long_ago_are_dropped(bench: TestClient, hub: Hub, hands: Hands) -> None:
    hands.forward(hours=10)
    bench.post("/moments/seen", data=dated(bench, SET))
    for span, left in (({"days": 28}, 1), ({"days": 1, "hours": 1}, 0)):
        hands.forward(**span)
        bench.post("/moments/seen", data={"all": hands.wall_at.isoformat()})
        assert marks(hub) == left


ALL = re.compile(r'name="all" value="([^"]+)"')


def test_a_crowd_is_told_by_rank_with_five_in_sight_and_seen_at_one_tap(
    bench: TestClient, hub: Hub, hands: Hands
) -> None:
    """Sixteen joints that have all set, and the puddle of their cup to be touched."""
    with hub.database.writing(hands.wall_at) as session:
        for _ in range(15):
            take_on_build(
                session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="8 ft spinning",
                rod_kind="spinning", sequence_id=SEQUENCE,
            )  # fmt: skip
    for number in range(2, 17):
        closed = {"build": f"26-{number:03}", "place": "rear grip"}
        assert bench.post("/mixes/1/cures", data=closed).status_code == 303
    hands.forward(hours=10, minutes=1)
    strip = strip_of(bench)
    shown, _, rest = strip.partition("<details")
    assert len(LINE.findall(shown)) == 5
    assert LINE.findall(shown)[0][0] == PUDDLE
    assert "and 12 more" in rest
    (instant,) = ALL.findall(strip)
    assert bench.post("/moments/seen", data={"all": instant}).status_code == 303
    assert due(bench) == []


def test_all_seen_leaves_what_came_after_the_page_was_made(bench: TestClient, hands: Hands) -> None:
    (instant,) = ALL.findall(strip_of(bench))
    hands.forward(hours=10)
    bench.post("/moments/seen", data={"all": instant})
    assert due(bench) == [PUDDLE, SET]


def test_full_cures_are_one_quiet_line(bench: TestClient, hands: Hands) -> None:
    hands.forward(hours=10, minutes=1)
    bench.post("/mixes/1/puddle", data={"state": "firm"})
    hands.forward(hours=14)
    strip = strip_of(bench)
    shown, _, folded = strip.partition('<details class="moments-more" id="moments-full">')
    assert "full-1" not in shown
    assert "Fully cured: 26-001 rear grip</summary>" in folded
    bench.post("/moments/seen", data=dated(bench, "full-1"))
    assert "Fully cured" not in strip_of(bench)


def test_links_and_buttons_of_the_bench_keep_their_ids_over_a_refresh(
    bench: TestClient, hands: Hands
) -> None:
    """htmx gives the focus back to what has the same id; without one it is lost every minute."""
    hands.forward(hours=10, minutes=1)
    page = bench.get("/", headers=HTMX).text
    tags = re.findall(r"<(?:a|button|summary)\b[^>]*>", page)
    ids = [
        re.search(r' id="([^"]+)"', tag) for tag in tags if "puddle" not in tag and 'name="state"' not in tag
    ]
    assert all(ids)
    names = [found[1] for found in ids if found]
    assert len(names) == len(set(names)) >= 5
