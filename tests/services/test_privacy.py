"""Erasing a customer: the person is nowhere afterwards, the rods stay, and what stands in the way."""

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, datetime
from typing import Any

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import text
from sqlalchemy.orm import Session

from shop.craft.quote import PartLine
from shop.queries.builds import build_view, builds_of_customer
from shop.queries.customers import customer_view
from shop.queries.events import events_of_build
from shop.queries.privacy import everything_about, named_elsewhere, obstacles_to_erasing
from shop.queries.quotes import quotes_of_build
from shop.queries.specs import latest_spec
from shop.rules.intakes import Condition, IntakeSaid
from shop.rules.mails import MailKind, MailState
from shop.rules.payments import PaymentSaid
from shop.rules.people import Scope
from shop.rules.privacy import KINDS, REASONS, faults_of_erasing, scrubbed, traces_of
from shop.rules.quotes import trimmed
from shop.rules.refusals import BadInput, NotOnFile, Overtaken
from shop.rules.returns import ReturnSaid
from shop.rules.spec import HandleRow, Spec
from shop.services.bench import Bench
from shop.services.builds import change_build, take_on_build
from shop.services.customers import change_customer
from shop.services.enquiries import take_down_enquiry
from shop.services.events import Logged, advance
from shop.services.intakes import RepairSaid, sign_intake, take_in_repair
from shop.services.messages import write_from_customer, write_from_shop
from shop.services.orders import close_order
from shop.services.payments import record_payment
from shop.services.photos import StoredPhoto, add_photos, share_photo
from shop.services.privacy import ErasingSaid, erase_customer
from shop.services.quotes import QuoteSaid, answer_quote, make_quote, send_quote
from shop.services.returns import record_return
from shop.services.specs import revise_spec
from shop.services.status_links import give_link, live_token
from shop.web.deps import Hub
from tests.api.conftest import API, new_key
from tests.conftest import Hands
from tests.lot_shop import bench_at
from tests.mail_shop import open_mail_shop, outbox
from tests.quote_shop import LINES
from tests.spec_shop import UTC

NAME, EMAIL, PHONE = "Ingeborg Quassia-Ä", "ingeborg@quassia.example", "+49 170 5551234"
ALL_OF_IT = f"{NAME}, {EMAIL}, {PHONE}"
SECRET = bytes(range(32))
SPEC = Spec(
    "casting", f"7 ft for {NAME}", blank_words=f"as {NAME} has it", thread_name=f"{NAME}'s blue",
    handle=(HandleRow("rear grip", f"like {NAME}'s other one"),), hand_size="small", reel=f"{NAME}'s own",
    inscription=NAME, inscription_again=NAME, wishes=f"Ring me: {ALL_OF_IT}.",
)  # fmt: skip


class Planted:
    """A shop in which one person's data stand wherever they can come in."""

    def __init__(self, session: Session, now: datetime) -> None:
        self.session = session
        self.bench: Bench = bench_at(session, now)
        self.numbers: list[str] = []
        self.person = 2

    def plant(self) -> None:
        session, bench = self.session, self.bench
        self._order()
        self._repair()
        change_build(session, self.numbers[0], bench, notes=f"{ALL_OF_IT} rang twice")
        for number in self.numbers:
            build = build_view(session, number)
            write_from_customer(session, build.id, now=bench.now, text=f"It is {ALL_OF_IT}.")
            write_from_shop(session, number, bench, text=f"Dear {NAME}, we wrote to {EMAIL}.")
            stored = StoredPhoto(f"{number}-0123456789", 10, 10, 100)
            (photo,) = add_photos(session, number, bench, [stored], caption=f"{NAME} with it")
            share_photo(session, photo, bench, shared=True)
            give_link(session, SECRET, build.id, now=bench.now)
        session.flush()

    def _order(self) -> None:
        """From the enquiry to a quote with a yes, paid, handed over, come back."""
        session, bench = self.session, self.bench
        build = take_down_enquiry(
            session, bench, zone=UTC, customer_id=self.person, spec=SPEC, notes=ALL_OF_IT
        )  # fmt: skip
        self.numbers.append(build.number)
        changed = replace(SPEC, thread_name=f"{NAME}'s green")
        revise_spec(session, build.number, bench, changed, revision=1, reason=f"{NAME} wrote from {EMAIL}")
        lines = replace(LINES, parts=(PartLine(f"Blank of {NAME}", 1, 10_00),))
        said = QuoteSaid(trimmed(lines), note=f"Thank you, {NAME}.")
        quote = make_quote(session, build.number, bench, said)
        token = send_quote(session, SECRET, quote.id, bench)
        answer_quote(session, SECRET, token, bench, answer="yes", name=NAME)
        total = quotes_of_build(session, build.id)[0].offer.made.total_cents
        paid = PaymentSaid("deposit", total, "cash", bench.now.date(), "", False)
        record_payment(session, build.number, bench, paid)
        for stage in ("agreed", "wrapped", "coated", "inspected", "handed over"):
            advance(session, build.number, bench, Logged(stage))
        back = ReturnSaid(bench.now.date(), "rust", person=NAME, note=f"{ALL_OF_IT} brought it")
        record_return(session, build.number, bench, back)

    def _repair(self) -> None:
        session, bench = self.session, self.bench
        said = IntakeSaid(
            bench.now.date(), f"rod of {NAME}", f"Mend it and ring {PHONE}.",
            (Condition("blank", "cracked", f"{NAME} fell on it"),),
        )  # fmt: skip
        number = take_in_repair(session, bench, RepairSaid(self.person, said), zone=UTC).number
        sign_intake(session, number, bench, name=NAME, version=None)
        self.numbers.append(number)

    def erase(self, **more: Any) -> list[str]:
        said = ErasingSaid(**{"confirm": NAME, "reason": REASONS[0], "inscriptions": True, **more})
        return erase_customer(self.session, self.person, self.bench, said)


@pytest.fixture
def planted(hub: Hub, hands: Hands, client: TestClient) -> Iterator[Planted]:
    with hub.database.writing(hands.wall_at) as session:
        open_mail_shop(session, hands.wall_at)
    # Over the API, so that the first answers that are kept for retries have the person in them too.
    headers = {"authorization": f"Bearer {new_key(hub, hands, Scope.DESK)}", "idempotency-key": "one"}
    facts = {"name": NAME, "email": EMAIL, "phone": PHONE, "notes": ALL_OF_IT}
    made = client.post(f"{API}/customers", headers=headers, json={**facts, "photo_consent_on": "2026-03-01"})
    assert (made.status_code, made.json()["id"]) == (201, 2)
    with hub.database.writing(hands.wall_at) as session:
        shop = Planted(session, hands.wall_at)
        shop.plant()
        yield shop


def found_in(session: Session, *traces: str) -> set[str]:
    """The tables and columns in which any of these stands, index and shadow tables included."""
    connection = session.connection()
    tables = [
        row[0] for row in connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'table'"))
    ]
    spelt = {spelling for trace in traces for spelling in (trace, json.dumps(trace)[1:-1])}
    needles = [spelling.lower() for spelling in spelt]
    found = set()
    for table in tables:
        result = connection.execute(text(f'SELECT * FROM "{table}"'))
        for row in result:
            for name, value in zip(result.keys(), row, strict=True):
                said = value.decode(errors="replace") if isinstance(value, bytes) else str(value)
                if any(needle in said.lower() for needle in needles):
                    found.add(f"{table}.{name}")
    return found


def test_the_person_is_planted_everywhere_and_nowhere_afterwards(planted: Planted) -> None:
    planned = {
        "customers.name", "customers.email", "customers.phone", "customers.notes", "builds.title",
        "builds.notes", "specs.document", "specs.reason", "quotes.note", "quotes.document",
        "quote_answers.name", "messages.text", "mails.to_address", "mails.text", "photos.caption",
        "intakes.rod", "intakes.wish", "intakes.conditions", "intakes.signed_name", "returns.person",
        "returns.note", "first_answers.body", "search_words.title", "search_words.private",
        "search_words_content.c1",
    }  # fmt: skip
    assert planned <= found_in(planted.session, NAME, EMAIL, PHONE)
    planted.erase()
    assert found_in(planted.session, NAME, EMAIL, PHONE, "quassia", "ingeborg") == set()


def test_wishes_and_hands_go_and_the_rod_stays(planted: Planted) -> None:
    session, number = planted.session, planted.numbers[0]
    before = events_of_build(session, build_view(session, number).id)
    planted.erase()
    build = build_view(session, number)
    assert (build.customer, build.title, build.notes, build.stage) == (
        "Customer erased", "7 ft for (erased)", "", "handed over",
    )  # fmt: skip
    spec = latest_spec(session, build.id)
    assert spec is not None
    assert (spec.value.wishes, spec.value.hand_size, spec.value.inscription) == ("", "", "")
    assert (spec.value.thread_name, spec.value.rod_kind) == ("(erased)'s green", "casting")
    events = events_of_build(session, build.id)
    assert [event.id for event in events][: len(before)] == [event.id for event in before]
    assert "The customer was erased: the customer asked for it." in [event.note for event in events]
    (quote,) = quotes_of_build(session, build.id)
    assert (quote.answer, quote.said_by, quote.note, quote.withdrawn_at) == ("yes", "", "", None)
    customer = customer_view(session, planted.person)
    assert (customer.erased_at, customer.wants_mail, customer.photo_consent_on) == (
        planted.bench.now, False, None,
    )  # fmt: skip


def test_an_inscription_is_on_the_rod_and_stays_unless_it_is_ticked(planted: Planted) -> None:
    planted.erase(inscriptions=False)
    spec = latest_spec(planted.session, build_view(planted.session, planted.numbers[0]).id)
    assert spec is not None
    assert (spec.value.inscription, spec.value.wishes) == (NAME, "")
    assert found_in(planted.session, NAME) == {"specs.document"}


def test_links_end_and_mail_that_waits_is_not_sent(planted: Planted) -> None:
    session = planted.session
    builds = builds_of_customer(session, planted.person)
    assert {mail.kind for mail in outbox(session)} >= {MailKind.QUOTE, MailKind.HANDED_OVER}
    hashes = {quote.nonce for build in builds for quote in quotes_of_build(session, build.id)}
    planted.erase()
    assert all(live_token(session, SECRET, build.id) is None for build in builds)
    assert hashes.isdisjoint(q.nonce for build in builds for q in quotes_of_build(session, build.id))
    assert {mail.state for mail in outbox(session)} == {MailState.GIVEN_UP}
    assert {mail.to_address + mail.subject + mail.text for mail in outbox(session)} == {""}


@pytest.mark.parametrize("away", [False, True])
def test_photos_are_hidden_or_taken_away(planted: Planted, away: bool) -> None:
    gone = planted.erase(photos=away)
    assert gone == ([f"{number}-0123456789" for number in planted.numbers] if away else [])
    photos = everything_about(planted.session, planted.person)["photos"]
    assert {photo["shared_at"] for photo in photos} == {None}
    assert all((photo["removed_at"] is not None) is away for photo in photos)
    assert {photo["caption"] for photo in photos} == {"(erased) with it"}


def test_what_is_kept_is_told_whole_and_without_secrets(planted: Planted) -> None:
    found = everything_about(planted.session, planted.person)
    assert {kind.name for kind in KINDS} | {"quote_answers"} == set(found)
    counts = {name: len(rows) for name, rows in found.items()}
    assert counts == {
        "customer": 1, "builds": 2, "specs": 3, "quotes": 1, "quote_answers": 1, "payments": 1, "promises": 0,
        "messages": 4, "mails": counts["mails"], "photos": 2, "intakes": 1, "returns": 1, "status_links": 3,
    }  # fmt: skip
    assert found["customer"][0]["email"] == EMAIL
    assert found["builds"][0]["created_at"] == "2026-03-02T09:00:00Z"
    assert not {"nonce", "token_hash", "message_id"} & {
        name for rows in found.values() for row in rows for name in row
    }
    assert "name" not in found["photos"][0]
    json.dumps(found)


def test_others_keep_what_is_theirs(planted: Planted) -> None:
    session = planted.session
    change_customer(session, 1, notes=f"a friend of {NAME}")
    other = take_on_build(
        session, now=planted.bench.now, zone=UTC, customer_id=1, title="7 ft", rod_kind="casting",
        sequence_id=1, notes=f"like {NAME}'s",
    )  # fmt: skip
    advance(session, other.number, planted.bench, Logged("agreed", note=f"{NAME} was there"))
    named = {
        (line.where, line.rows, line.stays, line.numbers)
        for line in named_elsewhere(session, planted.person, traces_of(NAME, EMAIL, PHONE))
    }
    assert named == {
        ("customers", 1, False, ()),
        ("builds", 1, False, ()),
        ("events", 1, True, (other.number,)),
    }
    planted.erase()
    assert customer_view(session, 1).notes == f"a friend of {NAME}"
    assert customer_view(session, 1).name == "Ada Thorn"


def test_what_is_open_or_owed_stands_in_the_way_until_there_is_a_reason(planted: Planted) -> None:
    session, (rod, repair) = planted.session, planted.numbers
    assert obstacles_to_erasing(session, planted.person) == (f"{repair} is still open.",)
    with pytest.raises(BadInput) as bad:
        planted.erase(reason="")
    assert list(bad.value.errors) == ["reason"]
    assert f"{repair} is still open. Choose a reason" in bad.value.errors["reason"]
    close_order(session, repair, planted.bench, reason="the price")
    back = PaymentSaid("deposit", 100, "cash", planted.bench.now.date(), "", True)
    record_payment(session, rod, planted.bench, back)
    assert obstacles_to_erasing(session, planted.person) == (f"{rod} still owes 1.00 EUR.",)
    with pytest.raises(BadInput, match="still owes"):
        planted.erase(reason="")
    record_payment(session, rod, planted.bench, replace(back, given_back=False))
    planted.erase(reason="")
    assert events_of_build(session, build_view(session, rod).id)[-1].note == "The customer was erased."


def test_the_name_is_typed_again_and_it_is_done_once(planted: Planted) -> None:
    for wrong in ("", "Ingeborg", NAME.lower()):
        with pytest.raises(BadInput) as bad:
            planted.erase(confirm=wrong, reason="because")
        assert set(bad.value.errors) == {"confirm", "reason"}
    planted.erase()
    refused: list[Callable[[], object]] = [
        lambda: planted.erase(confirm="Customer erased"),
        lambda: change_customer(planted.session, planted.person, name="Ingeborg"),
    ]
    for attempt in refused:
        with pytest.raises(Overtaken, match="was erased"):
            attempt()
    with pytest.raises(BadInput, match="was erased"):
        take_on_build(
            planted.session, now=planted.bench.now, zone=UTC, customer_id=planted.person, title="7 ft",
            rod_kind="casting", sequence_id=1,
        )  # fmt: skip
    with pytest.raises(NotOnFile):
        erase_customer(planted.session, 99, planted.bench, ErasingSaid("x"))


@pytest.mark.parametrize(
    ("typed", "name", "is_same"),
    [
        (" Ada Thorn ", "Ada  Thorn", True),  # a page shows a wide gap as a narrow one
        ("Zo\u00eb", "Zoe\u0308", True),
        ("ada thorn", "Ada Thorn", False),
        ("", "Ada Thorn", False),
    ],
)
def test_the_name_is_compared_as_eyes_read_it(typed: str, name: str, is_same: bool) -> None:
    assert (faults_of_erasing(typed, name, "", ()) == {}) is is_same


def test_what_a_mail_wrote_to_an_earlier_address_goes_too(planted: Planted) -> None:
    session = planted.session
    change_customer(session, planted.person, name="Inga Quassia", email="inga@quassia.example")
    planted.erase(confirm="Inga Quassia")
    left = found_in(session, EMAIL)
    assert not {name for name in left if name.startswith(("mails", "customers", "messages"))}


@pytest.mark.parametrize(
    ("said", "traces"),
    [
        (("Ada Thorn", "", ""), ("Ada Thorn",)),
        ((" Ada  Thorn ", "ada@example.org", "0123 4567"), ("ada@example.org", "Ada Thorn", "0123 4567")),
        (("Al", "no address", "112"), ()),
    ],
)
def test_what_tells_a_person(said: tuple[str, str, str], traces: tuple[str, ...]) -> None:
    assert traces_of(*said) == traces


@pytest.mark.parametrize(
    ("value", "left"),
    [
        ("For ADA Thorn.", "For (erased)."),
        ("Ada Thornton", "Ada Thornton"),
        ("For Ada\n Thorn.", "For (erased)."),
        ({"a": ["Ada Thorn's", 3, None], "b": True}, {"a": ["(erased)'s", 3, None], "b": True}),
        (date(2026, 3, 2), date(2026, 3, 2)),
    ],
)
def test_a_trace_is_put_out_wherever_it_stands(value: Any, left: Any) -> None:
    assert scrubbed(value, ("Ada Thorn",)) == left
    assert scrubbed(value, ()) == value
