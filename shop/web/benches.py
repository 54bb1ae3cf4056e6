"""Puts together what a handler of the bench needs: warmth, surroundings and the sequences kept."""

from collections.abc import Callable, Hashable
from datetime import datetime
from typing import Annotated, TypeVar

from fastapi import Depends, Request

from shop.db.sessions import Session
from shop.queries.bench import (
    BenchRow,
    BenchView,
    OpenBuilds,
    bench_view,
    build_row,
    read_open_builds,
)
from shop.queries.builds import BuildView, build_view
from shop.queries.cure_clock import Warmth
from shop.queries.facts import Surroundings, surroundings
from shop.queries.turner_facts import turner_fact
from shop.rules.people import Actor
from shop.services.bench import Bench
from shop.web.deps import Hub, Now, hub_of

T = TypeVar("T")


class BenchSide:
    """The bench at one instant: what pages and API ask of it, and the `Bench` that verbs take."""

    def __init__(self, hub: Hub, now: datetime, remembers: bool = False) -> None:
        self.hub = hub
        self.now = now
        # A handler that writes must see what it has written itself, and runs on a thread of its own.
        self._remembers = remembers and hub.running.reads_on_loop

    def warmth(self, session: Session) -> Warmth:
        """The zones' cure clocks, up to date."""
        return self.recall("warmth", session, self.hub.cure_clock.warmth)

    def around(self, session: Session, warmth: Warmth) -> Surroundings:
        """What is the same for every build."""
        doubt = self.hub.clock.doubt or warmth.clock_doubt
        turner = self.recall("turner", session, lambda reading: turner_fact(reading, warmth))
        return surroundings(warmth, doubt, self.now.timestamp(), turner)

    def view(self, session: Session) -> BenchView:
        """Every open build, sorted into free, curing and held."""
        around = self.around(session, self.warmth(session))
        return bench_view(session, self.hub.sequences, self.opened(session), around, self.now)

    def opened(self, session: Session) -> OpenBuilds:
        """Every open build with what is on record of it."""
        hub = self.hub

        def read(reading: Session) -> OpenBuilds:
            # The warmth of the same moment: one remembered from before a commit would outlive it here.
            return read_open_builds(reading, hub.records, self.warmth(reading))

        # A tablet on the wall asks again every minute; what is on record seldom has changed by then.
        return self.recall("open builds", session, read)

    def recall(self, key: Hashable, session: Session, read: Callable[[Session], T]) -> T:
        """What was read since the last commit, or else what `read` gives."""
        if not self._remembers:
            return read(session)

        def read_anew() -> T:
            # The handler's own session may see an older moment than the memory's version stands for.
            with self.hub.database.reading() as fresh:
                return read(fresh)

        return self.hub.memory.recall(key, read_anew)

    def row(self, session: Session, number: str) -> BenchRow:
        """One build by its number, with the decision about its next stage. Raises `NotOnFile`."""
        return self.row_of(session, build_view(session, number))

    def row_of(self, session: Session, build: BuildView) -> BenchRow:
        """One build with the decision about its next stage."""
        warmth = self.warmth(session)
        return build_row(session, build, self.hub.sequences, warmth, self.around(session, warmth), self.now)

    def bench(self, session: Session, actor: Actor) -> Bench:
        """What the verbs of the bench take."""
        warmth = self.warmth(session)
        around = self.around(session, warmth)
        return Bench(self.now, actor, warmth, around, self.hub.sequences)


async def bench_side(request: Request, now: Now) -> BenchSide:
    """The bench at the instant of the request."""
    return BenchSide(hub_of(request), now, remembers=request.method == "GET")


TheBench = Annotated[BenchSide, Depends(bench_side)]
