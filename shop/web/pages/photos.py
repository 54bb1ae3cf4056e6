"""The photos of a rod: looked at, added from a phone, shown to the customer, taken away."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from shop.db.sessions import Session
from shop.outside.photo_files import PhotoFolderFault
from shop.queries.builds import build_view
from shop.queries.photos import PhotoView, photo_view
from shop.rules.refusals import BadInput
from shop.services.photos import add_photos, change_caption, remove_photo, share_photo
from shop.web.benches import BenchSide, TheBench
from shop.web.deps import Form, Posted, Reading, TheHub, Writing
from shop.web.doors import AtBench, AtDesk, Looking
from shop.web.forms import FormView, ShowAgain, showing_again
from shop.web.photo_page import photos_context
from shop.web.photo_pictures import picture_response
from shop.web.photo_uploads import GonePhotos, SentPhotos
from shop.web.running import ReadingRoute
from shop.web.templating import Frame, Page
from shop.web.uploads import FIELD, MOST_PHOTOS_BYTES

router = APIRouter(route_class=ReadingRoute, include_in_schema=False)
TEMPLATE = "pages/photos.html"


@router.get("/builds/{number}/photos")
def show_photos(actor: Looking, page: Page, session: Reading, bench: TheBench, number: str) -> Response:
    """Every photo of a rod, newest first."""
    build = build_view(session, number)
    return page.show(
        TEMPLATE, here="in-hand", form=FormView(), **photos_context(page, session, bench, build)
    )  # fmt: skip


@router.post("/builds/{number}/photos", max_body_size=MOST_PHOTOS_BYTES)
def take_photos(
    actor: AtBench, page: Page, sent: SentPhotos, session: Writing, bench: TheBench, number: str
) -> Response:
    """Add the photos of a form, all of them or none."""
    posted = sent.posted
    with answering(page, session, bench, number, posted):
        added = add_photos(
            session, number, bench.bench(session, actor), sent.taken(), stage=posted.get("stage", ""),
            side=posted.get("side", ""), caption=posted.get("caption", ""),
        )  # fmt: skip
    notice = "The photo is on file." if len(added) == 1 else f"{len(added)} photos are on file."
    # A photo that the next stage asked for was taken at the rod's own page.
    return page.go(f"/builds/{number}" + ("" if posted.get("back") == "rod" else "/photos"), notice)


@router.post("/photos/{photo_id}/caption")
def say_caption(
    actor: AtBench, page: Page, session: Writing, bench: TheBench, photo_id: int, posted: Form
) -> Response:
    """Change what a photo is said to show."""
    field = f"caption-{photo_id}"
    photo = photo_view(session, photo_id)
    with answering(page, session, bench, photo.build, posted), beside(field):
        change_caption(session, photo_id, caption=posted.get(field, ""))
    return back_to(page, photo, "The caption is saved.")


@router.post("/photos/{photo_id}/share")
def share(actor: AtDesk, page: Page, session: Writing, bench: TheBench, photo_id: int) -> Response:
    """Let the customer see a photo."""
    photo = photo_view(session, photo_id)
    with answering(page, session, bench, photo.build, Posted([])):
        share_photo(session, photo_id, bench.bench(session, actor), shared=True)
    return back_to(page, photo, "The customer sees this photo now.")


@router.post("/photos/{photo_id}/hide")
def hide(actor: AtDesk, page: Page, session: Writing, bench: TheBench, photo_id: int) -> Response:
    """Let the customer see a photo no longer."""
    photo = photo_view(session, photo_id)
    with answering(page, session, bench, photo.build, Posted([])):
        share_photo(session, photo_id, bench.bench(session, actor), shared=False)
    return back_to(page, photo, "The customer no longer sees this photo.")


@router.post("/photos/{photo_id}/remove")
def remove(
    actor: AtDesk, page: Page, gone: GonePhotos, session: Writing, bench: TheBench, photo_id: int,
    posted: Form,
) -> Response:  # fmt: skip
    """Take a photo away; its files go with the commit."""
    field = f"reason-{photo_id}"
    photo = photo_view(session, photo_id)
    with answering(page, session, bench, photo.build, posted), beside(field):
        remove_photo(session, photo_id, bench.bench(session, actor), reason=posted.get(field, ""))
    gone.append(photo.name)
    return page.go(f"/builds/{photo.build}/photos", "The photo is taken away.")


@router.get("/photos/{photo_id}/{picture}")
def show_picture(actor: Looking, session: Reading, hub: TheHub, photo_id: int, picture: str) -> Response:
    """One size of a photo, as `1280.jpg`."""
    return picture_response(hub.photos, photo_view(session, photo_id), picture)


@contextmanager
def answering(page: Frame, session: Session, bench: BenchSide, number: str, posted: Posted) -> Iterator[None]:
    """Turn a refusal inside the block into the page of photos with the form as typed."""
    page.here = "in-hand"
    build = build_view(session, number)

    def context() -> dict[str, Any]:
        session.rollback()
        return photos_context(page, session, bench, build)

    try:
        with showing_again(page, TEMPLATE, posted, context):
            yield
    except PhotoFolderFault as fault:
        form = FormView(posted, {FIELD: str(fault)})
        raise ShowAgain(page.show(TEMPLATE, status=503, form=form, **context())) from fault


@contextmanager
def beside(field: str) -> Iterator[None]:
    """Say what is wrong beside the field of the one photo it is about."""
    try:
        yield
    except BadInput as bad:
        raise BadInput({field: bad.sentence}) from bad


def back_to(page: Frame, photo: PhotoView, notice: str) -> Response:
    """Back to where the photo stands on its page."""
    return page.go(f"/builds/{photo.build}/photos#photo-{photo.id}", notice)
