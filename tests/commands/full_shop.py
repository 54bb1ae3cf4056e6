"""What the made-up shop has none of, each by its service, so that an export of it has rows in every table.

Among them are entries that point at later ones of their own table, as a corrected mix and cure do.
"""

from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.db.cures import Cure
from shop.db.turners import TurnerStay
from shop.rules.mails import MailKind
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
from tests.lot_shop import bench_at
from tests.mail_shop import switch_kind, switch_mail


def fill_the_rest(session: Session, secret: bytes, now: datetime) -> None:
    """Fill every table that the made-up shop leaves empty."""
    cellar = add_zone(session, now=now, name="cellar", assumed_c=4)
    bench = bench_at(session, now)
    five_ago = now - timedelta(minutes=5)
    _be_late(session, bench)
    give_feed(session, secret, 1, now=now)
    record_doubt(session, now=now, reason="The clock went back by an hour.")
    confirm_time(session, now=now, by="Maren")
    told = [Moment(Kind.SET, 1, five_ago, (), "has set")]
    mark_seen(session, bench, told, keys=[], all_until=now.isoformat())
    stay = session.scalars(select(TurnerStay).where(TurnerStay.off_at.is_(None)).limit(1)).one()
    stop_turner(session, bench, stay.turner_id, stopped_at=five_ago)
    _glue_and_doubt(session, bench, cellar.id)


def _glue_and_doubt(session: Session, bench: Bench, cellar_id: int) -> None:
    """Carry off what was glued last, put it and its cup right, and mix a further cup that stays cloudy."""
    kept = select(Cure).where(Cure.superseded_by_id.is_(None))
    cure = session.scalars(kept.order_by(Cure.closed_at.desc()).limit(1)).one()
    number = session.get_one(Build, cure.build_id).number
    move_cures(session, bench, number, zone_id=cellar_id, cure_ids=[cure.id])
    anew = MixAnew(planned_minutes=20.0)
    mix = correct_mix(session, bench, cure.mix_id, anew=anew, reason="Misread.")
    correct_cure(session, bench, cure.id, anew=CureAnew(zone_id=cellar_id), reason="It lay there before.")
    serves = CupSaid(serves=((number, cure.place),))
    cup = make_mix(
        session, bench, adhesive_id=mix.adhesive_id, zone_id=mix.zone_id, mixed_at=None, cup=serves
    )
    suspect_mix(session, bench, cup.id, reason="It stayed cloudy.")


def _be_late(session: Session, bench: Bench) -> None:
    """Put a promise off, which its customer is told."""
    switch_mail(session)
    switch_kind(session, MailKind.SLIP)
    promised = select(Build).where(Build.closed_at.is_(None), Build.promised_on.is_not(None))
    build = session.scalars(promised.order_by(Build.id).limit(1)).one()
    assert build.promised_on is not None
    change_customer(session, build.customer_id, email="late@mail.example")
    later = build.promised_on + timedelta(days=9)
    change_promise(session, build.number, bench, promised_on=later, reason="A part came late.")
