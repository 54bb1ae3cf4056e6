"""The photos of a rod on its pages: added shown to one customer, taken away, nothing half done."""

import os
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient
from httpx2 import Response
from PIL import Image

from shop.db.photos import Photo
from shop.queries.builds import build_view
from shop.queries.events import events_of_build
from shop.queries.photos import PhotoView, photo_view, photographed, photos_of_build, shared_photos
from shop.rules.people import Role
from shop.rules.photos import MOST_OF_BUILD
from shop.rules.sequences import Record, RecordKind, Sequence, Stage
from shop.services.builds import take_on_build
from shop.services.sequences import add_sequence
from shop.services.status_links import give_link
from shop.web.deps import Hub
from shop.web.photo_uploads import MOST_PHOTO_BYTES, MOST_PHOTOS
from shop.web.uploads import MOST_PHOTOS_BYTES
from tests.api.filled import CUSTOMER
from tests.conftest import Hands, House
from tests.outside.photo_samples import SECRETS, encoded, phone_jpeg, plain, segments_of
from tests.outside.small_disk import small_disk
from tests.web.bench_shop import HTMX, ROD, open_bench
from tests.web.forms_read import form_on

SignIn = Callable[[Role], TestClient]
PHOTOS, OTHER = f"{ROD}/photos", "/builds/26-002/photos"
TOLD = Sequence(
    "told", "casting",
    (
        Stage("dry fitted", "It was put together dry.", records=(Record(RecordKind.PHOTO, "dry fit"),)),
        Stage("glued"),
    ),
)  # fmt: skip
JPEG = phone_jpeg((640, 480))
HEADERS = pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])


@pytest.fixture
def owner(hub: Hub, hands: Hands, signed_in: SignIn) -> TestClient:
    """An owner; 26-001 goes by the short sequence, 26-002 by one that asks for a photo."""
    open_bench(hub, hands)
    with hub.database.writing(hands.wall_at) as session:
        sequence = add_sequence(session, now=hands.wall_at, sequence=TOLD)
        take_on_build(
            session, now=hands.wall_at, zone=ZoneInfo("UTC"), customer_id=CUSTOMER, title="7 ft spinning",
            rod_kind="casting", sequence_id=sequence.id,
        )  # fmt: skip
    return signed_in(Role.OWNER)


def send(client: TestClient, *bodies: bytes, to: str = PHOTOS, headers: Any = None, **said: str) -> Response:
    files = [("file", (f"IMG_{n}.jpg", body, "image/jpeg")) for n, body in enumerate(bodies, 1)]
    return client.post(to, data=said, files=files, headers=headers)


def on_file(hub: Hub, number: str = "26-001") -> list[PhotoView]:
    with hub.database.reading() as session:
        return photos_of_build(session, build_view(session, number).id)


def notes(hub: Hub, number: str = "26-001") -> list[tuple[str | None, str]]:
    """The stage and the note of every event about photos."""
    with hub.database.reading() as session:
        events = events_of_build(session, build_view(session, number).id)
    return [(event.stage, event.note) for event in events if event.kind == "photo"]


def files(hub: Hub) -> list[Path]:
    return [path for path in (hub.settings.data / "photos").rglob("*") if path.is_file()]


def link(hub: Hub, hands: Hands, number: str) -> str:
    with hub.database.writing(hands.wall_at) as session:
        return give_link(session, hub.secret, build_view(session, number).id, now=hands.wall_at)


@HEADERS
def test_photos_are_added_and_looked_at(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    answer = send(
        owner, JPEG, encoded(plain((30, 20)), "PNG"), headers=headers, stage="fitted", caption="dry fit "
    )
    assert (answer.status_code, answer.headers["location"]) == (303, PHOTOS)
    page = owner.get(PHOTOS).text
    assert "2 photos are on file." in page
    for words in (
        'src="/photos/1/320.jpg" width="320" height="240" alt="dry fit" loading="lazy"',
        'src="/photos/2/320.jpg" width="30" height="20"', "fitted · 09:00, owner", "Only the shop sees it.",
    ):  # fmt: skip
        assert words in page
    assert notes(hub) == [("fitted", "2 photos were taken.")]
    assert len(files(hub)) == 4
    for size in (320, 1280):
        picture = owner.get(f"/photos/1/{size}.jpg")
        assert (picture.status_code, picture.headers["content-type"]) == (200, "image/jpeg")
        assert picture.headers["cache-control"] == "private, max-age=31536000, immutable"
        assert picture.headers["content-security-policy"] == "default-src 'none'; sandbox"
        assert picture.headers["x-content-type-options"] == "nosniff"
        assert {marker for marker, _ in segments_of(picture.content) if 0xE0 <= marker <= 0xEF} == {0xE0}
        assert [secret for secret in SECRETS if secret in picture.content] == []
    for path in ("/photos/1/640.jpg", "/photos/1/1280.png", "/photos/1/x", "/photos/3/320.jpg"):
        assert owner.get(path).status_code == 404


def test_a_photo_is_known_by_what_is_in_it(owner: TestClient, hub: Hub) -> None:
    sent = {"file": ("notes.txt", encoded(plain(), "WEBP"), "text/html")}
    assert owner.post(PHOTOS, files=sent).status_code == 303
    assert [photo.width for photo in on_file(hub)] == [64]


HEIC = b"\0\0\0\x18ftypheic" + b"\0" * 100


@pytest.mark.parametrize(
    ("bodies", "said", "field", "says"),
    [
        ([], {}, "file", "No photo came"),
        ([b""], {}, "file", "The file is empty"),
        ([HEIC], {}, "file", "This is a HEIC photo, which cannot be read here"),
        ([JPEG, b"<svg/>", HEIC], {}, "file",
         "IMG_2.jpg: This is an SVG drawing, not a photo; please send a JPEG, PNG or WebP. IMG_3.jpg: This"),
        ([JPEG, b"%PDF"], {}, "file", "None of these photos was kept; please choose the others again."),
        ([JPEG[:-900]], {}, "file", "damaged"),
        ([JPEG] * (MOST_PHOTOS + 1), {}, "file", "At most 8 photos"),
        ([b"x" * (MOST_PHOTO_BYTES + 1)], {}, "file", "more than 25 MB"),
        ([JPEG], {"stage": "dry fitted"}, "stage", "is not a stage of the sequence “short”"),
        ([JPEG], {"caption": "x" * 201}, "caption", "201 characters"),
        ([JPEG], {"caption": "a\0b"}, "caption", "cannot be kept"),
        ([JPEG], {"side": "inside"}, "side", "must be one of left, right"),
    ],
)  # fmt: skip
def test_what_is_not_taken_is_said_and_nothing_is_kept(
    owner: TestClient, hub: Hub, bodies: list[bytes], said: dict[str, str], field: str, says: str
) -> None:
    answer = send(owner, *bodies, **{"caption": "as it came", **said})
    assert answer.status_code == 422
    assert says in answer.text
    if field != "side":  # asked for at repairs alone
        beside = "f-file" if field == "file" else field
        assert says in answer.text.split(f'id="e-{beside}"')[1].split("</p>")[0]
    assert form_on(answer.text, PHOTOS)["caption"] == [said.get("caption", "as it came")]
    assert (on_file(hub), files(hub), notes(hub)) == ([], [], [])


def test_a_form_far_too_large_and_one_for_no_rod(owner: TestClient, hub: Hub) -> None:
    large = {"content-length": str(MOST_PHOTOS_BYTES + 1), "content-type": "multipart/form-data; boundary=x"}
    assert owner.post(PHOTOS, content=b"", headers=large).status_code == 413
    assert owner.post("/photos/1/caption", content=b"x" * 2_000_001).status_code == 413
    assert send(owner, JPEG, to="/builds/26-099/photos").status_code == 404
    for answer in (
        owner.post(PHOTOS, content=b"no boundary", headers=large | {"content-length": "11"}),
        send(owner, *[b"x"] * 41),
        send(owner, JPEG, caption="x" * 30_000),
    ):
        assert (answer.status_code, "could not be read" in answer.text) == (422, True)
    assert files(hub) == []


def test_a_rod_has_only_so_many_photos(owner: TestClient, hub: Hub, hands: Hands) -> None:
    with hub.database.writing(hands.wall_at) as session:
        session.add_all(
            Photo(
                build_id=1, name=f"{n}", width=1, height=1, size_bytes=1, entered_at=hands.wall_at, by="",
            )
            for n in range(MOST_OF_BUILD - 1)
        )  # fmt: skip
    assert "at most 200 photos" in send(owner, JPEG, JPEG).text
    assert files(hub) == []
    assert send(owner, JPEG).status_code == 303


def noise(size: tuple[int, int]) -> bytes:
    """A photo that no encoder makes small."""
    return encoded(Image.effect_noise(size, 120).convert("RGB"), quality=95)


@pytest.mark.parametrize(
    ("bodies", "caption"),
    [([JPEG, noise((900, 700))], "dry fit"), ([JPEG, noise((2000, 1500))], "")],
    ids=["in the folder", "on the way"],
)
def test_a_disk_that_fills_takes_nothing_and_says_so(
    owner: TestClient, hub: Hub, bodies: list[bytes], caption: str
) -> None:
    with small_disk(100_000):
        answer = send(owner, *bodies, caption="dry fit")
    assert answer.status_code == 503
    assert "The photo could not be stored (file too large), so nothing was kept" in answer.text
    assert form_on(answer.text, PHOTOS)["caption"] == [caption]
    assert (on_file(hub), files(hub)) == ([], [])
    assert send(owner, *bodies).status_code == 303


def test_a_row_without_its_file_is_a_missing_picture(owner: TestClient, hub: Hub, hands: Hands) -> None:
    send(owner, JPEG)
    owner.post("/photos/1/share")
    token = link(hub, hands, "26-001")
    for path in files(hub):
        path.unlink()
    answer = owner.get("/photos/1/320.jpg")
    assert (answer.status_code, "picture of this photo is missing" in answer.text) == (404, True)
    shown = owner.get(f"/rod/{token}/photos/1.jpg")
    assert (shown.status_code, shown.content) == (404, owner.get("/rod/unknown").content)
    assert owner.get(PHOTOS).status_code == 200


def test_what_a_crash_left_behind_is_cleared_at_the_next_start(hub: Hub, hands: Hands, house: House) -> None:
    hub.photos.put({320: b"never committed", 1280: b"neither"})
    at = (hands.wall_at - timedelta(hours=2)).timestamp()
    for path in files(hub):
        os.utime(path, (at, at))
    with TestClient(house.around(hub)):
        pass
    assert files(hub) == []


@HEADERS
def test_a_photo_is_shown_to_the_customer_and_no_longer(
    owner: TestClient, hub: Hub, hands: Hands, headers: dict[str, str]
) -> None:
    send(owner, JPEG, stage="agreed")
    token = link(hub, hands, "26-001")
    address = f"/rod/{token}/photos/1.jpg"
    unknown = owner.get("/rod/unknown")
    assert owner.get(address).content == unknown.content
    answer = owner.post("/photos/1/share", headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{PHOTOS}#photo-1")
    assert "The customer sees it: 09:00, owner." in owner.get(PHOTOS).text
    with hub.database.reading() as session:
        (photo,) = shared_photos(session, 1)
    assert (photo.id, photo.words) == (1, "We have agreed on your rod.")
    seen = owner.get(address)
    assert (seen.status_code, seen.content) == (200, owner.get("/photos/1/1280.jpg").content)
    assert seen.headers["cache-control"] == "no-store, private"
    assert seen.headers["referrer-policy"] == "no-referrer"
    assert seen.headers["content-security-policy"] == "default-src 'none'; sandbox"
    assert owner.get(f"/rod/{token}/photos/1-320.jpg").content == owner.get("/photos/1/320.jpg").content
    # Once more changes nothing and is no further event.
    assert owner.post("/photos/1/share").status_code == 303
    assert owner.post("/photos/1/hide", headers=headers).status_code == 303
    assert (owner.get(address).status_code, owner.get(address).content) == (404, unknown.content)
    assert [note for _, note in notes(hub)] == [
        "A photo was taken.", "A photo was shown to the customer.",
        "A photo was hidden from the customer again.",
    ]  # fmt: skip


def test_a_customer_sees_the_shared_photos_of_their_own_rod_alone(
    owner: TestClient, hub: Hub, hands: Hands
) -> None:
    send(owner, JPEG)
    send(owner, JPEG, to=OTHER)
    first, second = (link(hub, hands, number) for number in ("26-001", "26-002"))
    for photo in (1, 2):
        owner.post(f"/photos/{photo}/share")
    owner.cookies.clear()
    unknown = owner.get("/rod/unknown")
    asked = [(token, photo) for token in (first, second) for photo in (1, 2)]
    answers = [owner.get(f"/rod/{token}/photos/{photo}.jpg").status_code for token, photo in asked]
    assert answers == [200, 404, 404, 200]
    odd = (
        "2.jpg",
        "3.jpg",
        "1.png",
        "1-640.jpg",
        "x.jpg",
        "9" * 30 + ".jpg",
        "%00.jpg",
        "٣.jpg",
        "",
        "1.jpg/x",
    )
    for answer in [
        *(owner.get(f"/rod/{first}/photos/{name}") for name in odd),
        owner.get("/rod/x/photos/1.jpg"),
    ]:
        assert (answer.status_code, answer.content) == (404, unknown.content)
        assert sorted(answer.headers.items()) == sorted(unknown.headers.items())
    assert owner.get("/photos/1/320.jpg").headers["location"].startswith("/sign-in")


@HEADERS
def test_a_caption_is_changed(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    send(owner, JPEG)
    answer = owner.post("/photos/1/caption", data={"caption-1": " spine <marked> "}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{PHOTOS}#photo-1")
    assert 'alt="spine &lt;marked&gt;"' in owner.get(PHOTOS).text
    assert len(notes(hub)) == 1


@HEADERS
def test_a_photo_is_taken_away_with_its_files(owner: TestClient, hub: Hub, headers: dict[str, str]) -> None:
    send(owner, JPEG, JPEG)
    owner.post("/photos/1/share")
    answer = owner.post("/photos/1/remove", data={"reason-1": "a stranger is on it"}, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, PHOTOS)
    assert [photo.id for photo in on_file(hub)] == [2]
    assert {path.name[:32] for path in files(hub)} == {on_file(hub)[0].name}
    assert notes(hub)[-1] == (None, "A photo was taken away. a stranger is on it")
    assert owner.get("/photos/1/320.jpg").status_code == 404
    with hub.database.reading() as session:
        gone = photo_view(session, 1)
    assert (gone.removed_at is not None, gone.shared_at) == (True, None)


@pytest.mark.parametrize(
    ("path", "field", "typed", "says"),
    [("caption", "caption-1", "x" * 201, "201 characters"), ("remove", "reason-1", "", "needs a reason"),
     ("remove", "reason-1", "y" * 501, "501 characters")],
)  # fmt: skip
def test_what_is_typed_wrongly_comes_back_beside_its_photo(
    owner: TestClient, hub: Hub, path: str, field: str, typed: str, says: str
) -> None:
    send(owner, JPEG, JPEG)
    answer = owner.post(f"/photos/1/{path}", data={field: typed})
    assert answer.status_code == 422
    assert says in answer.text.split(f'id="e-{field}"')[1].split("</p>")[0]
    assert form_on(answer.text, f"/photos/1/{path}")[field] == [typed]
    assert len(files(hub)) == 4


@pytest.mark.parametrize("path", ["caption", "share", "hide", "remove"])
def test_a_photo_that_was_taken_away_already_is_left_alone(owner: TestClient, hub: Hub, path: str) -> None:
    send(owner, JPEG)
    assert owner.post("/photos/1/remove", data={"reason-1": "blurred"}).status_code == 303
    answer = owner.post(f"/photos/1/{path}", data={"caption-1": "x", "reason-1": "x"})
    assert (answer.status_code, "was taken away already" in answer.text) == (409, True)
    assert owner.post(f"/photos/9/{path}").status_code == 404
    assert len(notes(hub)) == 2


def test_a_stage_asks_for_its_photo_until_one_is_there(owner: TestClient) -> None:
    rod = "/builds/26-002"
    asked = owner.get(rod).text
    form = asked.split('class="photo-ask"')[1].split("</form>")[0]
    assert 'enctype="multipart/form-data"' in form
    assert 'type="file" name="file" accept="image/*" capture="environment" multiple' in form
    said = {name: values[0] for name, values in form_on(asked, OTHER).items() if name != "file"}
    assert said == {"stage": "dry fitted", "caption": "dry fit", "back": "rod"}
    answer = send(owner, JPEG, to=OTHER, **said)
    assert answer.headers["location"] == rod
    page = owner.get(rod).text
    assert "Photo taken: dry fit." in page
    assert ('class="photo-ask"' in page, 'alt="dry fit"' in page) == (False, True)
    # A photo is asked for; nothing waits for it.
    for stage in ("dry fitted", "glued"):
        assert owner.post(f"{rod}/advance", data={"to": stage}).status_code == 303
    owner.post("/photos/1/remove", data={"reason-1": "blurred"})
    assert "There is no photo of this rod yet." in owner.get(rod).text


def test_a_photo_of_an_earlier_pass_is_none_of_this(owner: TestClient, hub: Hub) -> None:
    send(owner, JPEG, to=OTHER, stage="dry fitted")
    with hub.database.reading() as session:
        build = build_view(session, "26-002")
        events, photos = events_of_build(session, build.id), photos_of_build(session, build.id)
    assert photographed(events, photos, 1) == {"dry fitted"}
    assert photographed(events, photos, 2) == frozenset()
    assert photographed(events, [], 1) == frozenset()


def test_who_may_do_what(owner: TestClient, hub: Hub, signed_in: SignIn) -> None:
    send(owner, JPEG)
    helper = signed_in(Role.HELPER)
    assert send(helper, JPEG).status_code == 303
    assert helper.post("/photos/1/caption", data={"caption-1": "mine"}).status_code == 303
    assert [helper.post(f"/photos/1/{path}").status_code for path in ("share", "hide", "remove")] == [403] * 3
    page = helper.get(PHOTOS).text
    assert ("/photos/1/caption" in page, "/photos/1/share" in page, "/remove" in page) == (True, False, False)
    helper.cookies.clear()
    assert send(helper, JPEG).headers["location"].startswith("/sign-in")
    assert len(files(hub)) == 4
