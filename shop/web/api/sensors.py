"""The API of sensors: the thermometers that report by themselves."""

from typing import Annotated, Any

from pydantic import BaseModel, Field

from shop.queries.sensors import sensor_view, sensors_after
from shop.rules.sensors import MOST_NAME, MOST_TOPIC
from shop.services.sensors import add_sensor, change_sensor, end_sensor, move_sensor
from shop.web.api.base import After, Body, Limit, Once, Page, Ref, api_router, changes_of, page_of
from shop.web.api.times import InstantOut
from shop.web.deps import Now, Reading, Writing
from shop.web.doors import KeyForLooking, KeyForWays

router = api_router("sensors")

Name = Annotated[str, Field(max_length=MOST_NAME, description="What its readings name it by.")]
TopicText = Annotated[str, Field(max_length=MOST_TOPIC, description="Where it publishes over MQTT.")]


class SensorIn(Body):
    """A new sensor in a zone."""

    zone_id: Ref
    name: Name
    topic: TopicText | None = None


class SensorChanges(Body):
    """What changes of a sensor; a null topic means that it publishes nowhere."""

    name: Name | None = None
    topic: TopicText | None = None


class SensorMove(Body):
    """The zone that a sensor hangs in from now on."""

    zone_id: Ref


class SensorOut(BaseModel):
    """A sensor on file, and the last that it read; `ended_at` is null while it is in use."""

    id: int
    name: str
    zone_id: int
    zone: str
    topic: str | None
    created_at: InstantOut
    ended_at: InstantOut | None
    last_read_at: InstantOut | None
    last_celsius: float | None


@router.get("/sensors", response_model=Page[SensorOut])
def list_sensors(actor: KeyForLooking, session: Reading, after: After = 0, limit: Limit = 50) -> Any:
    """Sensors by id, ended ones too."""
    return page_of(sensors_after(session, after, limit + 1), limit, lambda item: item.id)


@router.post("/sensors", status_code=201, response_model=SensorOut)
def post_sensor(actor: KeyForWays, session: Writing, _once: Once, now: Now, body: SensorIn) -> Any:
    """Put a sensor on file."""
    return sensor_view(session, add_sensor(session, now=now, **body.model_dump()).id)


@router.get("/sensors/{sensor_id}", response_model=SensorOut)
def get_sensor(actor: KeyForLooking, session: Reading, sensor_id: int) -> Any:
    """One sensor."""
    return sensor_view(session, sensor_id)


@router.patch("/sensors/{sensor_id}", response_model=SensorOut)
def patch_sensor(
    actor: KeyForWays, session: Writing, _once: Once, sensor_id: int, body: SensorChanges
) -> Any:
    """Rename a sensor or change where it publishes."""
    change_sensor(session, sensor_id, **changes_of(body, "topic"))
    return sensor_view(session, sensor_id)


@router.post("/sensors/{sensor_id}/move", status_code=201, response_model=SensorOut)
def post_sensor_move(
    actor: KeyForWays, session: Writing, _once: Once, now: Now, sensor_id: int, body: SensorMove
) -> Any:
    """Move a sensor to another zone: it ends where it was, and a new record of the same name begins."""
    return sensor_view(session, move_sensor(session, sensor_id, now=now, zone_id=body.zone_id).id)


@router.delete("/sensors/{sensor_id}", response_model=SensorOut)
def delete_sensor(actor: KeyForWays, session: Writing, _once: Once, now: Now, sensor_id: int) -> Any:
    """End a sensor; what it read stays on file, and its name is free for another."""
    end_sensor(session, sensor_id, now=now)
    return sensor_view(session, sensor_id)
