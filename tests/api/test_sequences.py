"""The API of sequences: what goes in comes out, and a hold that nothing would judge is refused."""

from typing import Any

import pytest

from shop.rules.people import Scope
from tests.api.conftest import Program
from tests.api.filled import SEQUENCE

# One hold of every kind, as a program may send it and as it comes back.
HOLDS: list[tuple[dict[str, Any], dict[str, Any]]] = [
    ({"kind": "order", "stages": ["agreed"]}, {}),
    ({"kind": "set", "places": ["rear grip", "reel seat"]}, {}),
    ({"kind": "full_cure", "places": ["rear grip"]}, {}),
    ({"kind": "pot_life", "places": ["rear grip"]}, {}),
    ({"kind": "recoat", "place": "guide wraps"}, {}),
    ({"kind": "check", "check": "in line"}, {"second_person": False}),
    ({"kind": "check", "check": "orientation", "second_person": True}, {}),
    ({"kind": "warm"}, {}),
    (
        {"kind": "measurement", "name": "cut", "nominal": "8 3/16 in", "tolerance": {"mm": 0.5}},
        {"nominal": {"mm": 207.9625, "in": "8 3/16"}, "tolerance": {"mm": 0.5, "in": "1/64"}},
    ),
    (
        {"kind": "measurement", "name": "bore", "nominal": "0.596 in", "tolerance": "0.003 in"},
        {"nominal": {"mm": 15.1384, "in": "0.596"}, "tolerance": {"mm": 0.0762, "in": "0.003"}},
    ),
    ({"kind": "measurement", "name": "mass", "nominal": "62 g", "tolerance": "2 g"}, {}),
    ({"kind": "measurement", "name": "as the make-up says"}, {}),
    (
        {"kind": "measurement", "name": "hood", "nominal": "0 deg", "tolerance": "3 deg"},
        {"nominal": "0°", "tolerance": "3°"},
    ),
]


def ice(*holds: dict[str, Any], **other: Any) -> dict[str, Any]:
    """A sequence of two stages, the second with the holds."""
    stages = [{"name": "agreed"}, {"name": "glued", "holds": list(holds)}]
    return {"name": "Ice rod", "rod_kind": "spinning", "stages": stages, **other}


def errors(problem: Any) -> list[tuple[str, str]]:
    return [(error["field"], error["detail"]) for error in problem["errors"]]


@pytest.mark.parametrize(("sent", "changed"), HOLDS, ids=lambda hold: hold.get("name") or hold.get("kind"))
def test_every_kind_of_hold_is_kept(desk: Program, sent: dict[str, Any], changed: dict[str, Any]) -> None:
    made = desk.post("/sequences", **ice(sent))
    assert made["stages"][1]["holds"] == [{**sent, **changed}]
    assert desk.get(f"/sequences/{made['id']}") == made


def test_a_stage_is_kept_with_its_words_minutes_records_and_drawing(desk: Program) -> None:
    stage = {
        "name": "glued", "customer_words": "The grip is on.", "attended_minutes": 12, "holds": [],
        "records": [
            {"kind": "cure", "name": "rear grip"}, {"kind": "measurement", "name": "blank length"},
            {"kind": "check", "name": "in line"}, {"kind": "photo", "name": "dry fit"},
        ],
        "draws": ["rear grip"], "figures": ["static test", "glue"], "uses": ["grip", "thread"],
        "tells_customer": True,
    }  # fmt: skip
    made = desk.post("/sequences", name="Ice rod", rod_kind="spinning", stages=[{"name": "agreed"}, stage])
    bare: dict[str, Any] = {
        "name": "agreed", "customer_words": None, "attended_minutes": 0, "holds": [], "records": [],
        "draws": [], "figures": [], "uses": [], "tells_customer": False,
    }  # fmt: skip
    assert made["stages"] == [bare, stage]
    assert (made["name"], made["rod_kind"], made["version"], made["builds"]) == ("Ice rod", "spinning", 1, 0)
    assert made["retired_at"] is None


def test_what_comes_out_can_be_sent_again_and_is_the_next_version(desk: Program) -> None:
    before = desk.get(f"/sequences/{SEQUENCE}")
    number = desk.build()
    sent = {name: before[name] for name in ("name", "rod_kind", "stages")}
    for stage in sent["stages"]:
        for hold in stage["holds"]:
            for figure in ("nominal", "tolerance"):
                if figure in hold:
                    hold[figure] = {"mm": hold[figure]["mm"]}
    made = desk.post("/sequences", **sent)
    assert (made["version"], made["builds"]) == (2, 0)
    kept = desk.get(f"/sequences/{SEQUENCE}")
    assert (kept["builds"], kept["retired_at"]) == (1, "2026-03-02T09:00:00Z")
    assert made["stages"] == kept["stages"]
    assert desk.get(f"/builds/{number}")["sequence_id"] == SEQUENCE


@pytest.mark.parametrize("kind", ["parts", "lot", "slide_on", "turner", "deposit", "balance", "approval"])
def test_a_hold_that_needs_nothing_beside_its_kind_comes_back(desk: Program, kind: str) -> None:
    made = desk.post("/sequences", **ice({"kind": kind}))
    assert {"kind": kind} in made["stages"][1]["holds"]


@pytest.mark.parametrize(
    ("sent", "field", "says"),
    [
        (ice({"kind": "mood"}), "stages.1.holds.0.kind", "no hold of the kind “mood”; use one of order, set"),
        (ice({"kind": 7}), "stages.1.holds.0.kind", ""),
        (ice({"stages": ["agreed"]}), "stages.1.holds.0.kind", ""),
        (ice({"kind": "order"}), "stages", "The order hold on “glued” needs stages."),
        (ice({"kind": "set"}), "stages", "needs places"),
        (ice({"kind": "set", "places": [" "]}), "stages", "an empty name"),
        (ice({"kind": "recoat", "places": ["guide wraps"]}), "stages", "needs place."),
        (ice({"kind": "check"}), "stages", "needs check"),
        (ice({"kind": "measurement", "name": "cut", "nominal": "8 in"}), "stages", "needs tolerance"),
        (
            ice({"kind": "measurement", "name": "cut", "tolerance": "1 mm"}),
            "stages",
            "needs nominal too, or neither of the two.",
        ),
        (ice({"kind": "measurement"}), "stages", "needs name"),
        (
            ice({"kind": "measurement", "name": "cut", "nominal": "eight", "tolerance": "1 mm"}),
            "stages.1.holds.0.nominal",
            "",
        ),
        (
            ice({"kind": "measurement", "name": "cut", "nominal": "8 in", "tolerance": "1 g"}),
            "stages",
            "another kind of quantity",
        ),
        (ice({"kind": "order", "stages": ["glued"]}), "stages", "does not come before it"),
        (ice({"kind": "order", "stages": ["varnished"]}), "stages", "is not a stage of this sequence"),
        (ice({"kind": "check", "check": "x", "second_person": 1}), "stages.1.holds.0.second_person", ""),
        (ice({"kind": "warm", "degrees": 15}), "stages.1.holds.0.degrees", ""),
        (ice(stages=[]), "stages", ""),
        (ice(stages=[{"name": "a"}, {"name": "a"}]), "stages", "Two stages are called “a”"),
        (ice(stages=[{"name": "a", "draws": ["bell"]}]), "stages", "which no drawing has"),
        (ice(stages=[{"name": "a", "figures": ["luck"]}]), "stages", "which no bench ticket has"),
        (ice(stages=[{"name": "a", "figures": "glue"}]), "stages.0.figures", ""),
        (ice(stages=[{"name": "a", "attended_minutes": -1}]), "stages.0.attended_minutes", ""),
        (
            ice(stages=[{"name": "a", "records": [{"kind": "song", "name": "b"}]}]),
            "stages.0.records.0.kind",
            "",
        ),
        (ice(stages=[{"name": "a", "records": [{"kind": "cure", "name": ""}]}]), "stages", "needs a name"),
        (ice(name=" "), "name", "needs a name"),
        (ice(rod_kind="whale"), "rod_kind", "“whale” is not a kind of rod"),
    ],
)
def test_a_sequence_that_cannot_be_is_refused(
    desk: Program, sent: dict[str, Any], field: str, says: str
) -> None:
    refused = errors(desk.assert_refused(422, "/sequences", **sent))
    assert [name for name, _detail in refused] == [field]
    assert says in refused[0][1]
    assert len(desk.get("/sequences")["items"]) == 1


def test_the_list_goes_on_by_key_and_reads_every_stage(desk: Program) -> None:
    made = desk.post("/sequences", **ice({"kind": "warm"}))
    first = desk.get("/sequences", limit=1)
    assert [item["id"] for item in first["items"]] == [SEQUENCE]
    second = desk.get("/sequences", limit=1, after=first["next"])
    assert (second["items"], second["next"]) == ([made], None)


@pytest.mark.parametrize(
    ("scope", "looks", "changes"),
    [(Scope.READ, 200, 403), (Scope.BENCH, 200, 403), (Scope.DESK, 200, 201), (Scope.SENSOR, 403, 403)],
)
def test_who_may_look_and_who_may_change(program: Any, scope: Scope, looks: int, changes: int) -> None:
    other: Program = program(scope)
    assert other.send("GET", "/sequences").status_code == looks
    assert other.send("GET", f"/sequences/{SEQUENCE}").status_code == looks
    assert other.send("POST", "/sequences", json=ice()).status_code == changes


def test_a_retried_post_is_done_once(desk: Program) -> None:
    headers = {"Idempotency-Key": "ice 1"}
    answers = [desk.send("POST", "/sequences", json=ice(), headers=headers) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    assert len(desk.get("/sequences")["items"]) == 2


def test_a_sequence_that_is_not_on_file(desk: Program) -> None:
    desk.assert_refused(404, "/sequences/7", method="GET")
