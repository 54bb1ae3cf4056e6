"""Mail: which stage is told how, how often it is tried, the words and their placeholders, and addresses."""

from datetime import UTC, date, datetime, timedelta
from email import message_from_string, policy

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.rules.mail_addresses import fault_of_address
from shop.rules.mail_words import OUR_WORDS, Words, faults_of_words, filled, finished
from shop.rules.mails import (
    MOST_TRIES,
    PLACEHOLDERS,
    MailKind,
    day_words,
    is_stale,
    key_of,
    kinds_for_stage,
    one_line,
    record_id_of,
    wait_after,
)
from shop.rules.sequences import Sequence, Stage

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
VALUES = {name: f"the {name}" for kind in MailKind for name in PLACEHOLDERS[kind]}
LINK = "https://rods.example/rod/abc"


def sequence(*tells: bool, words: str = "Done.") -> Sequence:
    return Sequence(
        "s", "casting",
        tuple(Stage(f"stage {n}", words, tells_customer=told) for n, told in enumerate(tells)),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("tells", "reached", "kinds"),
    [
        ((False, False, False, False), 0, ()),
        ((True, False, False, False), 0, (MailKind.STAGE,)),
        ((False, False, False, False), 2, (MailKind.READY,)),
        ((False, False, True, False), 2, (MailKind.READY, MailKind.STAGE)),
        ((False, False, False, False), 3, (MailKind.HANDED_OVER,)),
        ((False, False, False, True), 3, (MailKind.HANDED_OVER, MailKind.STAGE)),
    ],
)
def test_a_stage_is_told_as_what_it_is(
    tells: tuple[bool, ...], reached: int, kinds: tuple[MailKind, ...]
) -> None:
    rod = sequence(*tells)
    names = [stage.name for stage in rod.stages[: reached + 1]]
    assert kinds_for_stage(rod, rod.stages[reached], names) == kinds


def test_a_stage_without_words_is_not_told() -> None:
    rod = sequence(True, True, True, words="")
    assert kinds_for_stage(rod, rod.stages[0], ["stage 0"]) == ()


def test_what_is_told_of_one_event_has_one_key() -> None:
    assert {key_of(kind, 812) for kind in (MailKind.STAGE, MailKind.READY, MailKind.HANDED_OVER)} == {
        "stage:812"
    }
    assert [key_of(kind, 3) for kind in (MailKind.SLIP, MailKind.QUOTE, MailKind.CARE)] == [
        "slip:3", "quote:3", "care:3",
    ]  # fmt: skip
    assert record_id_of("stage:812") == 812


def test_it_is_tried_ever_more_seldom_for_some_days() -> None:
    waits = [wait_after(tries) for tries in range(1, MOST_TRIES)]
    assert waits[0] == timedelta(minutes=1)
    assert waits == sorted(wait for wait in waits if wait is not None)
    assert timedelta(days=2) < sum((wait for wait in waits if wait), timedelta()) < timedelta(days=4)
    assert wait_after(MOST_TRIES) is None


@pytest.mark.parametrize(("days", "stale"), [(0, False), (7, False), (7.001, True), (-1, False)])
def test_a_mail_that_lay_for_a_week_is_stale(days: float, stale: bool) -> None:
    assert is_stale(NOW - timedelta(days=days), NOW) is stale


def test_days_are_written_out() -> None:
    assert day_words(date(2026, 11, 26)) == "Thursday 26 November 2026"
    assert day_words(date(2024, 2, 29)) == "Thursday 29 February 2024"


@pytest.mark.parametrize("kind", MailKind)
def test_our_words_keep_to_their_own_rules(kind: MailKind) -> None:
    assert faults_of_words(kind, OUR_WORDS[kind]) == {}
    said = finished(filled(OUR_WORDS[kind], VALUES), LINK)
    assert "{" not in said.subject + said.text + said.html
    assert LINK in said.text
    assert f'href="{LINK}"' in said.html
    bare = finished(filled(OUR_WORDS[kind], dict.fromkeys(VALUES, "") | {"number": "26-014"}), "")
    assert "href" not in bare.html
    assert "page:" not in bare.text
    assert "\n\n\n" not in bare.text


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("Hello {customer}", ""),
        ("{{customer}} and }}{{", ""),
        ("Hello {costumer}", "Line 1 has “{costumer}”, which is not known here; there are {customer}, {rod}"),
        ("one\ntwo {reason}", "Line 2 has “{reason}”, which is not known here"),
        ("Hello {customer", "Line 1 has a { without its }; write {{ for a brace itself."),
        ("Hello customer}", "Line 1 has a } without its {; write }} for the brace itself."),
        ("{}", "Line 1 has “{}”, which is no placeholder"),
        ("{Customer}", "Line 1 has “{Customer}”, which is no placeholder"),
        ("{customer.__class__}", "Line 1 has “{customer.__class__}”, which is no placeholder"),
        ("{customer!r:>10}", "which is no placeholder"),
        ("{{{customer}}}", ""),
        ("{customer: {link}}", "which is no placeholder"),
        ("See {link} {rod}", "Line 1 has “{link}” beside another placeholder; give it a line of its own."),
        ("{link} or {link}", ""),
        (" \n ", "This is missing"),
        ("bell \a", "a character in it that cannot be sent"),
        ("x" * 10_001, "This has 10001 characters; at most 10000 fit."),
    ],
)
def test_what_is_wrong_with_words_is_named(text: str, says: str) -> None:
    errors = faults_of_words(MailKind.STAGE, Words("News", text, ""))
    expected = says.replace("for a brace", "for the brace")
    assert (expected in errors["text"]) if says else errors == {}, errors


@pytest.mark.parametrize("subject", ["", "two\nlines", "{link}", "{was}", "x" * 201])
def test_a_subject_is_one_line_without_the_link(subject: str) -> None:
    assert list(faults_of_words(MailKind.STAGE, Words(subject, "text", ""))) == ["subject"]


def test_lines_of_which_every_placeholder_is_empty_are_left_out() -> None:
    words = Words(
        "{rod}{owed}", "a\nb {owed}\n\nc {owed} {rod}\nd {link}\n{{e}}\n", "<p>{owed}</p>\n<i>{link}</i>"
    )
    values = {**VALUES, "owed": "", "rod": "a rod"}
    told = finished(filled(words, values), LINK)
    assert told == Words("a rod", f"a\n\nc  a rod\nd {LINK}\n{{e}}\n", f"<i>{LINK}</i>")
    assert finished(filled(words, values), "") == Words("a rod", "a\n\nc  a rod\n{e}\n", "")


def test_the_link_is_not_in_what_is_kept() -> None:
    kept = filled(OUR_WORDS[MailKind.STAGE], {**VALUES, "link": LINK, "customer": "{link} {{"})
    assert LINK not in "".join(kept)
    told = finished(kept, LINK)
    # What a customer is called is never read as a placeholder.
    assert told.text.startswith("Hello {link} {{,")
    assert "<p>Hello {link} {{,</p>" in told.html


def test_values_are_escaped_in_html_and_one_line_in_a_subject() -> None:
    wicked = '<img src=x onerror="a()">&\r\nBcc: eve@example.org\x00\u2028next'
    told = finished(filled(Words("{customer}", "{customer}", "<p>{customer}</p>"), {"customer": wicked}), "")
    assert "<img" not in told.html
    assert "&lt;img src=x onerror=&quot;a()&quot;&gt;&amp;<br>" in told.html
    assert told.subject == '<img src=x onerror="a()">& Bcc: eve@example.org next'
    assert "\x00" not in told.text
    message = message_from_string(f"Subject: {told.subject}\n\nx", policy=policy.default)
    assert list(message.keys()) == ["Subject"]


@given(
    st.text(),
    st.dictionaries(st.sampled_from(["customer", "rod", "owed"]), st.text(), min_size=3),
    st.text(alphabet="abc/:%-_", max_size=20),
)
def test_whatever_passes_can_be_filled_in(text: str, values: dict[str, str], link: str) -> None:
    words = Words("s", text, text)
    if faults_of_words(MailKind.STAGE, words):
        return
    said = {**dict.fromkeys(PLACEHOLDERS[MailKind.STAGE], "x"), **values}
    told = finished(filled(words, said), link)
    assert "<script" not in told.html or "<script" in text


def test_a_long_line_is_cut_at_its_end() -> None:
    assert one_line("a\tb \n c", 20) == "a b c"
    assert one_line("x" * 30, 20) == "x" * 19 + "…"


GOOD = [
    "ada@example.org", "ada.thorn+rods@sub.example.co.uk", "o'neil/2%x@example.org", "ada@localhost",
    '"ada thorn"@example.org', '"a\\"b"@example.org', "ada@[192.0.2.1]", "ada@[IPv6:2001:db8::1]",
    "a" * 64 + "@example.org", "ada@" + "x" * 63 + ".org", "ada@xn--bcher-kva.example",
]  # fmt: skip
BAD = [
    "", "@", "ada", "ada@", "@example.org", "ada@@example.org", "ada@b@example.org", "ada thorn@example.org",
    "ada@exa mple.org", " ada@example.org", "ada@example.org ", "ada..b@example.org", ".ada@example.org",
    "ada.@example.org", "ada@example..org", "ada@.org", "ada@example.org.", "ada@-example.org",
    "ada@example-.org", "ada@ex_ample.org", "Ada <ada@example.org>", "<ada@example.org>",
    "ada@example.org, bo@example.org", "ada@example.org;bo@example.org", "ada(c)@example.org",
    "ada@example.org\r\nBcc: eve@example.org", "ada@example.org\n", "ada\x00@example.org", '""@example.org',
    "ada@[x", "ada@[bad literal]", "josé@example.org", "ada@exämple.org", "a" * 65 + "@example.org",
    "ada@" + "x" * 64 + ".org", "ada@" + ".".join(["x" * 60] * 5), "\u202eada@example.org",
]  # fmt: skip


@pytest.mark.parametrize("text", GOOD)
def test_addresses_that_can_be_written_to(text: str) -> None:
    assert fault_of_address(text) == ""
    message = message_from_string(f"To: {text}\n\nx", policy=policy.default)
    assert [address.addr_spec for address in message["To"].addresses] == [text]


@pytest.mark.parametrize("text", BAD)
def test_addresses_that_cannot(text: str) -> None:
    assert text in fault_of_address(text)


@given(st.text(max_size=60) | st.text(alphabet='ab@.[]"\\(),;:<> -', max_size=30))
def test_any_text_is_judged_and_what_passes_is_one_address(text: str) -> None:
    if not fault_of_address(text):
        message = message_from_string(f"To: {text}\n\nx", policy=policy.default)
        assert [address.addr_spec for address in message["To"].addresses] == [text]
        assert list(message.keys()) == ["To"]
