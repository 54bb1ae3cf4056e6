"""Photos over the API: sent as a form, once even with another boundary, looked at, shared and taken away."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from httpx2 import Response

from shop.rules.people import Scope
from shop.web.deps import Hub
from tests.api.conftest import API, PROBLEM, Program
from tests.outside.photo_samples import BLUE, encoded, phone_jpeg, plain, segments_of
from tests.outside.small_disk import small_disk

JPEG = phone_jpeg((640, 480))


@pytest.fixture
def photos(desk: Program) -> str:
    """The address of a build's photos."""
    return f"/builds/{desk.build()}/photos"


def send(program: Program, path: str, *bodies: bytes, headers: Any = None, **said: str) -> Response:
    files = [("file", ("a.jpg", body, "image/jpeg")) for body in bodies]
    return program.send("POST", path, data=said, files=files, headers=headers or {})


def files(hub: Hub) -> list[Path]:
    return [path for path in (hub.settings.data / "photos").rglob("*") if path.is_file()]


def test_a_photo_is_added_read_shared_and_taken_away(
    desk: Program, bench: Program, hub: Hub, photos: str
) -> None:
    answer = send(bench, photos, JPEG, stage="fitted", side="left", caption="dry fit")
    assert answer.status_code == 201, answer.text
    photo = answer.json()
    said = {
        name: photo[name] for name in ("id", "build", "stage", "side", "caption", "width", "height", "by")
    }
    assert said == {
        "id": 1, "build": "26-001", "stage": "fitted", "side": "left", "caption": "dry fit", "width": 640,
        "height": 480, "by": "bench key",
    }  # fmt: skip
    assert (photo["shared"], photo["shared_at"], photo["removed_at"]) == (False, None, None)
    assert photo["size_bytes"] == sum(path.stat().st_size for path in files(hub))
    assert "name" not in photo
    for address in photo["pictures"].values():
        picture = bench.send("GET", address.removeprefix(API))
        assert (picture.status_code, picture.headers["content-type"]) == (200, "image/jpeg")
        assert list(segments_of(picture.content))
    assert desk.get(photos) == {"items": [photo], "next": None}
    changed = desk.send("PATCH", "/photos/1", json={"shared": True, "caption": "put together dry"}).json()
    assert (changed["shared"], changed["caption"]) == (True, "put together dry")
    gone = desk.send("DELETE", "/photos/1", params={"reason": "blurred"})
    assert (gone.status_code, gone.json()["shared"]) == (200, False)
    assert gone.json()["removed_at"] == "2026-03-02T09:00:00Z"
    assert (desk.get(photos)["items"], files(hub)) == ([], [])
    kinds = [(event["kind"], event["note"]) for event in desk.get("/builds/26-001/events")["items"]]
    assert kinds == [
        ("photo", "A photo was taken."), ("photo", "A photo was shown to the customer."),
        ("photo", "A photo was taken away. blurred"),
    ]  # fmt: skip
    desk.assert_refused(409, "/photos/1", method="PATCH", shared=True)
    assert desk.send("GET", "/photos/1/320.jpg").status_code == 404


def test_photos_come_in_pages(desk: Program, photos: str) -> None:
    for _ in range(3):
        assert send(desk, photos, JPEG).status_code == 201
    first = desk.get(photos, limit=2)
    assert ([item["id"] for item in first["items"]], first["next"]) == ([1, 2], "2")
    assert [item["id"] for item in desk.get(photos, after=2)["items"]] == [3]


def test_a_retry_is_known_by_what_is_in_it_and_leaves_no_files(desk: Program, hub: Hub, photos: str) -> None:
    key = {"Idempotency-Key": "dry fit"}
    answers = [send(desk, photos, JPEG, headers=key, caption="dry fit") for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    assert answers[0].request.headers["content-type"] != answers[1].request.headers["content-type"]
    other = encoded(plain((640, 480), BLUE))
    for body, caption in ((other, "dry fit"), (JPEG, "another")):
        answer = send(desk, photos, body, headers=key, caption=caption)
        assert (answer.status_code, answer.json()["errors"][0]["field"]) == (422, "Idempotency-Key")
    assert len(files(hub)) == 2
    gone = [
        desk.send("DELETE", "/photos/1?reason=blurred", headers={"Idempotency-Key": "gone"}) for _ in range(2)
    ]
    assert [answer.status_code for answer in gone] == [200, 200]


@pytest.mark.parametrize(
    ("request_", "field", "says"),
    [
        ({"files": []}, "body", "multipart/form-data"),
        ({"json": {"caption": "x"}}, "body", "multipart/form-data"),
        ({"content": JPEG, "headers": {"content-type": "image/jpeg"}}, "body", "multipart/form-data"),
        ({"files": {"photo": ("a.jpg", JPEG)}}, "file", "No photo came"),
        ({"files": [("file", ("a.jpg", JPEG)), ("file", ("b.jpg", JPEG))]}, "file", "Send one photo"),
        ({"files": {"file": ("a.jpg", b"%PDF-1.7")}}, "file", "This is a PDF, not a photo"),
        ({"files": {"file": ("a.jpg", JPEG)}, "data": {"sage": "fitted"}}, "sage", "no such field"),
        ({"files": {"file": ("a.jpg", JPEG)}, "data": {"stage": "wrapped"}}, "stage", "not a stage"),
        ({"files": {"file": ("a.jpg", JPEG)}, "data": {"caption": ["a", "b"]}}, "caption", "more than once"),
        ({"files": {"file": ("a.jpg", JPEG)}, "params": {"stage": "fitted"}}, "stage", "no such parameter"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_by_field(
    desk: Program, hub: Hub, photos: str, request_: dict[str, Any], field: str, says: str
) -> None:
    answer = desk.send("POST", photos, **request_)
    assert (answer.status_code, answer.headers["content-type"]) == (422, PROBLEM)
    (error,) = answer.json()["errors"]
    assert error["field"] == field
    assert says in error["detail"]
    assert (desk.get(photos)["items"], files(hub)) == ([], [])


def test_a_disk_that_fills_is_said(desk: Program, hub: Hub, photos: str) -> None:
    with small_disk(1000):
        answer = send(desk, photos, JPEG)
    assert (answer.status_code, answer.headers["content-type"]) == (503, PROBLEM)
    assert "so nothing was kept" in answer.json()["detail"]
    assert answer.headers["retry-after"]
    assert (desk.get(photos)["items"], files(hub)) == ([], [])


def test_who_may_do_what(program: Callable[..., Program], desk: Program, photos: str) -> None:
    bench, reader, sensor = (program(scope) for scope in (Scope.BENCH, Scope.READ, Scope.SENSOR))
    assert send(bench, photos, JPEG).status_code == 201
    assert [send(weak, photos, JPEG).status_code for weak in (reader, sensor)] == [403, 403]
    assert reader.send("GET", "/photos/1/320.jpg").status_code == 200
    assert sensor.send("GET", "/photos/1/320.jpg").status_code == 403
    bench.assert_refused(403, "/photos/1", method="PATCH", shared=True)
    assert bench.send("DELETE", "/photos/1?reason=x").status_code == 403
    assert len(desk.get(photos)["items"]) == 1
    assert send(desk, "/builds/26-099/photos", JPEG).status_code == 404
    assert desk.send("GET", "/photos/1/640.jpg").status_code == 422
