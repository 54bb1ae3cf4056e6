"""What the made-up shop has none of: so that an export of it has rows in every table, each by its service.

Among them are entries that point at later ones of their own table, as a corrected mix or cure does.
"""

from datetime import timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.cures import Cure
from shop.db.mixes import Mix
from shop.db.sequences import Stage
from shop.db.turners import TurnerStay
from shop.queries.builds import build_view
from shop.rules.moments import Kind, Moment
from shop.services.bench import Bench
from shop.services.calendar_feeds import give_feed
from shop.services.clock import confirm_time, record_doubt
from shop.services.corrections import CureAnew, MixAnew, correct_cure, correct_mix
from shop.services.cups import CupSaid
from shop.services.customers import change_customer
from shop.services.mixes import make_mix, suspect_mix
from shop.services.moments import mark_seen
from shop.services.moves import move_cures
from shop.services.promises import change_promise
from shop.services.turner_stops import stop_turner
from shop.services.zones import add_zone
from shop.rules.mails import MailKind
from tests.lot_shop import bench_at
from tests.mail_shop import switch_kind, switch_mail


def fill_the_rest(session: Session, now, secret: bytes) -> None:
    """Fill every table that the made-up shop leaves empty."""
    zone = add_zone(session, now=now, name="cold store", assumed_c=4)
    bench = bench_at(session, now)
    _told(session, bench)
    give_feed(session, secret, 1, now=now)
    record_doubt(session, now=now, reason="The clock went back by an hour.")
    confirm_time(session, now=now, by="Maren")
    at = now - timedelta(minutes=5)
    mark_seen(session, bench, [Moment(Kind.SET, 1, at, (), "has set")], keys=[], all_until=now.isoformat())
    cures = select(Cure).where(Cure.superseded_by_id.is_(None)).order_by(Cure.closed_at.desc())
    print([ (c.id, c.place, c.closed_at) for c in session.scalars(cures.limit(5))])
    last = session.scalars(cures.limit(1)).one()
    number = session.get_one(Build, last.build_id).number
    move_cures(session, bench, number, zone_id=zone.id, cure_ids=[last.id])
    mix = session.get_one(Mix, last.mix_id)
    correct_mix(session, bench, mix.id, anew=MixAnew(planned_minutes=20.0), reason="Misread.")
    correct_cure(session, bench, last.id, anew=CureAnew(zone_id=zone.id), reason="It lay in the cold.")
    cup = make_mix(session, bench, adhesive_id=mix.adhesive_id, zone_id=mix.zone_id, mixed_at=None, cup=CupSaid(serves=((number, last.place),)))
    suspect_mix(session, bench, cup.id, reason="It stayed cloudy.")
    stay = session.scalars(select(TurnerStay).where(TurnerStay.off_at.is_(None)).limit(1)).one()
    stop = stop_turner(session, bench, stay.turner_id, stopped_at=at)


def _told(session: Session, bench: Bench) -> None:
    switch_mail(session)
    switch_kind(session, MailKind.SLIP)
    build = session.scalars(select(Build).where(Build.closed_at.is_(None), Build.promised_on.is_not(None)).limit(1)).one()
    change_customer(session, build.customer_id, email="ada@mail.example")
    change_promise(session, build.number, bench, promised_on=build.promised_on + timedelta(days=9), reason="A late part.")
