"""One rod's page: logging, refusals, ticks ahead, releases, sending back, and what each answers."""

import re
from collections.abc import Callable
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient

from shop.craft.quantities import parse_quantity
from shop.queries.bench import BenchRow
from shop.rules.decide import ClearedBy, Decision, ShutHold, decide
from shop.rules.facts import Meant
from shop.rules.people import Role
from shop.rules.sequences import Hold, HoldKind, Record, RecordKind, Sequence, Stage
from shop.services.shop import set_spine_rules
from shop.web.benches import BenchSide
from shop.web.deps import Hub
from shop.web.rod_page import Ask, asks_of, is_blocked
from shop.web.rods import state_of
from tests.conftest import Hands
from tests.web.bench_shop import HTMX, ROD, open_bench

SignIn = Callable[[Role], TestClient]


@pytest.fixture
def bench(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    open_bench(hub, hands)
    return signed_in(Role.OWNER)


def log(client: TestClient, to: str, **fields: str) -> int:
    """Log a stage as a plain form; the status it was answered with."""
    return client.post(f"{ROD}/advance", data={"to": to, **fields}).status_code


def glue_the_grip(client: TestClient) -> None:
    """Take the rod to its first glued joint."""
    assert log(client, "agreed") == 303
    assert log(client, "fitted", **{"measure-rear bore": "12 mm"}) == 303
    assert client.post("/cup", data={"adhesive_id": "1", "zone_id": "1"}).status_code == 303
    assert log(client, "grip glued", **{"mix-rear grip": "1"}) == 303


def events(page: str) -> list[str]:
    """The titles of the record as the page lists them, newest first."""
    return re.findall(r'<p class="record-title">(?:<s>)?([^<]+)', page)


def test_a_plain_form_goes_on_to_the_rod_and_says_what_was_logged(bench: TestClient) -> None:
    answer = bench.post(f"{ROD}/advance", data={"to": "agreed", "note": "by telephone"})
    assert (answer.status_code, answer.headers["location"]) == (303, ROD)
    page = bench.get(ROD)
    assert "Logged: agreed." in page.text
    assert "by telephone" in page.text
    assert "Logged: agreed." not in bench.get(ROD).text


def test_htmx_posts_end_where_plain_ones_do(bench: TestClient) -> None:
    answer = bench.post(f"{ROD}/advance", data={"to": "agreed"}, headers=HTMX)
    assert answer.status_code == 303
    assert events(bench.get(ROD).text) == ["agreed"]


def test_a_form_that_cannot_be_comes_back_with_everything_typed(bench: TestClient) -> None:
    log(bench, "agreed")
    typed = {"to": "fitted", "measure-rear bore": "twelve", "note": "with the long reamer"}
    answer = bench.post(f"{ROD}/advance", data=typed)
    assert answer.status_code == 422
    assert "with the long reamer" in answer.text
    assert 'value="twelve"' in answer.text
    assert "“twelve”" in answer.text
    assert 'id="e-measure-rear-bore"' in answer.text
    assert events(bench.get(ROD).text) == ["agreed"]


def test_a_time_in_the_future_is_said_beside_its_field(bench: TestClient) -> None:
    answer = bench.post(f"{ROD}/advance", data={"to": "agreed", "at": "2026-03-02T09:01"})
    assert answer.status_code == 422
    assert "in the future" in answer.text
    assert 'value="2026-03-02T09:01"' in answer.text


def test_a_held_stage_is_refused_with_every_reason_and_the_time(bench: TestClient, hands: Hands) -> None:
    glue_the_grip(bench)
    answer = bench.post(f"{ROD}/advance", data={"to": "seat glued", "note": "trying"})
    assert answer.status_code == 409
    assert "The Riverbed at the rear grip has not set." in answer.text
    assert "until 19:00" in answer.text
    assert "a second person must tick it" in answer.text
    assert "trying" in answer.text
    hands.forward(hours=10)
    assert "has not set" not in bench.get(ROD).text


def test_a_second_person_ticks_ahead_and_the_first_logs(
    bench: TestClient, hands: Hands, signed_in: SignIn
) -> None:
    glue_the_grip(bench)
    hands.forward(hours=10)
    ticked = {"to": "seat glued", "check-orientation": "on"}
    assert bench.post(f"{ROD}/advance", data=ticked).status_code == 409, "nobody is their own second person"
    helper = signed_in(Role.HELPER)
    assert helper.post(f"{ROD}/note", data=ticked).status_code == 303
    builder = signed_in(Role.BUILDER)
    assert log(builder, "seat glued") == 303
    assert "orientation ticked by helper" in builder.get(ROD).text


def test_whoever_ticked_alone_is_told_before_the_tap_and_anybody_else_may_tick_too(
    bench: TestClient, hands: Hands, signed_in: SignIn
) -> None:
    glue_the_grip(bench)
    hands.forward(hours=10)
    assert bench.post(f"{ROD}/note", data={"to": "seat glued", "check-orientation": "on"}).status_code == 303
    page = bench.get(ROD).text
    assert "must be ticked by a second person, not by owner alone" in page
    assert 'name="check-orientation"' not in page
    helper = signed_in(Role.HELPER)
    page = helper.get(ROD).text
    assert 'name="check-orientation"' in page
    assert "Ticked by owner so far." in page
    assert "must be ticked" not in page
    assert log(helper, "seat glued") == 303


def test_a_figure_out_of_tolerance_may_be_measured_again(bench: TestClient) -> None:
    log(bench, "agreed")
    assert bench.post(f"{ROD}/note", data={"to": "fitted", "measure-rear bore": "14 mm"}).status_code == 303
    assert 'name="measure-rear bore"' in bench.get(ROD).text
    assert bench.post(f"{ROD}/note", data={"to": "fitted", "measure-rear bore": "12 mm"}).status_code == 303
    assert 'name="measure-rear bore"' not in bench.get(ROD).text


HANDLE = Record(RecordKind.MEASUREMENT, "handle")
MEANT = {"handle": Meant(parse_quantity("250 mm"), parse_quantity("3 mm"))}
ASKED = Ask("measurement", "handle", "meant: 9 27/32 in (250 mm) ± 1/8 in (3 mm)", False)


def with_make_up(hub: Hub, stage: Stage, measured: str = "", meant: dict[str, Meant] = MEANT) -> BenchRow:
    """The rod on the bench, as if `stage` came next and its make-up meant those figures."""
    with hub.database.reading() as session:
        row = BenchSide(hub, hub.clock.now()).row(session, "26-001")
    figures = {"handle": parse_quantity(measured)} if measured else {}
    facts = replace(row.facts, meant=meant, measured=figures)
    sequence = Sequence("short", "casting", (stage,))
    return row._replace(
        sequence=sequence, facts=facts, decision=decide(sequence, facts, stage.name, hub.clock.now())
    )


@pytest.mark.usefixtures("bench")
@pytest.mark.parametrize(
    "stage",
    [
        Stage("fitted", records=(HANDLE,)),
        Stage("fitted", holds=(Hold(HoldKind.MEASUREMENT, name="handle"),)),
        Stage("fitted", holds=(Hold(HoldKind.MEASUREMENT, name="handle"),), records=(HANDLE,)),
    ],
    ids=["record", "hold", "both"],
)
def test_what_the_make_up_means_stands_beside_the_figure_until_that_is_right(hub: Hub, stage: Stage) -> None:
    for measured, asked in (("", [ASKED]), ("253.000001 mm", [ASKED]), ("62 g", [ASKED]), ("253 mm", [])):
        row = with_make_up(hub, stage, measured)
        assert asks_of(stage, row, "owner", {}) == asked, measured
        assert not is_blocked(row)


@pytest.mark.usefixtures("bench")
def test_a_figure_that_the_make_up_does_not_say_is_asked_once_and_blocks_where_a_hold_wants_it(
    hub: Hub,
) -> None:
    plain = ASKED._replace(hint="")
    held = Stage("fitted", holds=(Hold(HoldKind.MEASUREMENT, name="handle"),))
    for stage, is_held in ((held, True), (Stage("fitted", records=(HANDLE,)), False)):
        for measured, asked in (("", [plain]), ("1 mm", [])):
            row = with_make_up(hub, stage, measured, meant={})
            assert asks_of(stage, row, "owner", {}) == asked
            assert is_blocked(row) is is_held


@pytest.mark.usefixtures("bench")
@pytest.mark.parametrize(
    ("kind", "reason"),
    [
        (HoldKind.RECOAT, "The recoat window of the Quick prep finish has not opened."),
        (HoldKind.SUSPECT, "The mix is under suspicion: Stalled in the cold, and “handle” was loose."),
    ],
)
def test_the_words_of_a_reason_neither_ask_for_a_tick_nor_stall_a_rod(
    hub: Hub, kind: HoldKind, reason: str
) -> None:
    row = with_make_up(hub, Stage("fitted", records=(HANDLE,)), "250 mm")
    hold = ShutHold(kind, reason, None, ClearedBy.OWNER)
    row = row._replace(decision=Decision(row.decision.stage, (hold,)))
    assert row.decision.stage is not None
    assert asks_of(row.decision.stage, row, "owner", {}) == []
    assert is_blocked(row)
    assert state_of(row, hub.clock.now(), ZoneInfo("UTC")).kind == "held"
    stalled = row._replace(decision=Decision(row.decision.stage, (replace(hold, is_stalled=True),)))
    assert state_of(stalled, hub.clock.now(), ZoneInfo("UTC")).kind == "stalled"


def test_the_check_of_the_orientation_asks_by_the_shop_s_own_rule(
    bench: TestClient, hub: Hub, hands: Hands
) -> None:
    glue_the_grip(bench)
    assert "The guides go on the marked side" in bench.get(ROD).text
    with hub.database.writing(hands.wall_at) as session:
        set_spine_rules(session, {"casting": "ignored"}, version=1)
    page = bench.get(ROD).text
    assert "This shop goes by the straightest axis" in page
    assert "on the marked side" not in page


def test_a_note_without_a_tick_or_figure_is_not_dropped_in_silence(bench: TestClient) -> None:
    answer = bench.post(f"{ROD}/note", data={"to": "agreed", "note": "asked about the colour"})
    assert answer.status_code == 422
    assert "asked about the colour" in answer.text
    assert events(bench.get(ROD).text) == []


def test_a_time_without_its_mix_is_not_dropped_in_silence(bench: TestClient) -> None:
    log(bench, "agreed")
    log(bench, "fitted", **{"measure-rear bore": "12 mm"})
    typed = {"to": "grip glued", "mix-rear grip": "", "closed-rear grip": "2026-03-02T08:40"}
    answer = bench.post(f"{ROD}/advance", data=typed)
    assert answer.status_code == 422
    assert "Choose the mix that the rear grip was closed with" in answer.text
    assert 'value="2026-03-02T08:40"' in answer.text
    assert "grip glued" not in events(bench.get(ROD).text)


def test_a_figure_out_of_tolerance_is_released_by_an_owner_with_a_reason(
    bench: TestClient, signed_in: SignIn
) -> None:
    log(bench, "agreed")
    wide = {"to": "fitted", "measure-rear bore": "13 mm"}
    assert bench.post(f"{ROD}/note", data=wide).status_code == 303
    assert log(bench, "fitted") == 409
    release = {"to": "fitted", "kind": "measurement"}
    assert bench.post(f"{ROD}/release", data=release).status_code == 422, "a release needs its reason"
    told = {**release, "reason-measurement": "a bushing fills it"}
    builder = signed_in(Role.BUILDER)
    assert builder.post(f"{ROD}/release", data=told).status_code == 403
    owner = bench
    owner.cookies.clear()
    owner.post("/sign-in", data={"name": "owner", "password": "a long enough password"})
    assert owner.post(f"{ROD}/release", data=told).status_code == 303
    assert log(owner, "fitted") == 303
    assert "a bushing fills it" in owner.get(ROD).text


def test_chemistry_is_not_released(bench: TestClient) -> None:
    glue_the_grip(bench)
    told = {"to": "seat glued", "kind": "set", "reason-set": "in a hurry"}
    answer = bench.post(f"{ROD}/release", data=told)
    assert answer.status_code == 422
    assert "never released" in answer.text


def test_a_mix_after_its_pot_life_closes_nothing_and_the_stage_is_not_logged(
    bench: TestClient, hands: Hands
) -> None:
    glue_the_grip(bench)
    hands.forward(hours=10)
    assert bench.post(f"{ROD}/note", data={"to": "seat glued", "check-orientation": "on"}).status_code == 303
    told = {"to": "seat glued", "mix-reel seat": "1"}
    answer = bench.post(f"{ROD}/advance", data=told)
    assert answer.status_code == 409
    assert "mix again" in answer.text or "second person" in answer.text
    assert "seat glued" not in events(bench.get(ROD).text)


def test_a_faulty_sending_back_is_shown_with_its_form_open(bench: TestClient) -> None:
    log(bench, "agreed")
    answer = bench.post(f"{ROD}/send-back", data={"back-to": "agreed", "back-reason": "x" * 501})
    assert answer.status_code == 422
    assert "at most 500 fit" in answer.text
    assert '<details class="more" open>' in answer.text


def test_sending_back_begins_a_pass_and_needs_a_reason(bench: TestClient) -> None:
    glue_the_grip(bench)
    back = {"back-to": "fitted", "back-reason": ""}
    assert bench.post(f"{ROD}/send-back", data=back).status_code == 422
    told = {"back-to": "fitted", "back-reason": "the grip came loose"}
    assert bench.post(f"{ROD}/send-back", data=told).status_code == 303
    page = bench.get(ROD).text
    assert "pass 2" in page
    assert "the grip came loose" in page
    assert "Next: grip glued" in page


@pytest.mark.parametrize("path", ["send-back", "release"])
def test_a_helper_may_not(bench: TestClient, signed_in: SignIn, path: str) -> None:
    assert bench.get(ROD).status_code == 200
    assert signed_in(Role.HELPER).post(f"{ROD}/{path}", data={}).status_code == 403


def test_a_rod_that_is_not_on_file_is_said_so(bench: TestClient) -> None:
    answer = bench.get("/builds/26-999")
    assert answer.status_code == 404
    assert "There is no build 26-999 on file." in answer.text


def test_an_entry_put_right_stays_and_is_struck_through(bench: TestClient) -> None:
    log(bench, "agreed")
    answer = bench.post("/events/1/correct", data={"undone": "on", "reason": "wrong rod"})
    assert (answer.status_code, answer.headers["location"]) == (303, ROD)
    page = bench.get(ROD).text
    assert "<s>agreed</s>" in page
    assert "wrong rod" in page
    assert "Next: agreed" in page
    nothing = bench.post("/events/1/correct", data={"reason": "no fact named"})
    assert nothing.status_code == 422
    assert "no fact named" in nothing.text


def test_a_cure_put_right_sets_by_its_new_time(bench: TestClient) -> None:
    glue_the_grip(bench)
    told = {"closed_at": "2026-03-02T08:30", "reason": "typed late"}
    refused = bench.post("/cures/1/correct", data=told)
    assert refused.status_code == 422
    assert "before its mix was made" in refused.text
    failed = bench.post("/cures/1/correct", data={"failed": "on", "reason": "came loose"})
    assert failed.status_code == 303
    assert "Failed: came loose" in bench.get(failed.headers["location"]).text
    assert "The joint at the rear grip has failed; it must be done anew." in bench.get(ROD).text
    again = bench.post("/cures/1/correct", data={"failed": "on", "reason": "again"})
    assert again.status_code == 409


def test_a_helper_reads_the_entries_but_is_offered_no_correction(
    bench: TestClient, signed_in: SignIn
) -> None:
    glue_the_grip(bench)
    assert all("/correct" in bench.get(path).text for path in ("/events/1", "/cures/1"))
    helper = signed_in(Role.HELPER)
    for path in ("/events/1", "/cures/1"):
        answer = helper.get(path)
        assert answer.status_code == 200
        assert "/correct" not in answer.text


def test_a_joint_is_put_to_the_mix_and_the_zone_that_were_meant(bench: TestClient) -> None:
    assert bench.post("/cup", data={"adhesive_id": "2", "zone_id": "1"}).status_code == 303
    log(bench, "agreed")
    log(bench, "fitted", **{"measure-rear bore": "12 mm"})
    bench.post("/cup", data={"adhesive_id": "1", "zone_id": "1"})
    assert log(bench, "grip glued", **{"mix-rear grip": "2"}) == 303
    page = bench.get("/cures/1").text
    assert "Stillwater, mixed" in page
    put = {"mix": "1", "zone": "1", "reason": "Took the wrong cup on the list."}
    assert bench.post("/cures/1/correct", data=put).headers["location"] == "/cures/2"
    assert "Stillwater" in bench.get("/cures/2").text.split("<h2>Put right")[0]
    assert bench.post("/cures/2/correct", data={"mix": "x", "reason": "No."}).status_code == 422
