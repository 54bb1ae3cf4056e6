"""The whole story from outside: a server process as a stranger starts it, and a client that knows nothing.

They see the bench, take a rod on, glue its rear grip, are refused by a joint that has not set and told
when it will, and open the customer's link. Everything goes through the pages' own forms.
"""

import re
import sys
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from tests.demo_server import Demo, demo_server

ROOT = str(Path(__file__).parent.parent)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Demo]:
    with demo_server(
        [sys.executable, "-m", "shop"], tmp_path_factory.mktemp("story"), {"PYTHONPATH": ROOT, "PATH": ""}
    ) as running:
        yield running


@pytest.fixture
def browser(demo: Demo) -> Iterator[httpx.Client]:
    """A browser without scripts, signed in as the owner."""
    with httpx.Client(base_url=demo.address, follow_redirects=True, timeout=20) as client:
        answer = client.post("/sign-in", data={"name": demo.name, "password": demo.password})
        assert answer.status_code == 200
        assert "In hand" in answer.text
        yield client


def option(page: str, field: str, text: str) -> str:
    """The value of the option of a select whose text begins so."""
    select = re.search(rf'<select[^>]*name="{re.escape(field)}".*?</select>', page, flags=re.DOTALL)
    assert select is not None, f"no list called {field}"
    found = re.search(rf'<option value="([^"]*)"[^>]*>\s*{re.escape(text)}', select[0])
    assert found is not None, f"{text} is not in {select[0]}"
    return found[1]


def take_on_a_rod(browser: httpx.Client) -> str:
    """Take a rod on at the desk; gives the path of its page."""
    form = browser.get("/desk/builds/new").text
    plan = {
        "customer_id": option(form, "customer_id", "Ilse Varrow"),
        "title": "8 ft casting, the story's own",
        "sequence_id": option(form, "sequence_id", "Casting rod"),
        "thread_colour": "#1f4e7a",
    }
    rod = browser.post("/desk/builds/new", data=plan)
    assert rod.status_code == 200
    return rod.url.path


def with_lots(browser: httpx.Client, chosen: dict[str, str]) -> dict[str, str]:
    """The choice with a lot in date for each part, as the Cup offers them."""
    cup = browser.get("/cup", params=chosen).text
    return {
        **chosen, "lot_a_id": option(cup, "lot_a_id", "R-2207"), "lot_b_id": option(cup, "lot_b_id", "H-1184")
    }  # fmt: skip


def mix_a_cup(browser: httpx.Client) -> str:
    """Mix a cup at the bench; gives its id."""
    cup = browser.get("/cup").text
    chosen = {
        "adhesive_id": option(cup, "adhesive_id", "Riverbed slow epoxy"),
        "zone_id": option(cup, "zone_id", "bench"),
    }
    mix = browser.post("/cup", data=with_lots(browser, chosen))
    assert "Pot life ends" in mix.text
    return mix.url.path.rpartition("/")[2]


def test_a_rod_moves_across_the_bench(browser: httpx.Client) -> None:
    bench = browser.get("/").text
    for words in ("May be touched now", "Setting", "Held", "stalled", "overdue", "recoat window"):
        assert words in bench, words

    where = take_on_a_rod(browser)
    for stage in ("order agreed", "parts in hand", "blank checked", "spine marked", "grips fitted"):
        assert browser.post(f"{where}/advance", data={"to": stage}).status_code == 200, stage
    glued = {"to": "rear grip glued", "mix-rear grip": mix_a_cup(browser)}
    assert browser.post(f"{where}/advance", data=glued).status_code == 200

    seat = {"to": "reel seat and fore grip glued", "check-orientation": "on"}
    refused = browser.post(f"{where}/advance", data=seat)
    assert refused.status_code == 409
    assert "The Riverbed slow epoxy at the rear grip has not set." in refused.text
    assert re.search(r"until (\w{3} \d+ \w{3} )?\d\d:\d\d", refused.text), (
        "the page says when it will have set"
    )
    assert "setting" in browser.get(where).text


def test_the_customer_sees_how_it_is_coming_and_nothing_of_the_shop(
    browser: httpx.Client, demo: Demo
) -> None:
    where = take_on_a_rod(browser)
    browser.post(f"{where}/advance", data={"to": "order agreed", "note": "said he is hard to please"})
    given = browser.post(f"{where}/status-link")
    link = re.search(r'href="([^"]*/rod/[^"]+)"', given.text)
    assert link is not None
    news = httpx.get(link[1])
    assert news.status_code == 200
    assert "Your order is agreed." in news.text
    for private in ("order agreed", "hard to please", demo.name, "Varrow", "blank checked"):
        assert private not in news.text, private
    ended = browser.post(f"{where}/status-link/end")
    assert ended.status_code == 200
    gone, never = httpx.get(link[1]), httpx.get(f"{demo.address}/rod/never-given")
    assert (gone.status_code, gone.text) == (404, never.text)
    assert httpx.get(demo.status_link).status_code == 200


def test_the_second_of_two_equal_taps_is_no_second_event(browser: httpx.Client) -> None:
    bench = browser.get("/").text
    free = bench[: bench.index("Held")]
    found = re.search(r'href="(/builds/[\d-]+)">', free)
    assert found is not None
    where = found[1]
    page = browser.get(where).text
    stage = re.search(r'<input type="hidden" name="to" value="([^"]+)"', page)
    assert stage is not None
    for _ in range(2):
        assert browser.post(f"{where}/advance", data={"to": stage[1]}).status_code == 200
    record = browser.get(where).text
    record = record[record.index("The record") :]
    assert record.count(f'<p class="record-title">{stage[1]}</p>') == 1
