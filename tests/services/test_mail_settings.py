"""The settings of mail and the words of each kind: what cannot be, and two owners at once."""

from typing import Any

import pytest
from sqlalchemy.orm import Session

from shop.rules.mail_words import Words
from shop.rules.mails import MailKind
from shop.rules.refusals import BadInput, Overtaken
from shop.services.mail_settings import Line, change_mail_settings, change_mail_template, faults_of_line
from tests.mail_shop import (
    FROM,
)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"host": ""}, "host"),
        ({"host": "mail server"}, "host"),
        ({"host": "https://mail.example.org"}, "host"),
        ({"port": 0}, "port"),
        ({"port": 65_536}, "port"),
        ({"security": "ssl"}, "security"),
        ({"security": "none", "user_name": "nell"}, "security"),
        ({"from_address": ""}, "from_address"),
        ({"from_address": "shop"}, "from_address"),
        ({"from_name": "a\nb"}, "from_name"),
        ({"from_name": "x" * 121}, "from_name"),
        ({"user_name": "nell\r\n"}, "user_name"),
        ({"user_name": "ärger"}, "user_name"),
    ],
)
def test_settings_that_cannot_be(changes: dict[str, Any], field: str) -> None:
    good: dict[str, Any] = {"is_on": True, "host": "mail.example.org", "from_address": FROM}
    assert faults_of_line(Line(**good)) == {}
    assert list(faults_of_line(Line(**{**good, **changes}))) == [field]


def test_settings_that_are_off_may_be_unfinished_and_a_demo_stays_off(session: Session) -> None:
    assert faults_of_line(Line()) == {}
    assert faults_of_line(Line(host="::1", security="none", user_name="nell")) == {}
    on = Line(is_on=True, host="mail.example.org", from_address=FROM)
    with pytest.raises(BadInput, match="demo"):
        change_mail_settings(session, on, version=1, is_demo=True)
    change_mail_settings(session, on, version=1)
    with pytest.raises(Overtaken):
        change_mail_settings(session, on, version=1)


def test_words_that_another_owner_changed_are_not_overwritten(session: Session) -> None:
    first, second = Words("one", "one", ""), Words("two", "two", "")
    saved = change_mail_template(session, MailKind.SLIP, first, is_on=True, version=0)
    assert (saved.words, saved.is_on, saved.version) == (first, True, 1)
    with pytest.raises(Overtaken):
        change_mail_template(session, MailKind.SLIP, second, is_on=True, version=0)
    with pytest.raises(BadInput):
        change_mail_template(session, MailKind.SLIP, Words("{stage}", "x", ""), is_on=True, version=1)
    assert change_mail_template(session, MailKind.SLIP, second, is_on=False, version=1).words == second
