"""The sequence editor: stages added, renamed, moved and removed, holds and records, versions kept."""

import re
from collections.abc import Callable
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.services.builds import take_on_build
from shop.web.deps import Hub
from tests.api.filled import CUSTOMER, SEQUENCE, fill
from tests.conftest import Hands
from tests.web.bench_shop import HTMX

SignIn = Callable[[Role], TestClient]
ONE = "/ways/sequences/1"
NAMES = ["agreed", "fitted", "grip glued", "seat glued", "hard", "first coat", "second coat", "handed over"]


@pytest.fixture
def ways(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    with hub.database.writing(hands.wall_at) as session:
        fill(session, hands.wall_at)
    return signed_in(Role.OWNER)


def stages(page: str) -> list[str]:
    """The names of the stages, in order."""
    return re.findall(r'/stages/\d+">([^<]+)</a></h2>', page)


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_sequence_is_begun_and_grows(ways: TestClient, headers: dict[str, str]) -> None:
    told = {"name": "Ice rod", "rod_kind": "spinning", "first": "agreed"}
    answer = ways.post("/ways/sequences", data=told, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/ways/sequences/2")
    assert ways.post("/ways/sequences/2/stages", data={"name": "glued", "after": "agreed"}).status_code == 303
    page = ways.get("/ways/sequences/2").text
    assert stages(page) == ["agreed", "glued"]
    assert "after agreed" in page
    assert "changes it in place" in page


@pytest.mark.parametrize(
    ("what", "stage", "order"),
    [
        ("up", "fitted", ["fitted", "agreed", *NAMES[2:]]),
        ("down", "agreed", ["fitted", "agreed", *NAMES[2:]]),
        ("remove", "hard", [name for name in NAMES if name != "hard"]),
    ],
)
def test_stages_are_rearranged(ways: TestClient, what: str, stage: str, order: list[str]) -> None:
    assert ways.post(f"{ONE}/arrange", data={"what": what, "stage": stage}).status_code == 303
    assert stages(ways.get(ONE).text) == order


def test_a_build_keeps_the_version_it_started_with(ways: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        take_on_build(
            session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft",
            rod_kind="casting", sequence_id=SEQUENCE,
        )  # fmt: skip
    assert "the next change makes version 2" in ways.get(ONE).text
    answer = ways.post(f"{ONE}/arrange", data={"what": "remove", "stage": "hard"})
    assert answer.headers["location"] == "/ways/sequences/2"
    assert "hard" not in stages(ways.get("/ways/sequences/2").text)
    assert "hard" in stages(ways.get(ONE).text)
    assert "out of use" in ways.get(ONE).text
    assert ">hard<" in ways.get("/builds/26-001").text
    late = ways.post(f"{ONE}/arrange", data={"what": "remove", "stage": "fitted"})
    assert late.status_code == 409


def test_a_stage_is_described_and_renamed(ways: TestClient) -> None:
    told = {
        "name": "handle fitted", "customer_words": "Your handle is fitted.", "attended_minutes": "25",
        "draws": ["rear grip", "fore grip"],
    }  # fmt: skip
    assert ways.post(f"{ONE}/stages/1", data=told).status_code == 303
    page = ways.get(ONE).text
    assert "Your handle is fitted." in page
    assert "after handle fitted" in page
    assert "25 minutes" in page
    refused = ways.post(f"{ONE}/stages/1", data={**told, "name": "agreed"})
    assert refused.status_code == 422
    assert "Two stages are called “agreed”" in refused.text
    assert "Your handle is fitted." in refused.text


@pytest.mark.parametrize(
    ("fields", "status", "says"),
    [
        ({"kind": "order", "stages": "agreed"}, 303, "after agreed"),
        ({"kind": "set", "places": ["rear grip", "reel seat"]}, 303, "set: rear grip, reel seat"),
        ({"kind": "recoat", "places": "guide wraps"}, 303, "in the recoat window: guide wraps"),
        ({"kind": "check", "check": "in line", "second_person": "on"}, 303, "in line, by a second person"),
        ({"kind": "warm"}, 303, "warm enough"),
        (
            {"kind": "measurement", "figure": "cut", "nominal": "8 3/16 in", "tolerance": "1/32 in"},
            303,
            "within tolerance: cut",
        ),
        ({"kind": "order"}, 422, "Tick the stages that come first."),
        ({"kind": "set"}, 422, "Tick the places"),
        ({"kind": "check"}, 422, "Name the check."),
        ({"kind": "measurement", "figure": "cut", "nominal": "8"}, 422, "by how much it may differ"),
        (
            {"kind": "measurement", "figure": "cut", "nominal": "8 in", "tolerance": "1 g"},
            422,
            "another kind of quantity",
        ),
        ({"kind": "turner"}, 422, "The kind of hold must be one of"),
    ],
)
def test_a_hold_is_added_or_says_what_it_needs(
    ways: TestClient, fields: dict[str, str | list[str]], status: int, says: str
) -> None:
    answer = ways.post(f"{ONE}/stages/6", data={"what": "add hold", **fields})
    assert answer.status_code == status
    assert says in (answer.text if status == 422 else ways.get(f"{ONE}/stages/6").text)


def test_a_hold_that_cannot_be_comes_back_with_its_ticks_and_the_stage_as_it_is(ways: TestClient) -> None:
    typed = {"what": "add hold", "kind": "check", "places": ["rear grip", "reel seat"], "stages": "agreed"}
    page = ways.post(f"{ONE}/stages/6", data=typed).text
    for name in ("rear grip", "reel seat", "agreed"):
        assert f'value="{name}" checked' in page
    assert 'value="guide wraps" checked' not in page
    assert f'name="name" value="{NAMES[6]}"' in page
    drawn = ways.post(f"{ONE}/stages/6", data={"name": "", "draws": ["tip-top", "gloss"]}).text
    assert 'value="tip-top" checked' in drawn
    assert 'name="name" value=""' in drawn


def test_holds_and_records_are_removed_by_their_place(ways: TestClient) -> None:
    record = {"what": "add record", "record_kind": "cure", "record_name": "tip-top"}
    assert ways.post(f"{ONE}/stages/1", data=record).status_code == 303
    assert "cure: tip-top" in ways.get(f"{ONE}/stages/1").text
    gone = {"what": "remove record", "place_of": "0"}
    assert ways.post(f"{ONE}/stages/1", data=gone).status_code == 303
    assert "cure: tip-top" not in ways.get(f"{ONE}/stages/1").text
    assert ways.post(f"{ONE}/stages/1", data={"what": "remove hold", "place_of": "1"}).status_code == 303
    assert "within tolerance" not in ways.get(f"{ONE}/stages/1").text


@pytest.mark.parametrize(
    ("path", "fields"),
    [
        ("/ways/sequences", {"name": "", "rod_kind": "casting", "first": "agreed"}),
        ("/ways/sequences", {"name": "x", "rod_kind": "whale", "first": "agreed"}),
        (f"{ONE}/stages", {"name": "", "after": "agreed"}),
        (f"{ONE}/stages", {"name": "new", "after": "varnished"}),
        (f"{ONE}/arrange", {"what": "burn", "stage": "agreed"}),
        (f"{ONE}/arrange", {"what": "up", "stage": "varnished"}),
    ],
)
def test_what_cannot_be_changes_nothing(ways: TestClient, path: str, fields: dict[str, str]) -> None:
    assert ways.post(path, data=fields).status_code == 422
    assert stages(ways.get(ONE).text) == NAMES


def test_only_an_owner_changes_the_ways(ways: TestClient, signed_in: SignIn) -> None:
    assert ways.get(ONE).status_code == 200
    builder = signed_in(Role.BUILDER)
    assert builder.get(ONE).status_code == 200
    for path in (ONE + "/stages", ONE + "/arrange", ONE + "/stages/1", ONE + "/retire", "/ways/sequences"):
        assert builder.post(path, data={}).status_code == 403
