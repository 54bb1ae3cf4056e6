"""Zones of the shop and the temperatures read in them."""

from datetime import datetime

from sqlalchemy import ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column

from shop.db.types import Base


class Zone(Base):
    """A part of the shop with its own temperature.

    `assumed_c` is what holds where no reading speaks. `readings_version` grows whenever a reading or the
    assumed temperature changes, so that kept sums know when they are stale.
    """

    __tablename__ = "zones"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(60), unique=True)
    assumed_c: Mapped[float]
    readings_version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}


class Sensor(Base):
    """A thermometer that reports by itself; `topic` is where it publishes over MQTT, if it does."""

    __tablename__ = "sensors"

    id: Mapped[int] = mapped_column(primary_key=True)
    zone_id: Mapped[int] = mapped_column(ForeignKey("zones.id"), index=True)
    name: Mapped[str] = mapped_column(String(60), unique=True)
    topic: Mapped[str | None] = mapped_column(String(200), unique=True)
    created_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}


class Reading(Base):
    """One temperature at one instant in one zone, by one sensor or (null) by hand.

    Of two by the same sensor at the same instant the later entry counts. `source` is hand, api, file or
    mqtt.
    """

    __tablename__ = "readings"
    __table_args__ = (
        Index("ix_readings_zone_id_at", "zone_id", "at"),
        Index("ix_readings_sensor_id_at", "sensor_id", "at"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    zone_id: Mapped[int] = mapped_column(ForeignKey("zones.id"))
    sensor_id: Mapped[int | None] = mapped_column(ForeignKey("sensors.id"))
    source: Mapped[str] = mapped_column(String(10), default="hand")
    at: Mapped[datetime]
    celsius: Mapped[float]
    entered_at: Mapped[datetime]
