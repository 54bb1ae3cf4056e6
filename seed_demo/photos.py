"""The demo's photos: three drawings of ours, laid down as a phone's photos would be.

They lie here in their sizes as `shop.outside.photos` made them, so that a start of the demo decodes nothing.
"""

import random
from datetime import datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from sqlalchemy.orm import Session

from seed_demo.hand import Hand
from seed_demo.shelf import Shelf
from shop.outside.photo_files import PhotoFolder
from shop.outside.photo_process import SIZES
from shop.queries.builds import build_view_by_id
from shop.queries.cure_clock import CureClock
from shop.queries.kept_sequences import KeptSequences
from shop.services.photos import StoredPhoto, add_photos, share_photo

PICTURES = Path(__file__).with_name("pictures")
WIDTH, HEIGHT = 800, 533


class Shot(NamedTuple):
    """A drawing by the name of its files, at which stage it was taken, and whether the customer sees it."""

    name: str
    stage: str
    caption: str
    is_shared: bool


SHOTS = (
    Shot("spine-mark", "spine marked", "Both marks of the spine", False),
    Shot("dry-fit", "grips fitted", "The handle, put together dry", True),
    Shot("static-test", "guides laid out", "Bent for the guides", True),
)


def add_demo_photos(
    session: Session, shelf: Shelf, folder: PhotoFolder, build_id: int, *, now: datetime
) -> None:
    """Put the photos of one rod on file, by somebody who had them on a phone until now."""
    hand = Hand(session, shelf, random.Random(build_id), CureClock(), KeptSequences())
    number = build_view_by_id(session, build_id).number
    for minutes_ago, shot in zip((12, 11, 10), SHOTS, strict=True):
        bench = hand.bench(now - timedelta(minutes=minutes_ago))
        jpegs = {size: (PICTURES / f"{shot.name}-{size}.jpg").read_bytes() for size in SIZES}
        stored = StoredPhoto(folder.put(jpegs), WIDTH, HEIGHT, sum(map(len, jpegs.values())))
        (photo_id,) = add_photos(session, number, bench, [stored], stage=shot.stage, caption=shot.caption)
        if shot.is_shared:
            share_photo(session, photo_id, bench, shared=True)
