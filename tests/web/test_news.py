"""News of your rod and its link: who gets in, what they see, and what they never see."""

import re
from collections.abc import Callable
from datetime import date
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient

from shop.queries.builds import build_view
from shop.rules.people import Role
from shop.rules.sequences import Sequence, Stage
from shop.services.builds import take_on_build
from shop.services.customers import add_customer
from shop.services.sequences import add_sequence
from shop.services.zones import change_zone
from shop.web.deps import Hub
from tests.api.filled import CUSTOMER, ZONE
from tests.conftest import START, Hands
from tests.web.bench_shop import HTMX, ROD, open_bench

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


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_link_is_given_shown_again_replaced_and_ended(desk: TestClient, headers: dict[str, str]) -> None:
    given = desk.post(f"{ROD}/status-link", headers=headers)
    assert (given.status_code, given.headers["location"]) == (303, ROD)
    first = link_of(desk)
    assert first == link_of(desk)
    assert len(first) >= 43
    assert desk.get(f"/rod/{first}").status_code == 200
    assert desk.get(f"/rod/{first}/").text == desk.get(f"/rod/{first}").text
    assert desk.post(f"{ROD}/status-link").status_code == 303
    second = link_of(desk)
    assert second != first
    replaced = desk.get(f"/rod/{first}")
    assert desk.post(f"{ROD}/status-link/end").status_code == 303
    odd = ["unknown", "%00", "9" * 43, "a/b", "", "%F0%9F%8E%A3", "x" * 5000, f"{second}/", f"{second}?x=1"]
    answers = [replaced, desk.get(f"/rod/{second}"), *(desk.get(f"/rod/{path}") for path in odd)]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1
    assert len({str(sorted(answer.headers.items())) for answer in answers}) == 1
    assert answers[0].headers["cache-control"] == "no-store, private"


def test_a_rod_that_becomes_anothers_is_not_shown_to_whoever_had_its_link(desk: TestClient, hub: Hub) -> None:
    desk.post(f"{ROD}/status-link")
    address = f"/rod/{link_of(desk)}"
    with hub.database.reading() as session:
        build = build_view(session, ROD.rpartition("/")[2])
    plan = {"title": "7 ft casting for pike", "customer_id": str(build.customer_id)}
    for customer, status in ((build.customer_id, 200), (build.customer_id + 1, 404)):
        changed = {**plan, "customer_id": str(customer)}
        assert desk.post(f"{ROD}/edit", data=changed).status_code == 303
        assert desk.get(address).status_code == status


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
    page = desk.get(f"/rod/{token}").text
    assert "Something on it is hardening" not in page
    # Set is not hard yet: what is still hardening stands below, with its day.
    assert "On the rear grip</dt><dd>fully hard about Tue 3 Mar" in page
    hands.forward(hours=14)
    assert "hardening" not in desk.get(f"/rod/{token}").text.split("How it is coming")[0]


def test_a_joint_too_cold_to_harden_is_told_kindly_and_without_a_day(
    desk: TestClient, hub: Hub, hands: Hands
) -> None:
    desk.post(f"{ROD}/advance", data={"to": "fitted", "measure-rear bore": "12 mm"})
    desk.post("/cup", data={"adhesive_id": "1", "zone_id": "1"})
    desk.post(f"{ROD}/advance", data={"to": "grip glued", "mix-rear grip": "1"})
    desk.post(f"{ROD}/status-link")
    with hub.database.writing(hands.wall_at) as session:
        change_zone(session, ZONE, assumed_c=5.0)
    page = desk.get(f"/rod/{link_of(desk)}").text
    assert "hardening slowly" in page
    for private in ("until about", "cold", "Riverbed", "tall"):
        assert private not in page.split("<main")[1], private


def test_what_comes_next_is_told_apart_in_words_and_the_end_is_said(desk: TestClient, hub: Hub) -> None:
    told = Sequence(
        "told", "casting",
        (Stage("agreed", "We agreed."), Stage("secret"), Stage("wrapped", "It is wrapped."),
         Stage("gone", "It is yours.")),
    )  # fmt: skip
    with hub.database.writing(START) as session:
        second = add_sequence(session, now=START, sequence=told).id
        take_on_build(
            session, now=START, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="A gift",
            rod_kind="casting", sequence_id=second, promised_on=date(2026, 4, 2),
        )  # fmt: skip
    where = "/builds/26-002"
    desk.post(f"{where}/status-link")
    token = desk.get(where).text.split("/rod/")[1].split('"')[0]
    desk.post(f"{where}/advance", data={"to": "agreed"})
    page = desk.get(f"/rod/{token}").text
    assert stages_of(page) == [
        ("done", "We agreed.", "Mon 2 Mar"), ("next", "It is wrapped.", "comes next"),
        ("later", "It is yours.", ""),
    ]  # fmt: skip
    assert "Thu 2 Apr" in page
    for stage in ("secret", "wrapped", "gone"):
        desk.post(f"{where}/advance", data={"to": stage})
    page = desk.get(f"/rod/{token}").text
    assert "Your rod is finished." in page
    assert "Thu 2 Apr" not in page
    assert [state for state, *_ in stages_of(page)] == ["done"] * 3


def stages_of(page: str) -> list[tuple[str, str, str]]:
    """State, words and text beside them of each stage in the page's list."""
    items = re.findall(
        r'<li class="stage (\w+)".*?>\s*<span class="stage-name">([^<]+)(.*?)</li>', page, re.S
    )
    texts = [re.search(r'stage-text">([^<]+)<', rest) for *_, rest in items]
    return [
        (state, name, "" if text is None else text[1])
        for (state, name, _), text in zip(items, texts, strict=True)
    ]


def test_only_the_desk_gives_and_ends_links(desk: TestClient, signed_in: SignIn) -> None:
    assert desk.get(ROD).status_code == 200
    helper = signed_in(Role.HELPER)
    for path in ("/status-link", "/status-link/end"):
        assert helper.post(ROD + path).status_code == 403
    assert "private address" not in helper.get(ROD).text
