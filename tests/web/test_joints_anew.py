"""A joint done anew on the pages: the old one ends, and what was ticked on it is ticked again in one tap."""

import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.rules.people import Role
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.web.bench_shop import HTMX, ROD, open_bench

SignIn = Callable[[Role], TestClient]
CUP = {"adhesive_id": "1", "zone_id": "1"}
ANEW = {"build": "26-001", "place": "rear grip", "again": "on", "reason": "turned two degrees"}


@pytest.fixture
def glued(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    """A rod whose rear grip is glued, with a check ticked on it, and a second cup mixed an hour later."""
    open_bench(hub, hands)
    bench = signed_in(Role.OWNER)
    bench.post("/cup", data=CUP)
    for stage in ("agreed", "fitted", "grip glued"):
        said = {"to": stage, "measure-rear bore": "12 mm"}
        assert bench.post(f"{ROD}/advance", data=said).status_code == 303
    assert bench.post("/mixes/1/cures", data={"build": "26-001", "place": "rear grip"}).status_code == 303
    ticked = bench.post(f"{ROD}/note", data={"to": "seat glued", "check-orientation": "on"})
    assert ticked.status_code == 303
    hands.forward(hours=1)
    bench.post("/cup", data=CUP)
    return bench


def words(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def test_a_rod_links_each_joint_to_its_mix(glued: TestClient) -> None:
    assert '<a href="/mixes/1">Riverbed</a>' in glued.get(ROD).text


def test_what_was_ticked_is_ticked_again_in_one_tap(glued: TestClient) -> None:
    answer = glued.post("/mixes/2/cures", data=ANEW)
    assert (answer.status_code, answer.headers["location"]) == (303, "/mixes/2")
    assert "Done anew: turned two degrees" in glued.get("/mixes/1").text
    page = glued.get(ROD).text
    assert "that has failed since: check it again on the new one." in page
    assert page.count("Checked again: orientation") == 1
    form = re.search(r'<form[^>]*action="/builds/26-001/note"(?:(?!</form>).)*Checked again', page, re.DOTALL)
    assert form is not None
    fields = dict(re.findall(r'type="hidden" name="([^"]+)" value="([^"]+)"', form[0]))
    assert fields == {"to": "seat glued", "check-orientation": "on"}
    assert glued.post(f"{ROD}/note", data=fields).status_code == 303
    page = glued.get(ROD).text
    assert "Checked again" not in page
    assert "check it again" not in page
    record = words(page[page.index("The record") :])
    assert (
        "closed at the rear grip anew; the joint before it (Riverbed) has failed: turned two degrees."
        in record
    )
    assert "To be checked again: “orientation”." in record


def test_without_it_a_second_cup_goes_into_the_same_joint(glued: TestClient) -> None:
    said = {"build": "26-001", "place": "rear grip"}
    assert glued.post("/mixes/2/cures", data=said, headers=HTMX).status_code == 303
    assert "Done anew" not in glued.get("/mixes/1").text.partition("Places closed with it")[2]
    assert "Checked again" not in glued.get(ROD).text


@pytest.mark.parametrize(
    ("changes", "status", "says"),
    [
        ({"reason": ""}, 422, "Say why it is done anew"),
        ({"reason": "x" * 501}, 422, "at most 500 fit"),
        ({"closed_at": "2026-03-02T10:01"}, 422, "in the future"),
        ({"place": "butt cap"}, 409, "No joint at the butt cap counts in this pass"),
    ],
)
def test_what_cannot_be_done_anew_comes_back_as_typed(
    glued: TestClient, changes: dict[str, str], status: int, says: str
) -> None:
    typed = {**ANEW, **changes}
    answer = glued.post("/mixes/2/cures", data=typed, headers=HTMX)
    assert answer.status_code == status
    assert says in answer.text
    assert typed["reason"] in answer.text
    assert re.search(r'name="again" value="on" checked', answer.text)
    assert re.search(rf'<option value="{typed["place"]}" selected', answer.text)
    assert "Checked again" not in glued.get(ROD).text


def test_a_reason_without_saying_so_is_asked_about(glued: TestClient) -> None:
    answer = glued.post("/mixes/2/cures", data={**ANEW, "again": ""})
    assert answer.status_code == 303
    del (typed := {**ANEW})["again"]
    refused = glued.post("/mixes/2/cures", data={**typed, "place": "reel seat"})
    assert refused.status_code == 422
    assert "A reason goes with a joint that is done anew" in refused.text


def test_a_second_tap_does_nothing_more(glued: TestClient) -> None:
    assert glued.post("/mixes/2/cures", data=ANEW).status_code == 303
    again = glued.post("/mixes/2/cures", data=ANEW)
    assert again.status_code == 409
    assert "was closed with this very mix" in again.text
    assert glued.get("/mixes/2").text.count("counts</td>") == 1


def test_a_joint_closed_on_one_that_had_not_set_says_when_that_was(glued: TestClient, hands: Hands) -> None:
    assert glued.post("/mixes/2/cures", data={"build": "26-001", "place": "reel seat"}).status_code == 303
    hands.forward(hours=20)
    says = (
        "The reel seat was closed at Mon 2 Mar 10:00, before the rear grip had set: check that nothing moved"
    )
    assert says in words(glued.get(ROD).text)
    refused = glued.post(f"{ROD}/advance", data={"to": "seat glued", "check-orientation": "on"})
    assert refused.status_code == 409
    assert "before the rear grip had set" in refused.text
    assert "release-set" not in refused.text, "nobody may wave it through"
