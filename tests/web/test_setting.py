"""Setting: what is soft on open builds, in which order, and what is said of what time alone does not free."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import NamedTuple

import pytest
from fastapi.testclient import TestClient

from shop.db.adhesives import Adhesive
from shop.rules.people import Role
from shop.services.adhesives import add_adhesive
from shop.services.zones import add_reading, add_zone
from shop.web.deps import Hub
from tests.api.filled import BOND, FINISH, ZONE
from tests.conftest import Hands
from tests.queries.test_plans import asked
from tests.web.bench_shop import HTMX, open_bench

SignIn = Callable[[Role], TestClient]
# Below the 13 °C at which an epoxy whose sheet is silent is taken to stop.
COLD_C = 5.0


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    open_bench(hub, hands)
    return signed_in(Role.OWNER)


def close(bench: TestClient, place: str, mix: int, adhesive: int = BOND, zone: int = ZONE) -> None:
    """Mix a cup, which is the `mix`th of the shop, and close a place of the one rod with it."""
    cup = {"adhesive_id": f"{adhesive}", "zone_id": f"{zone}", "release_warm": "It is to stall."}
    assert bench.post("/cup", data=cup).status_code == 303
    closed = bench.post(f"/mixes/{mix}/cures", data={"build": "26-001", "place": place})
    assert closed.status_code == 303


class Row(NamedTuple):
    """A row of the ruler: whose joint it is, the word for it, its window and its times."""

    place: str
    word: str
    window: str
    times: str


def rows_of(page: str) -> list[Row]:
    rows = []
    for item in re.findall(r'<li class="ruler-row"><div class="ruler-words">(.*?)</div>', page, re.S):
        place = re.search(r'href="/builds/26-001">26-001</a> <a [^>]*href="/cures/\d+">([^<]+)</a>', item)
        word = re.search(r"<b>([^<]+)</b>", item)
        said = [re.search(rf'class="ruler-{part}">([^<]*)<', item) for part in ("window", "times")]
        assert place is not None
        assert word is not None
        assert said[1] is not None
        rows.append(Row(place[1], word[1], said[0][1] if said[0] else "", said[1][1]))
    return rows


def concerns_of(page: str) -> list[str]:
    """The headings over the rows, in order."""
    return re.findall(r'<h2 id="h-(?:shuts|no_time|waits)">([^<]+)</h2>', page)


def test_an_empty_bench_says_so(bench: TestClient) -> None:
    page = bench.get("/setting")
    assert page.status_code == 200
    assert "Nothing is soft" in page.text
    assert rows_of(page.text) == []


def test_a_window_that_shuts_comes_first_then_the_next_instant(bench: TestClient, hands: Hands) -> None:
    close(bench, "rear grip", 1)
    hands.forward(hours=1)
    close(bench, "reel seat", 2)
    close(bench, "guide wraps", 3, adhesive=FINISH)
    page = bench.get("/setting").text
    assert rows_of(page) == [
        # A coat: set after 5 h, to be coated again from 6 h to 20 h, hard after 24 h.
        Row(
            "guide wraps", "setting",
            "recoat 16:00 to Tue 3 Mar 06:00; the shop is closed then, coat by 17:00",
            "sets 15:00 · full Tue 3 Mar 10:00 · Stillwater",
        ),
        Row("rear grip", "setting", "", "sets 19:00 · full Tue 3 Mar 09:00 · Riverbed"),
        Row("reel seat", "setting", "", "sets 20:00 · full Tue 3 Mar 10:00 · Riverbed"),
    ]  # fmt: skip
    assert concerns_of(page) == ["A recoat window shuts", "By what comes next"]


BY_FIVE = "the shop is closed then, coat by 17:00"


@pytest.mark.parametrize(
    ("after", "window"),
    [
        (timedelta(hours=6, minutes=-1), "recoat 15:00 to Tue 3 Mar 05:00; " + BY_FIVE),
        (timedelta(hours=6), "recoat open until Tue 3 Mar 05:00; " + BY_FIVE),
        (timedelta(hours=8, minutes=-1), "recoat open until Tue 3 Mar 05:00; " + BY_FIVE),
        (timedelta(hours=8), "recoat open until Tue 3 Mar 05:00; nobody is here before then"),
        (timedelta(hours=20), "recoat open until 05:00; nobody is here before then"),
        (timedelta(hours=20, minutes=1), "recoat shut 05:00: wash, scuff and wipe first"),
    ],
)  # fmt: skip
def test_what_is_said_of_a_window_to_the_minute(
    bench: TestClient, hands: Hands, after: timedelta, window: str
) -> None:
    close(bench, "guide wraps", 1, adhesive=FINISH)
    hands.forward(seconds=after.total_seconds())
    page = bench.get("/setting").text
    assert [row.window for row in rows_of(page)] == [window]
    assert concerns_of(page) == ["By what comes next" if "shut 05" in window else "A recoat window shuts"]


def test_a_coat_under_another_waits_for_none(bench: TestClient, hands: Hands) -> None:
    close(bench, "guide wraps", 1, adhesive=FINISH)
    hands.forward(hours=7)
    close(bench, "guide wraps", 2, adhesive=FINISH)
    over, under = rows_of(bench.get("/setting").text)
    assert over.window.startswith("recoat 22:00 to")
    assert (under.window, under.times) == (
        "",
        "set 14:00 · full Tue 3 Mar 09:00 · recoat 15:00 to Tue 3 Mar 05:00, no coat to come · Stillwater",
    )


@pytest.mark.parametrize(
    ("after", "found"),
    [
        (timedelta(hours=10) - timedelta(minutes=1), [("rear grip", "setting")]),
        (timedelta(hours=10), [("rear grip", "set")]),
        (timedelta(hours=24) - timedelta(minutes=1), [("rear grip", "set")]),
        (timedelta(hours=24), []),
    ],
)
def test_a_joint_stays_until_it_is_fully_cured(
    bench: TestClient, hands: Hands, after: timedelta, found: list[tuple[str, str]]
) -> None:
    close(bench, "rear grip", 1)
    hands.forward(seconds=after.total_seconds())
    assert [row[:2] for row in rows_of(bench.get("/setting").text)] == found


def test_what_is_stalled_comes_first_and_has_no_time(bench: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        cellar = add_zone(session, now=hands.wall_at, name="cellar", assumed_c=COLD_C).id
    close(bench, "rear grip", 1)
    close(bench, "reel seat", 2, zone=cellar)
    page = bench.get("/setting").text
    assert rows_of(page) == [
        Row("reel seat", "stalled", "", "too cold, no time · Riverbed"),
        Row("rear grip", "setting", "", "sets 19:00 · full Tue 3 Mar 09:00 · Riverbed"),
    ]
    assert concerns_of(page) == ["No time frees these", "By what comes next"]


def test_a_tacky_puddle_keeps_its_joint_here_whatever_the_sum_says(bench: TestClient, hands: Hands) -> None:
    close(bench, "rear grip", 1)
    hands.forward(hours=30)
    assert rows_of(bench.get("/setting").text) == []
    assert bench.post("/mixes/1/puddle", data={"state": "tacky"}).status_code == 303
    tacky = Row("rear grip", "tacky", "", "puddle found tacky: leave alone until it is firm · Riverbed")
    assert rows_of(bench.get("/setting").text) == [tacky]
    hands.forward(hours=1)
    assert bench.post("/mixes/1/puddle", data={"state": "firm"}).status_code == 303
    assert rows_of(bench.get("/setting").text) == []


@pytest.mark.parametrize("role", [Role.OWNER, Role.BUILDER, Role.HELPER])
def test_everybody_at_the_bench_may_look(bench: TestClient, signed_in: SignIn, role: Role) -> None:
    close(bench, "rear grip", 1)
    if role is not Role.OWNER:
        signed_in(role)
    assert [row[0] for row in rows_of(bench.get("/setting").text)] == ["rear grip"]
    bench.cookies.clear()
    assert bench.get("/setting").status_code == 303


def test_a_coat_that_must_turn_says_until_when(bench: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        session.get_one(Adhesive, FINISH).turn_minutes = 240.0
    close(bench, "guide wraps", 1, adhesive=FINISH)
    page = bench.get("/setting").text
    assert rows_of(page)[0].times.startswith("turn until 13:00 · sets 14:00")
    # One in the row and one in the key.
    assert page.count('class="turning"') == 2
    assert table_of(bench.get("/setting?as=table").text)[0][5] == "setting turn until 13:00"
    hands.forward(hours=4)
    page = bench.get("/setting").text
    assert rows_of(page)[0].times.startswith("sets 14:00")
    assert page.count('class="turning"') == 1


def test_a_suspect_mix_is_said_on_its_joints(bench: TestClient) -> None:
    close(bench, "rear grip", 1)
    close(bench, "reel seat", 2)
    assert bench.post("/mixes/2/suspect", data={"suspect_reason": "streaks in the cup"}).status_code == 303
    page = bench.get("/setting").text
    assert [row[:3] for row in rows_of(page)] == [
        ("reel seat", "suspect", "suspect mix: leave alone until the verdict"),
        ("rear grip", "setting", ""),
    ]
    assert concerns_of(page) == ["No time frees these", "By what comes next"]


def bars_of(page: str) -> dict[str, list[str]]:
    """The kinds of bar of each place, and whether a bracket is drawn over them."""
    drawn = {}
    for item in page.split('<li class="ruler-row">')[1:]:
        place = re.search(r'href="/cures/\d+">([^<]+)</a>', item)
        if place is None:  # the warmth of a zone
            continue
        track = item.split("</svg></div>")[0]
        bracket = ["bracket"] if 'class="recoat"' in track else []
        drawn[place[1]] = re.findall(r'class="bar ([a-z]+)"', track) + bracket
    return drawn


def test_what_is_in_doubt_is_drawn_and_listed_without_a_time(bench: TestClient, hands: Hands) -> None:
    close(bench, "guide wraps", 1, adhesive=FINISH)
    close(bench, "tip top", 2, adhesive=FINISH)
    hands.forward(hours=7)
    usable = ["hatched", "light", "solid"]
    # No stage of this sequence lays a coat onto the tip top, so nobody waits for its window.
    assert bars_of(bench.get("/setting").text) == {
        "guide wraps": [*usable, "bracket"], "tip top": usable,
    }  # fmt: skip
    bench.post("/mixes/1/suspect", data={"suspect_reason": "streaks in the cup"})
    page = bench.get("/setting").text
    assert bars_of(page) == {"guide wraps": ["hatched"], "tip top": usable}
    row = rows_of(page)[0]
    assert (row.word, row.times) == ("suspect", "Stillwater")
    cells = table_of(bench.get("/setting?as=table").text)[0]
    assert cells[5:] == ["suspect", "in doubt", "in doubt", "in doubt", "–", row.window]
    said = bench.get("/cures/1").text
    assert "suspect: streaks in the cup" in said
    assert "not before" not in said
    hands.forward(hours=99)
    assert [row.place for row in rows_of(bench.get("/setting").text)] == ["guide wraps"]


CELLS = (
    "Rod", "Place", "Adhesive", "Zone", "Closed", "State", "Sets not before", "Hard not before",
    "Recoat earliest", "Recoat latest", "Window",
)  # fmt: skip


def table_of(page: str) -> list[list[str]]:
    """The cells of the table of cures, tags left out."""
    table = page.split("</table>")[0]
    rows = re.findall(r"<tr role=\"row\">(<td.*?)</tr>", table, re.S)
    return [
        [re.sub(r"<[^>]+>", "", cell).strip() for cell in re.findall(r"<td[^>]*>(.*?)</td>", row, re.S)]
        for row in rows
    ]


def test_the_same_stands_in_a_table_for_those_who_read_tables(
    bench: TestClient, hub: Hub, hands: Hands
) -> None:
    with hub.database.writing(hands.wall_at) as session:
        cellar = add_zone(session, now=hands.wall_at, name="cellar", assumed_c=COLD_C).id
    close(bench, "guide wraps", 1, adhesive=FINISH)
    close(bench, "rear grip", 2)
    close(bench, "reel seat", 3, zone=cellar)
    page = bench.get("/setting?as=table").text
    assert table_of(page) == [
        ["26-001", "guide wraps", "Stillwater", "bench", "09:00", "setting", "14:00", "Tue 3 Mar 09:00",
         "15:00", "Tue 3 Mar 05:00", f"recoat 15:00 to Tue 3 Mar 05:00; {BY_FIVE}"],
        ["26-001", "reel seat", "Riverbed", "cellar", "09:00", "stalled", "too cold, no time",
         "too cold, no time", "–", "–", "–"],
        ["26-001", "rear grip", "Riverbed", "bench", "09:00", "setting", "19:00", "Tue 3 Mar 09:00",
         "–", "–", "–"],
    ]  # fmt: skip
    assert tuple(re.findall(r'<th scope="col" role="columnheader">([^<]+)</th>', page)[:11]) == CELLS
    assert rows_of(page) == []
    assert 'hx-get="/setting?as=table"' in page


def test_a_zone_alone_is_shown_where_it_is_asked_for(bench: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        cellar = add_zone(session, now=hands.wall_at, name="cellar", assumed_c=COLD_C).id
    close(bench, "rear grip", 1)
    assert "every zone" not in bench.get("/setting").text
    close(bench, "reel seat", 2, zone=cellar)
    page = bench.get("/setting").text
    assert f'href="/setting?zone={cellar}"' in page
    cold = bench.get(f"/setting?zone={cellar}").text
    assert [row.place for row in rows_of(cold)] == ["reel seat"]
    assert f'href="/setting?as=table&amp;zone={cellar}"' in cold
    assert "below 13 °C: what needs more does not harden" in cold
    assert [row.place for row in rows_of(bench.get(f"/setting?zone={ZONE}").text)] == ["rear grip"]
    hands.forward(hours=30)
    assert "Nothing is soft in this zone." in bench.get(f"/setting?zone={ZONE}").text
    assert bench.get("/setting?zone=99").status_code == 404
    assert bench.get("/setting?zone=bench").status_code == 422


def test_the_warmth_is_said_in_words_beside_its_line(bench: TestClient, hub: Hub, hands: Hands) -> None:
    close(bench, "rear grip", 1)
    assert "20.0 °C" in (page := bench.get("/setting").text)
    assert "never read, assumed 20 °C" in page
    with hub.database.writing(hands.wall_at) as session:
        add_reading(session, ZONE, now=hands.wall_at, at=hands.wall_at, celsius=18.4)
    assert "read just now" in bench.get("/setting").text
    hands.forward(minutes=10)
    page = bench.get("/setting").text
    assert "18.4 °C" in page
    assert "last read 10 min ago" in page
    hands.forward(minutes=50)
    page = bench.get("/setting?as=table").text
    assert "silent since 09:00, assumed 20 °C" in page


def test_what_lies_beyond_the_ruler_is_said(bench: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        cool = add_zone(session, now=hands.wall_at, name="cool", assumed_c=13.0).id
        slow = add_adhesive(
            session, now=hands.wall_at, by="Nell", name="Slow", use="bond", parts_a=1.0, parts_b=1.0,
            reference_c=30.0, pot_life_minutes=60.0, set_minutes=6000.0, full_cure_minutes=9000.0,
        ).id  # fmt: skip
    close(bench, "rear grip", 1)
    assert "before the ruler ends" not in bench.get("/setting").text
    close(bench, "reel seat", 2, adhesive=slow, zone=cool)
    page = bench.get("/setting").text
    assert "One cure is not hard before the ruler ends, Mon 16 Mar 09:00; the words say when." in page


def test_the_page_refreshes_the_very_part_that_the_route_gives(bench: TestClient) -> None:
    close(bench, "rear grip", 1)
    part = bench.get("/setting", headers=HTMX)
    assert part.text.startswith('<div id="setting" hx-get="/setting" hx-trigger="every 60s"')
    assert part.text.strip() in bench.get("/setting").text


def test_who_has_the_page_is_told_so_until_the_minute_or_the_shop_changes(
    bench: TestClient, hands: Hands
) -> None:
    tag = bench.get("/setting").headers["etag"]
    assert bench.get("/setting", headers={"if-none-match": tag}).status_code == 304
    assert bench.get("/setting?as=table", headers={"if-none-match": tag}).status_code == 200
    close(bench, "rear grip", 1)
    bench.get("/setting")  # with the notice, which is shown once
    changed = bench.get("/setting", headers={"if-none-match": tag})
    assert (changed.status_code, len(rows_of(changed.text))) == (200, 1)
    tag = changed.headers["etag"]
    hands.forward(minutes=1)
    assert bench.get("/setting", headers={"if-none-match": tag}).status_code == 200


def test_more_cures_ask_for_no_more_statements(bench: TestClient, hub: Hub) -> None:
    counts = []
    close(bench, "fore grip", 1)
    bench.get("/setting")
    for number in range(2, 9):
        close(bench, ("rear grip", "reel seat", "guide wraps")[number % 3], number)
        with asked(hub) as statements:
            assert len(rows_of(bench.get("/setting").text)) == number
        counts.append(len(statements))
    assert len(set(counts)) == 1, counts
