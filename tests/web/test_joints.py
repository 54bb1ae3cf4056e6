"""Joints of several cups and tacky coats, as the bench's pages tell them: In hand, Setting, one cure."""

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.services.adhesives import add_adhesive
from shop.web.deps import Hub
from tests.api.filled import BOND, FINISH
from tests.conftest import Hands
from tests.web.bench_shop import ROD
from tests.web.test_cup import two_rods
from tests.web.test_puddles import words

SignIn = Callable[[Role], TestClient]
QUICK = 3


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    """Two rods that wait for their rear grips, and a five-minute product on the shelf."""
    owner = two_rods(hub, hands, signed_in)
    with hub.database.writing(hands.wall_at) as session:
        add_adhesive(
            session, now=hands.wall_at, by="Nell", name="Quick", use="bond", parts_a=1.0, parts_b=1.0,
            reference_c=20.0, pot_life_minutes=5.0, set_minutes=15.0, full_cure_minutes=60.0, source="sheet",
        )  # fmt: skip
    return owner


def glue(bench: TestClient, place: str, adhesive: int = BOND) -> str:
    """Close a place of the first rod with a cup of its own; gives the mix's address."""
    mix = bench.post("/cup", data={"adhesive_id": str(adhesive), "zone_id": "1"}).headers["location"]
    assert bench.post(f"{mix}/cures", data={"build": "26-001", "place": place}).status_code == 303
    return mix


def test_a_quick_cup_in_a_slow_joint_is_shown_to_set_with_it(bench: TestClient, hands: Hands) -> None:
    glue(bench, "rear grip")
    bench.post(f"{ROD}/advance", data={"to": "grip glued"})
    hands.forward(minutes=2)
    glue(bench, "rear grip", QUICK)
    hands.forward(minutes=20)
    assert "until 19:00" in words(bench.get("/").text)
    setting = words(bench.get("/setting").text)
    assert (setting.count("sets 19:00"), "set 09:17" in setting) == (2, False)
    quick = words(bench.get("/cures/2").text)
    assert "The whole joint 2 cups: set 19:00, fully cured Tue 3 Mar 09:00" in quick
    assert "The whole joint" in bench.get("/cures/1").text


def test_one_cup_in_doubt_leaves_the_whole_joint_alone(bench: TestClient, hands: Hands) -> None:
    slow = glue(bench, "rear grip")
    hands.forward(minutes=2)
    glue(bench, "rear grip", QUICK)
    hands.forward(hours=11)
    assert "set-2" in bench.get("/").text, "the last cup tells for the whole joint"
    assert "set-1" not in bench.get("/").text
    bench.post(f"{slow}/puddle", data={"state": "tacky"})
    assert "set-2" not in bench.get("/").text
    setting = words(bench.get("/setting").text)
    assert setting.count("puddle found tacky: leave alone until it is firm") == 2
    doubt = words(bench.get("/cures/2").text)
    assert "Another cup in the same joint is in doubt, suspect or tacky: leave the joint alone." in doubt
    assert "The whole joint" not in doubt


def test_a_tacky_coat_is_said_wherever_the_next_one_would_be_laid(
    bench: TestClient, hands: Hands, signed_in: SignIn
) -> None:
    glue(bench, "rear grip")
    hands.forward(hours=24)
    assert bench.post(f"{ROD}/advance", data={"to": "grip glued"}).status_code == 303
    ticked = {"to": "seat glued", "check-orientation": "on"}
    assert bench.post(f"{ROD}/note", data=ticked).status_code == 303
    signed_in(Role.BUILDER)
    for stage in ("seat glued", "hard", "first coat"):
        answer = bench.post(f"{ROD}/advance", data={"to": stage})
        assert answer.status_code == 303, words(answer.text)
    coat = glue(bench, "guide wraps", FINISH)
    hands.forward(hours=8)
    served = {"adhesive_id": str(FINISH), "zone_id": "1", "serve": "26-001 guide wraps", "volume_ml": "6"}
    assert "is tacky" not in bench.get("/cup", params=served).text
    assert "the recoat window is open" in bench.get("/").text
    bench.post(f"{coat}/puddle", data={"state": "tacky"})
    says = "The puddle of the Stillwater at the guide wraps is tacky: it must be found firm."
    for path in ("/", ROD):
        assert says in words(bench.get(path).text)
    assert "the recoat window is open" not in bench.get("/").text
    assert "puddle found tacky: leave alone until it is firm" in words(bench.get("/setting").text)
    cup = words(bench.get("/cup", params=served).text)
    assert f"26-001: {says}" in cup
    assert bench.post("/cup", data=served).status_code == 409
    bench.post(f"{coat}/puddle", data={"state": "firm"})
    assert bench.post("/cup", data=served).status_code == 303
