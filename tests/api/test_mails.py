"""Mail over HTTP: the outbox, the words of each kind, and the settings, whose password is never given."""

import pytest

from shop.outside.folder import read_mail_password
from shop.rules.mails import MailKind
from shop.services.outbox import claim_mail, mark_failed
from shop.web.deps import Hub
from tests.api.conftest import Program
from tests.conftest import Hands
from tests.mail_shop import ADA, FROM, switch_kind, switch_mail


@pytest.fixture
def told(filled: Hub, hands: Hands, desk: Program) -> str:
    """The number of a rod about which one mail waits."""
    with filled.database.writing(hands.wall_at) as session:
        switch_mail(session)
        switch_kind(session, MailKind.QUOTE)
    sequence = desk.post(
        "/sequences", name="told", rod_kind="casting",
        stages=[
            {"name": "agreed", "customer_words": "Agreed.", "tells_customer": True},
            {"name": "wrapped"}, {"name": "handed over"},
        ],
    )  # fmt: skip
    customer = desk.post("/customers", name="Ada Vale", email=ADA)
    changed = desk.send("PATCH", "/mail-templates/stage", json={"is_on": True})
    assert (changed.status_code, changed.json()["version"]) == (200, 1)
    number = desk.build(customer_id=customer["id"], sequence_id=sequence["id"])
    desk.post(f"/builds/{number}/advance", to="agreed")
    return number


def test_the_outbox_is_read_and_a_word_said_about_a_mail(
    filled: Hub, hands: Hands, desk: Program, told: str
) -> None:
    (item,) = desk.get("/mails")["items"]
    assert (item["kind"], item["state"], item["build"], item["to_address"]) == ("stage", "waiting", told, ADA)
    assert "{link}" in item["text"]
    assert item == desk.get(f"/mails/{item['id']}")
    assert desk.get("/mails", build=told)["items"] == [item]
    assert desk.get("/mails", build="26-999")["items"] == []
    with filled.database.writing(hands.wall_at) as session:
        claim = claim_mail(session, now=hands.wall_at, secret=filled.secret, public_url="")
        assert claim is not None
    desk.assert_refused(409, "/mails/1/drop")
    with filled.database.writing(hands.wall_at) as session:
        mark_failed(session, claim, now=hands.wall_at, says="550 no", is_for_good=True)
    given_up = desk.get("/mails/1")
    assert (given_up["state"], given_up["tries_count"], given_up["last_error"]) == ("given_up", 1, "550 no")
    assert desk.post("/mails/1/try-again")["state"] == "waiting"
    dropped = desk.post("/mails/1/drop")
    assert (dropped["state"], dropped["last_error"]) == ("given_up", "Not to be sent, desk key says.")
    desk.assert_refused(409, "/mails/1/drop")
    desk.assert_refused(404, "/mails/9/try-again")


@pytest.mark.usefixtures("told")
def test_a_retry_of_a_word_answers_the_same(desk: Program) -> None:
    once = {"headers": {"Idempotency-Key": "one"}}
    first = desk.send("POST", "/mails/1/drop", **once)
    again = desk.send("POST", "/mails/1/drop", **once)
    assert (first.status_code, again.status_code, first.json()) == (200, 200, again.json())


def test_words_are_read_and_changed(desk: Program) -> None:
    items = desk.get("/mail-templates")["items"]
    assert [item["kind"] for item in items] == [kind.value for kind in MailKind]
    assert not any(item["is_on"] for item in items)
    slip = desk.get("/mail-templates/slip")
    assert {"was", "day", "reason", "link"} <= set(slip["placeholders"])
    answer = desk.send("PATCH", "/mail-templates/slip", json={"text": "Dear {customer}: {reason}"})
    assert answer.json() == {**slip, "text": "Dear {customer}: {reason}", "version": 1}
    problem = desk.assert_refused(422, "/mail-templates/slip", method="PATCH", text="{stage}")
    assert problem["errors"][0]["field"] == "text"
    desk.assert_refused(422, "/mail-templates/slip", method="PATCH", text=None)
    desk.assert_refused(422, "/mail-templates/spam", method="PATCH", text="x")


def test_settings_take_a_password_and_never_give_one(filled: Hub, desk: Program) -> None:
    before = desk.get("/mail-settings")
    assert (before["is_on"], before["has_password"]) == (False, False)
    changes = {
        "is_on": True, "host": "mail.example.org", "from_address": FROM, "password": "bright-amber-7",
    }  # fmt: skip
    answer = desk.send("PATCH", "/mail-settings", json=changes)
    assert "bright-amber-7" not in answer.text
    after = {**before, "is_on": True, "host": "mail.example.org", "from_address": FROM}
    assert answer.json() == {**after, "has_password": True, "version": 2}
    assert read_mail_password(filled.settings.data) == "bright-amber-7"
    desk.assert_refused(422, "/mail-settings", method="PATCH", host="", password="another")
    desk.assert_refused(422, "/mail-settings", method="PATCH", password="ärger")
    assert read_mail_password(filled.settings.data) == "bright-amber-7"
    desk.send("PATCH", "/mail-settings", json={"password": ""})
    assert not desk.get("/mail-settings")["has_password"]


def test_only_the_desk_reads_the_outbox(bench: Program) -> None:
    for path in ("/mails", "/mails/1", "/mail-settings"):
        bench.assert_refused(403, path, method="GET")
