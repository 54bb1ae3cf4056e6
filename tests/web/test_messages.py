"""Messages: what a customer may write over the link and how much, what the shop answers, who sees what."""

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from shop.queries.messages import messages_of_build, unread_messages
from shop.queries.shop import read_shop
from shop.rules.messages import MOST_A_DAY, MOST_TEXT
from shop.rules.people import Role
from shop.services.status_links import give_link
from shop.web.deps import Hub
from tests.conftest import Hands
from tests.web.bench_shop import HTMX, ROD, open_bench

SignIn = Callable[[Role], TestClient]
either_way = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
PRIVATE = {"cache-control": "no-store, private", "referrer-policy": "no-referrer"}
HOSTILE = '<script>alert(1)</script> <img src=x onerror=alert(2)> {{ 7*7 }} "quoted" & more'


class Link:
    """A browser that nobody has signed in with, and the address of one rod."""

    def __init__(self, client: TestClient, address: str) -> None:
        self.client = client
        self.address = address

    def page(self) -> str:
        answer = self.client.get(self.address)
        assert answer.status_code == 200
        return answer.text

    def write(self, text: str, **headers: str) -> int:
        answer = self.client.post(f"{self.address}/messages", data={"text": text}, headers=headers)
        for name, value in PRIVATE.items():
            assert answer.headers[name] == value
        return answer.status_code


@pytest.fixture
def link(hub: Hub, hands: Hands, client: TestClient) -> Link:
    open_bench(hub, hands)
    with hub.database.writing(hands.wall_at) as session:
        token = give_link(session, hub.secret, 1, now=hands.wall_at)
    return Link(client, f"/rod/{token}")


def texts(hub: Hub) -> list[str]:
    with hub.database.reading() as session:
        return [message.text for message in messages_of_build(session, 1, 100)]


def unread(hub: Hub) -> int:
    with hub.database.reading() as session:
        count = read_shop(session).unread_count
        assert count == len(unread_messages(session, 0, 100))
        return count


@either_way
def test_a_customer_writes_and_sees_it_at_once(link: Link, hub: Hub, headers: dict[str, str]) -> None:
    assert link.write("Is a gold trim possible?\r\nAda", **headers) == 303
    assert texts(hub) == ["Is a gold trim possible?\nAda"]
    page = link.page()
    assert "Is a gold trim possible?\nAda" in page
    assert "the shop has not read it yet" in page
    assert unread(hub) == 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "nothing in it yet"), (" \r\n ", "nothing in it yet"),
        ("x" * (MOST_TEXT + 1), "2001 characters"),
        ("typed with care \x07", "cannot be kept"), ("typed with \0 care", "cannot be kept"),
    ],
)  # fmt: skip
def test_what_cannot_be_kept_comes_back_as_typed(link: Link, hub: Hub, text: str, said: str) -> None:
    answer = link.client.post(f"{link.address}/messages", data={"text": text})
    assert answer.status_code == 422
    assert said in answer.text
    assert text.strip() in answer.text
    assert answer.headers["cache-control"] == PRIVATE["cache-control"]
    assert texts(hub) == []


def test_the_address_of_a_message_that_came_back_leads_to_the_page(link: Link) -> None:
    answer = link.client.get(f"{link.address}/messages")
    assert (answer.status_code, answer.headers["location"]) == (303, f"{link.address}#messages")
    assert answer.headers["cache-control"] == PRIVATE["cache-control"]
    gone = [link.client.get(path) for path in ("/rod/unknown", "/rod/unknown/messages")]
    assert (gone[0].status_code, gone[0].content) == (404, gone[1].content)
    assert sorted(gone[0].headers.items()) == sorted(gone[1].headers.items())


def test_as_much_as_fits_is_taken(link: Link, hub: Hub) -> None:
    assert link.write("ö" * MOST_TEXT) == 303
    assert link.client.post(f"{link.address}/messages", files={"text": ("x.txt", b"x")}).status_code >= 400
    assert texts(hub) == ["ö" * MOST_TEXT]


def test_a_message_is_never_html(link: Link, signed_in: SignIn) -> None:
    assert link.write(HOSTILE) == 303
    desk = signed_in(Role.OWNER)
    for page in (link.page(), *(desk.get(path).text for path in (ROD, f"{ROD}/messages", "/desk/messages"))):
        assert "<script>alert" not in page
        assert "<img src=x" not in page
        assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
        assert "{{ 7*7 }}" in page


def test_too_many_in_a_day_are_refused_and_kept_on_the_page(link: Link, hub: Hub, hands: Hands) -> None:
    for number in range(MOST_A_DAY):
        assert link.write(f"message {number}") == 303
        hands.forward(minutes=1)
    answer = link.client.post(f"{link.address}/messages", data={"text": "one too many"})
    assert answer.status_code == 409
    assert "as many as it takes" in answer.text
    assert "one too many</textarea>" in answer.text
    assert len(texts(hub)) == MOST_A_DAY
    # The first one is a day old a minute sooner than the second.
    hands.forward(days=1, minutes=-MOST_A_DAY)
    assert link.write("a day later") == 303
    assert link.write("and again") == 409


def test_a_second_tap_writes_nothing_more(link: Link, hub: Hub, hands: Hands) -> None:
    assert [link.write("Hello"), link.write("Hello")] == [303, 303]
    hands.forward(minutes=10)
    assert link.write("Hello") == 303
    assert texts(hub) == ["Hello", "Hello"]


def test_a_second_tap_of_the_shop_writes_nothing_more(
    link: Link, hub: Hub, hands: Hands, signed_in: SignIn
) -> None:
    owner = signed_in(Role.OWNER)
    for _ in range(2):
        assert owner.post(f"{ROD}/messages", data={"text": "It is on."}).status_code == 303
    assert texts(hub) == ["It is on."]
    link.write("Thank you.")
    owner.post(f"{ROD}/messages", data={"text": "It is on."})
    assert texts(hub) == ["It is on.", "Thank you.", "It is on."]
    hands.forward(minutes=11)
    owner.post(f"{ROD}/messages", data={"text": "It is on."})
    assert len(texts(hub)) == 4


def test_a_link_that_is_none_takes_nothing_and_says_the_same(link: Link, hub: Hub, signed_in: SignIn) -> None:
    gone = link.client.get("/rod/unknown")
    desk = signed_in(Role.OWNER)
    desk.post(f"{ROD}/status-link/end")
    desk.cookies.clear()
    for path in (link.address, "/rod/unknown", "/rod/%00", f"/rod/{'9' * 43}"):
        for way in ("/messages", "/messages/seen"):
            answer = link.client.post(path + way, data={"text": "hello"})
            assert (answer.status_code, answer.content) == (404, gone.content), path
            assert sorted(answer.headers.items()) == sorted(gone.headers.items())
    assert texts(hub) == []


@either_way
def test_the_shop_answers_from_the_rods_page(
    link: Link, hub: Hub, hands: Hands, signed_in: SignIn, headers: dict[str, str]
) -> None:
    link.write("Is it started?")
    desk = signed_in(Role.BUILDER)
    assert "Is it started?" in desk.get(ROD).text
    assert "Messages (1)" in desk.get("/desk").text
    hands.forward(minutes=5)
    answer = desk.post(f"{ROD}/messages", data={"text": "Yes, since Monday."}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{ROD}/messages")
    assert unread(hub) == 0
    assert "Messages (" not in desk.get("/desk").text
    thread = desk.get(f"{ROD}/messages").text
    assert "read by builder" in thread
    assert "answered" in thread
    desk.cookies.clear()
    page = link.page()
    assert "Yes, since Monday." in page
    assert "read by the shop" in page
    assert "builder" not in page


@pytest.mark.parametrize(("text", "said"), [("", "nothing in it yet"), ("x" * 2001, "2001 characters")])
def test_an_answer_that_cannot_be_comes_back(
    link: Link, hub: Hub, signed_in: SignIn, text: str, said: str
) -> None:
    link.write("Is it started?")
    answer = signed_in(Role.OWNER).post(f"{ROD}/messages", data={"text": text})
    assert answer.status_code == 422
    assert said in answer.text
    assert f"{text}</textarea>" in answer.text
    assert unread(hub) == 1


@either_way
def test_a_message_is_marked_as_read_once(
    link: Link, hub: Hub, hands: Hands, signed_in: SignIn, headers: dict[str, str]
) -> None:
    link.write("Is it started?")
    desk = signed_in(Role.OWNER)
    assert "Mark as read" in desk.get("/desk/messages").text
    answer = desk.post("/desk/messages/1/read", headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/desk/messages")
    assert "Marked as read." in desk.get("/desk/messages").text
    read_at = hands.wall_at
    hands.forward(hours=1)
    desk.post("/desk/messages/1/read", headers=headers)
    page = desk.get("/desk/messages").text
    assert "Mark as read" not in page
    assert "Is it started?" in page
    with hub.database.reading() as session:
        assert messages_of_build(session, 1, 1)[0].read_at == read_at


def test_only_what_a_customer_wrote_is_marked_by_the_shop(link: Link, signed_in: SignIn) -> None:
    assert "I have read them" not in link.page()
    desk = signed_in(Role.OWNER)
    desk.post(f"{ROD}/messages", data={"text": "Your blank is here."})
    assert desk.post("/desk/messages/1/read").status_code == 409
    assert desk.post("/desk/messages/2/read").status_code == 404
    assert desk.post("/builds/26-099/messages", data={"text": "x"}).status_code == 404


def test_the_customer_says_what_was_read(link: Link, signed_in: SignIn) -> None:
    desk = signed_in(Role.OWNER)
    desk.post(f"{ROD}/messages", data={"text": "Your blank is here."})
    session_cookie = desk.cookies["tackfree"]
    desk.cookies.clear()
    assert "I have read them" in link.page()
    assert link.client.post(f"{link.address}/messages/seen").status_code == 303
    assert "I have read them" not in link.page()
    desk.cookies.set("tackfree", session_cookie)
    assert "read by the customer" in desk.get(f"{ROD}/messages").text


def test_older_ones_are_a_page_away(link: Link, hands: Hands, signed_in: SignIn) -> None:
    for number in range(52):
        hands.forward(hours=2)
        link.write(f"note {number:02d}")
    desk = signed_in(Role.OWNER)
    desk.post(f"{ROD}/messages", data={"text": "All read."})
    first = desk.get("/desk/messages").text
    assert ("note 51" in first, "note 02" in first, "note 01" in first) == (True, True, False)
    older = first.split("/desk/messages?before=")[1].split('"')[0]
    second = desk.get(f"/desk/messages?before={older}").text
    assert ("note 01" in second, "note 00" in second, "note 02" in second) == (True, True, False)


def test_a_helper_reads_no_messages(link: Link, signed_in: SignIn) -> None:
    link.write("my telephone is 555 0199")
    helper = signed_in(Role.HELPER)
    assert helper.get("/desk/messages").status_code == 403
    assert helper.get(f"{ROD}/messages").status_code == 403
    assert "555 0199" not in helper.get(ROD).text
    assert "Messages" not in helper.get("/desk").text
