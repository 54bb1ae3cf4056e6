"""News of your rod and its link: who gets in, what they see, and what they never see."""

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.services.customers import add_customer
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.web.bench_shop import ROD, open_bench

SignIn = Callable[[Role], TestClient]


@pytest.fixture
def desk(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    open_bench(hub, hands)
    with hub.database.writing(hands.wall_at) as session:
        add_customer(session, now=hands.wall_at, name="Zebulon Quist", phone="555 0199")
    client = signed_in(Role.OWNER)
    client.post(f"{ROD}/advance", data={"to": "agreed", "note": "haggled over the price"})
    return client


def link_of(desk: TestClient) -> str:
    """The path of the live link, as the rod's page shows it."""
    page = desk.get(ROD).text
    return page.split("/rod/")[1].split('"')[0]


def test_a_link_is_given_shown_again_replaced_and_ended(desk: TestClient) -> None:
    assert desk.post(f"{ROD}/status-link").status_code == 303
    first = link_of(desk)
    assert first == link_of(desk)
    assert len(first) >= 43
    assert desk.get(f"/rod/{first}").status_code == 200
    assert desk.post(f"{ROD}/status-link").status_code == 303
    second = link_of(desk)
    assert second != first
    replaced = desk.get(f"/rod/{first}")
    assert desk.post(f"{ROD}/status-link/end").status_code == 303
    answers = [replaced, desk.get(f"/rod/{second}"), desk.get("/rod/unknown"), desk.get("/rod/%00")]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.text for answer in answers[:3]}) == 1
    assert len({str(sorted(answer.headers.items())) for answer in answers[:3]}) == 1


def test_nothing_of_the_shop_is_seen_and_nothing_is_kept_by_others(desk: TestClient) -> None:
    desk.post(f"{ROD}/status-link")
    token = link_of(desk)
    desk.cookies.clear()
    news = desk.get(f"/rod/{token}")
    assert "We have agreed on your rod." in news.text
    assert "7 ft casting" in news.text
    for private in ("haggled", "owner", "Ada Thorn", "Zebulon", "555 0199", "grip glued", "fitted", "26-001"):
        assert private not in news.text, private
    assert news.headers["cache-control"] == "no-store, private"
    assert news.headers["referrer-policy"] == "no-referrer"
    assert "noindex" in news.headers["x-robots-tag"]
    assert 'content="noindex' in news.text


def test_a_wait_is_told_by_its_day_in_the_shops_zone(desk: TestClient, hands: Hands) -> None:
    desk.post(f"{ROD}/advance", data={"to": "fitted", "measure-rear bore": "12 mm"})
    desk.post("/cup", data={"adhesive_id": "1", "zone_id": "1"})
    desk.post(f"{ROD}/advance", data={"to": "grip glued", "mix-rear grip": "1"})
    desk.post(f"{ROD}/status-link")
    token = link_of(desk)
    assert "hardening until about Mon 2 Mar" in desk.get(f"/rod/{token}").text
    hands.forward(hours=11)
    assert "hardening" not in desk.get(f"/rod/{token}").text.split("How it is coming")[0]


def test_only_the_desk_gives_and_ends_links(desk: TestClient, signed_in: SignIn) -> None:
    assert desk.get(ROD).status_code == 200
    helper = signed_in(Role.HELPER)
    for path in ("/status-link", "/status-link/end"):
        assert helper.post(ROD + path).status_code == 403
    assert "private address" not in helper.get(ROD).text
