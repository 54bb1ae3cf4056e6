"""What a correction changed, in words, for the record of the builds that it concerns."""

from collections.abc import Iterable
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.db.cures import Cure
from shop.db.mixes import Mix
from shop.queries.lots import lot_fact
from shop.queries.shop import read_shop
from shop.queries.zones import zone_record
from shop.rules.holds import as_sentence


def words_of_mix(session: Session, right: Mix, wrong: Mix) -> str:
    """What was put right of a mix, and why: each fact as it is now and as it was, in the shop's time."""
    zone = read_shop(session).zone
    changed = (
        ("adhesive", right.adhesive_name, wrong.adhesive_name),
        ("mixed", _time(right.mixed_at, zone), _time(wrong.mixed_at, zone)),
        ("zone", _zone(session, right.zone_id), _zone(session, wrong.zone_id)),
        ("lot of part A", _lot(session, right.lot_a_id), _lot(session, wrong.lot_a_id)),
        ("lot of part B", _lot(session, right.lot_b_id), _lot(session, wrong.lot_b_id)),
        ("amount of part A", _figure(right.amount_a_ml, "mL"), _figure(wrong.amount_a_ml, "mL")),
        ("amount of part B", _figure(right.amount_b_ml, "mL"), _figure(wrong.amount_b_ml, "mL")),
        ("planned", _figure(right.planned_minutes, "min"), _figure(wrong.planned_minutes, "min")),
    )
    return _told(f"The mix of {wrong.adhesive_name}", changed, right.correction_reason)


def words_of_cure(session: Session, right: Cure, wrong: Cure) -> str:
    """What was put right of a cure, and why, in the same way."""
    zone = read_shop(session).zone
    changed = (
        ("place", right.place, wrong.place),
        ("closed", _time(right.closed_at, zone), _time(wrong.closed_at, zone)),
        ("mix", str(right.mix_id), str(wrong.mix_id)),
        ("zone", _zone(session, right.zone_id), _zone(session, wrong.zone_id)),
        ("on record as", _standing(right), _standing(wrong)),
    )
    return _told(f"The {wrong.place}", changed, right.correction_reason)


def _told(what: str, changed: Iterable[tuple[str, str, str]], reason: str) -> str:
    said = [f"{name} {now}, was {before}" for name, now, before in changed if now != before]
    return f"{what} was put right: {'; '.join(said) or 'the same facts anew'}. {as_sentence(reason)}"


def _time(instant: datetime, zone: ZoneInfo) -> str:
    return f"{instant.astimezone(zone):%Y-%m-%d %H:%M}"


def _zone(session: Session, zone_id: int | None) -> str:
    return "that of its mix" if zone_id is None else zone_record(session, zone_id).name


def _lot(session: Session, lot_id: int | None) -> str:
    return "not said" if lot_id is None else lot_fact(session, lot_id).number


def _figure(value: float | None, unit: str) -> str:
    return "not said" if value is None else f"{value:g} {unit}"


def _standing(cure: Cure) -> str:
    return "failed" if cure.failed_reason else "standing"
