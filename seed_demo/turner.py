"""The demo's turner: rods with coats of the last day on its places, one section of a rod to a place."""

from datetime import datetime, timedelta

from seed_demo.hand import Hand
from shop.queries.builds import BuildView, open_builds
from shop.queries.turners import turnings_of
from shop.services.turners import add_turner, note_turning, put_on

PLACES = 6
COATED_WITHIN = timedelta(hours=20)


def fill_turner(hand: Hand, *, now: datetime) -> None:
    """Put a turner on file, and on it what was coated lately; somebody has looked at it since."""
    put_on_file = now - timedelta(days=60)
    turner = add_turner(
        hand.session, now=put_on_file, name="Long rack", places=PLACES, check_minutes=120,
        zone_id=hand.shelf.zones["bench"],
    )  # fmt: skip
    bench, free = hand.bench(now), iter(range(1, PLACES + 1))
    builds = open_builds(hand.session)
    turnings = turnings_of(hand.session, [build.id for build in builds], bench.warmth)
    for build in builds:
        since = None if build.id not in turnings else turnings[build.id].since
        if since is None or since < now - COATED_WITHIN:
            continue
        for section in _sections(build):
            place = next(free, None)
            if place is not None:
                put_on(
                    hand.session, bench, turner.id, build=build.number, section=section, place_number=place,
                    on_at=since,
                )  # fmt: skip
    note_turning(hand.session, bench, turner.id, at=now - timedelta(minutes=35))


def _sections(build: BuildView) -> list[int]:
    return [0] if build.pieces == 1 else list(range(1, build.pieces + 1))
