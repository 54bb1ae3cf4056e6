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


def main_of(page: str) -> str:
    """What a page says between its head and its foot."""
    return page.split("<main", 1)[1].split("</main>", 1)[0]


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


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_sequence_is_begun_as_a_copy(ways: TestClient, headers: dict[str, str]) -> None:
    told = {"name": "Ice rod", "rod_kind": "spinning", "copy_of": "1", "first": ""}
    answer = ways.post("/ways/sequences", data=told, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/ways/sequences/2")
    assert stages(ways.get("/ways/sequences/2").text) == NAMES
    assert stages(ways.get(ONE).text) == NAMES
    page = ways.get("/ways/sequences").text
    assert "a copy of “Ice rod” (spinning)" in page


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({"name": "short", "rod_kind": "casting", "first": "agreed"}, "called “short” already"),
        ({"name": "Ice rod", "rod_kind": "spinning"}, "The first stage is missing"),
        ({"name": "Ice rod", "rod_kind": "spinning", "copy_of": "1", "first": "a"}, "brings its own stages"),
        ({"name": "Ice rod", "rod_kind": "spinning", "copy_of": "x"}, "What to copy is not one of the list"),
        ({"name": "x" * 81, "rod_kind": "spinning", "first": "a"}, "at most 80 fit"),
    ],
)
def test_a_sequence_that_cannot_be_begun_comes_back_as_typed(
    ways: TestClient, told: dict[str, str], says: str
) -> None:
    answer = ways.post("/ways/sequences", data=told)
    assert answer.status_code == 422
    assert says in answer.text
    assert f'value="{told["name"]}"' in answer.text
    assert f'<option value="{told["rod_kind"]}" selected>' in answer.text
    assert ways.get("/ways/sequences/2").status_code == 404


def test_a_copy_of_what_is_not_on_file_is_not_found(ways: TestClient) -> None:
    told = {"name": "Ice rod", "rod_kind": "spinning", "copy_of": "7"}
    assert ways.post("/ways/sequences", data=told).status_code == 404


@pytest.mark.parametrize(
    ("what", "stage", "order"),
    [
        ("up", "fitted", ["fitted", "agreed", *NAMES[2:]]),
        ("down", "agreed", ["fitted", "agreed", *NAMES[2:]]),
        ("remove", "hard", [name for name in NAMES if name != "hard"]),
    ],
)
def test_stages_are_rearranged(ways: TestClient, what: str, stage: str, order: list[str]) -> None:
    answer = ways.post(f"{ONE}/arrange", data={"what": what, "stage": stage})
    place = f"#stage-{order.index(stage)}" if stage in order else ""
    assert (answer.status_code, answer.headers["location"]) == (303, ONE + place)
    assert stages(ways.get(ONE).text) == order


def test_a_build_keeps_the_version_it_started_with(ways: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        take_on_build(
            session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft",
            rod_kind="casting", sequence_id=SEQUENCE,
        )  # fmt: skip
    assert "One build has started on it and keeps it as it is" in ways.get(ONE).text
    for path in (ONE, f"{ONE}/stages/4"):
        assert "the next change makes version 2, for new builds" in ways.get(path).text
    answer = ways.post(f"{ONE}/arrange", data={"what": "remove", "stage": "hard"})
    assert answer.headers["location"] == "/ways/sequences/2"
    assert "hard" not in stages(ways.get("/ways/sequences/2").text)
    assert "hard" in stages(ways.get(ONE).text)
    assert "out of use" in ways.get(ONE).text
    assert ">hard<" in ways.get("/builds/26-001").text
    late = ways.post(f"{ONE}/arrange", data={"what": "remove", "stage": "fitted"})
    assert late.status_code == 409
    assert "Version 2 of this sequence is newer; change that one." in late.text
    late = ways.post(f"{ONE}/stages/1", data={"name": "handle fitted"})
    assert (late.status_code, "Version 2 of this sequence is newer" in late.text) == (409, True)
    for path in (ONE, f"{ONE}/stages/1"):
        assert "<form" not in main_of(ways.get(path).text)


def test_a_stage_is_described_and_renamed(ways: TestClient) -> None:
    told = {
        "name": "handle fitted", "customer_words": "Your handle is fitted.", "attended_minutes": "25",
        "draws": ["rear grip", "fore grip"], "figures": ["static test", "handle", "luck"],
    }  # fmt: skip
    assert ways.post(f"{ONE}/stages/1", data=told).status_code == 303
    ticked = re.findall(r'name="(?:draws|figures)" value="([^"]+)" checked', ways.get(f"{ONE}/stages/1").text)
    assert ticked == ["rear grip", "fore grip", "handle", "static test"]
    page = ways.get(ONE).text
    assert "Your handle is fitted." in page
    assert "after handle fitted" in page
    assert "25 minutes" in page
    refused = ways.post(f"{ONE}/stages/1", data={**told, "name": "agreed"})
    assert refused.status_code == 422
    assert "Two stages are called “agreed”" in refused.text
    assert 'id="e-name"' in refused.text
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
        (
            {"kind": "measurement", "figure": "cut"},
            303,
            "within tolerance: cut, as the make-up of the build says",
        ),
        ({"kind": "measurement", "figure": "", "nominal": ""}, 422, "Name the figure."),
        (
            {"kind": "measurement", "figure": "cut", "tolerance": "1 mm"},
            422,
            "Say what the figure is meant to be, or leave both empty to go by the make-up of the rod.",
        ),
        ({"kind": "check", "check": "cut", "nominal": "8 in"}, 422, "A check hold does not ask for this"),
        ({"kind": "order"}, 422, "Tick the stages that come first."),
        ({"kind": "set"}, 422, "Tick the places"),
        ({"kind": "check"}, 422, "Name the check."),
        ({"kind": "measurement", "figure": "cut", "nominal": "8"}, 422, "by how much it may differ"),
        (
            {"kind": "measurement", "figure": "cut", "nominal": "8 in", "tolerance": "1 g"},
            422,
            "another kind of quantity",
        ),
        ({"kind": "tide"}, 422, "The kind of hold must be one of"),
        ({"kind": "recoat", "places": ["guide wraps", "underwrap"]}, 422, "about one place"),
        ({"kind": "recoat"}, 422, "Tick the places"),
        ({"kind": "check", "check": "x" * 81}, 422, "at most 80 fit"),
        ({"kind": "measurement", "nominal": "eight"}, 422, "eight"),
        ({"kind": "set", "places": "rear grip", "check": "level"}, 422, "A set hold does not ask for this"),
        (
            {"kind": "full_cure", "places": "rear grip", "second_person": "on"},
            422,
            "A full cure hold does not",
        ),
        ({"kind": "warm", "stages": "agreed"}, 422, "A warm hold does not ask for this"),
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
    told = {"name": "", "draws": ["tip-top", "gloss"], "figures": ["balance"]}
    drawn = ways.post(f"{ONE}/stages/6", data=told).text
    assert 'value="tip-top" checked' in drawn
    assert 'value="balance" checked' in drawn
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


def test_what_another_has_moved_meanwhile_is_not_hit_instead(ways: TestClient) -> None:
    path = f"{ONE}/stages/1"
    forms = re.findall(r'name="stage" value="([^"]+)".*?name="words" value="([^"]+)"', ways.get(path).text)
    assert forms == [("fitted", "after agreed"), ("fitted", "within tolerance: rear bore")]
    remove = {"what": "remove hold", "place_of": "0", "words": "within tolerance: rear bore"}
    late = ways.post(path, data={**remove, "stage": "fitted"})
    assert (late.status_code, "Somebody has changed this stage meanwhile" in late.text) == (409, True)
    assert "within tolerance: rear bore" in late.text
    assert ways.post(path, data={**remove, "place_of": "9", "words": ""}).status_code == 409
    # Another stage stands at the place now; the one that was meant is changed, and shown.
    ways.post(f"{ONE}/arrange", data={"what": "down", "stage": "fitted"})
    meant = ways.post(path, data={"stage": "fitted", "name": "handle fitted"})
    assert meant.headers["location"] == f"{ONE}/stages/2"
    assert stages(ways.get(ONE).text)[:3] == ["agreed", "grip glued", "handle fitted"]
    gone = ways.post(path, data={"stage": "fitted", "name": "fitted again"})
    assert (gone.status_code, "“fitted” is not a stage" in gone.text) == (422, True)


def test_a_hold_on_a_joint_that_nobody_closes_is_pointed_out(ways: TestClient) -> None:
    assert "no stage before it closes anything there" not in ways.get(ONE).text
    ways.post(f"{ONE}/arrange", data={"what": "remove", "stage": "grip glued"})
    says = "“seat glued” waits for the rear grip, but no stage before it closes anything there."
    assert says in ways.get(ONE).text


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
def test_a_sequence_is_taken_out_of_use(ways: TestClient, headers: dict[str, str]) -> None:
    answer = ways.post(f"{ONE}/retire", headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/ways/sequences")
    assert "No sequence is in use yet" in ways.get("/ways/sequences").text
    late = ways.post(f"{ONE}/stages", data={"name": "varnished", "after": "agreed"})
    assert (late.status_code, "out of use" in late.text) == (409, True)
    assert stages(ways.get(ONE).text) == NAMES


@pytest.mark.parametrize("position", ["8", "99"])
def test_there_is_no_stage_past_the_last(ways: TestClient, position: str) -> None:
    assert ways.get(f"{ONE}/stages/{position}").status_code == 404
    assert ways.post(f"{ONE}/stages/{position}", data={"name": "new"}).status_code == 404


@pytest.mark.parametrize(
    ("path", "fields"),
    [
        ("/ways/sequences", {"name": "", "rod_kind": "casting", "first": "agreed"}),
        ("/ways/sequences", {"name": "x", "rod_kind": "whale", "first": "agreed"}),
        (f"{ONE}/stages", {"name": "", "after": "agreed"}),
        (f"{ONE}/stages", {"name": "new", "after": "varnished"}),
        (f"{ONE}/stages", {"name": "hard", "after": "agreed"}),
        (f"{ONE}/stages/1", {"what": "add record", "record_kind": "song", "record_name": "x"}),
        (f"{ONE}/stages/1", {"what": "add record", "record_kind": "cure", "record_name": ""}),
        (f"{ONE}/stages/2", {"what": "add record", "record_kind": "cure", "record_name": "rear grip"}),
        (f"{ONE}/stages/1", {"what": "remove hold"}),
        (f"{ONE}/stages/1", {"name": "fitted", "attended_minutes": "soon"}),
        (f"{ONE}/stages/1", {"name": "fitted", "customer_words": "x" * 201}),
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
    for path in ("/ways/sequences", ONE, f"{ONE}/stages/6"):
        page = builder.get(path)
        assert (page.status_code, "<form" in main_of(page.text)) == (200, False)
    assert "in the recoat window: guide wraps" in page.text
    assert "<dt>Figures shown</dt><dd>none</dd>" in page.text
    for path in (ONE + "/stages", ONE + "/arrange", ONE + "/stages/1", ONE + "/retire", "/ways/sequences"):
        assert builder.post(path, data={}).status_code == 403
