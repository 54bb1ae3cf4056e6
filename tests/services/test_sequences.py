"""Sequences on file: versions that builds keep, changes in place, and names that are taken."""

from dataclasses import replace
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy.orm import Session

from shop.queries.sequences import (
    present_sequences,
    sequence_value,
    sequence_values,
    sequence_view,
    sequences_after,
    stage_ids,
    versions_of,
)
from shop.rules.ready_made import READY_MADE
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.rules.sequence_editing import move_stage, remove_stage
from shop.rules.sequences import Hold, HoldKind, Sequence, Stage
from shop.services.builds import take_on_build
from shop.services.customers import add_customer
from shop.services.sequences import (
    add_ready_made,
    add_sequence,
    begin_sequence,
    change_sequence,
    retire_sequence,
)
from tests.api.filled import SEQUENCE_VALUE
from tests.conftest import START

LATER = START + timedelta(hours=1)
ICE = Sequence("Ice rod", "spinning", (Stage("agreed"), Stage("glued")))


@pytest.fixture
def ice(session: Session) -> int:
    return add_sequence(session, now=START, sequence=ICE).id


def start_a_build(session: Session, sequence_id: int) -> None:
    customer = add_customer(session, now=START, name="Ada Thorn")
    take_on_build(
        session, now=START, zone=ZoneInfo("UTC"), customer_id=customer.id, title="a rod",
        rod_kind="spinning", sequence_id=sequence_id,
    )  # fmt: skip


@pytest.mark.parametrize("sequence", [*READY_MADE, SEQUENCE_VALUE], ids=lambda sequence: sequence.name)
def test_a_sequence_is_read_back_as_it_was_put_on_file(session: Session, sequence: Sequence) -> None:
    made = add_sequence(session, now=START, sequence=sequence)
    session.expire_all()
    assert sequence_value(session, made.id) == sequence
    assert set(stage_ids(session, made.id)) == {stage.name for stage in sequence.stages}
    view = sequence_view(session, made.id)
    assert (view.family_id, view.version, view.builds, view.retired_at) == (made.id, 1, 0, None)


def test_the_ready_made_ones_come_once_however_often_they_are_asked_for(session: Session) -> None:
    add_ready_made(session, now=START)
    add_ready_made(session, now=LATER)
    present = present_sequences(session)
    assert {(view.name, view.rod_kind) for view in present} == {(s.name, s.rod_kind) for s in READY_MADE}
    assert [view.version for view in present] == [2] * len(READY_MADE)


def test_a_change_before_any_build_is_in_place(session: Session, ice: int) -> None:
    changed = move_stage(ICE, "glued", -1)
    assert change_sequence(session, ice, now=LATER, sequence=changed).id == ice
    assert sequence_value(session, ice) == changed
    assert [view.version for view in versions_of(session, ice)] == [1]


def test_a_change_after_a_build_has_started_is_the_next_version(session: Session, ice: int) -> None:
    start_a_build(session, ice)
    before = stage_ids(session, ice)
    changed = remove_stage(ICE, "glued")
    made = change_sequence(session, ice, now=LATER, sequence=changed)
    assert made.id != ice
    assert (sequence_value(session, ice), stage_ids(session, ice)) == (ICE, before)
    assert sequence_value(session, made.id) == changed
    seen = [(view.version, view.builds, view.retired_at) for view in versions_of(session, ice)]
    assert seen == [(2, 0, None), (1, 1, LATER)]
    # Nothing has started on the new version yet, so its next change is in place.
    assert change_sequence(session, made.id, now=LATER, sequence=ICE).id == made.id


def test_what_is_overtaken_or_out_of_use_is_not_changed(session: Session, ice: int) -> None:
    start_a_build(session, ice)
    newer = change_sequence(session, ice, now=LATER, sequence=ICE).id
    with pytest.raises(Overtaken, match="Version 2 of this sequence is newer"):
        change_sequence(session, ice, now=LATER, sequence=ICE)
    retire_sequence(session, newer, now=LATER)
    with pytest.raises(Overtaken, match="out of use"):
        change_sequence(session, newer, now=LATER, sequence=ICE)
    retire_sequence(session, newer, now=LATER + timedelta(hours=1))
    assert sequence_view(session, newer).retired_at == LATER
    assert present_sequences(session) == []


def test_one_of_a_present_name_and_kind_is_the_next_version(session: Session, ice: int) -> None:
    made = add_sequence(session, now=LATER, sequence=remove_stage(ICE, "glued"))
    assert [(view.id, view.version) for view in versions_of(session, ice)] == [(made.id, 2), (ice, 1)]
    other_kind = add_sequence(session, now=LATER, sequence=replace(ICE, rod_kind="casting"))
    assert sequence_view(session, other_kind.id).version == 1


def test_a_name_that_is_taken_begins_nothing_and_renames_nothing(session: Session, ice: int) -> None:
    with pytest.raises(BadInput, match="called “Ice rod” already") as refused:
        begin_sequence(session, now=LATER, sequence=ICE)
    assert list(refused.value.errors) == ["name"]
    pond = begin_sequence(session, now=LATER, sequence=replace(ICE, name="Pond rod")).id
    with pytest.raises(BadInput, match="called “Ice rod” already"):
        change_sequence(session, pond, now=LATER, sequence=ICE)
    renamed = change_sequence(session, pond, now=LATER, sequence=replace(ICE, name="Lake rod"))
    assert (renamed.id, renamed.name) == (pond, "Lake rod")
    retire_sequence(session, ice, now=LATER)
    assert begin_sequence(session, now=LATER, sequence=ICE).version == 1


@pytest.mark.parametrize(
    ("sequence", "field"),
    [
        (replace(ICE, name=" "), "name"),
        (replace(ICE, rod_kind="whale"), "rod_kind"),
        (replace(ICE, stages=()), "stages"),
        (replace(ICE, stages=(Stage("a", draws=("bell",)),)), "stages"),
        (replace(ICE, stages=(Stage("a", figures=("luck",)),)), "stages"),
        (replace(ICE, stages=(Stage("a", holds=(Hold(HoldKind.SET),)),)), "stages"),
    ],
)
def test_what_makes_no_sense_is_refused_by_field(
    session: Session, ice: int, sequence: Sequence, field: str
) -> None:
    for verb in (add_sequence, begin_sequence):
        with pytest.raises(BadInput) as refused:
            verb(session, now=LATER, sequence=sequence)
        assert list(refused.value.errors) == [field]
    with pytest.raises(BadInput):
        change_sequence(session, ice, now=LATER, sequence=sequence)
    assert sequence_value(session, ice) == ICE
    assert len(sequences_after(session, 0, 9)) == 1


def test_several_versions_are_read_at_once(session: Session, ice: int) -> None:
    short = add_sequence(session, now=START, sequence=SEQUENCE_VALUE).id
    assert sequence_values(session, [ice, short, 99]) == {ice: ICE, short: SEQUENCE_VALUE}
    assert sequence_values(session, []) == {}


def test_a_sequence_that_is_not_on_file(session: Session) -> None:
    for ask in (sequence_view, sequence_value):
        with pytest.raises(NotOnFile):
            ask(session, 7)
    with pytest.raises(NotOnFile):
        change_sequence(session, 7, now=LATER, sequence=ICE)
    with pytest.raises(NotOnFile):
        retire_sequence(session, 7, now=LATER)
