"""What a sensor may publish, and what is refused with a sentence."""

from datetime import UTC, datetime

import pytest

from shop.web.mqtt_payloads import MOST_BYTES, PayloadFault, read_payload

AT = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("payload", "celsius", "at"),
    [
        (b"20.5", 20.5, None),
        (b" -3\n", -3.0, None),
        (b'{"celsius": 20.5}', 20.5, None),
        (b'{"temperature": 20, "humidity": 55, "battery": "low"}', 20.0, None),
        (b'{"celsius": 20.5, "temperature": 70}', 20.5, None),
        (b'{"celsius": 20.5, "at": "2026-03-02T09:00:00+01:00"}', 20.5, AT),
        (b'{"celsius": 20.5, "at": null}', 20.5, None),
    ],
)
def test_a_reading(payload: bytes, celsius: float, at: datetime | None) -> None:
    assert read_payload(payload, is_retained=False) == (celsius, at)


@pytest.mark.parametrize(
    ("payload", "says"),
    [
        (b"", "“” is neither a number nor JSON"),
        (b"warm", "“warm” is neither a number nor JSON"),
        (b"20,5", "neither a number nor JSON"),
        (b"NaN", "neither a number nor JSON"),
        (b"1e5", "neither a number nor JSON"),
        (b"\xff\xfe\x00", "neither a number nor JSON"),
        (b"[20.5]", "neither a number nor JSON"),
        (b"12345678901234567890", "neither a number nor JSON"),
        (b"{" * 4000, "neither a number nor JSON"),
        (b'{"celsius": 1, "celsius": 2}', "neither a number nor JSON"),
        (b'{"humidity": 55}', "has neither “celsius” nor “temperature”"),
        (b'{"celsius": "20.5"}', "“celsius” must be a number, not “20.5”"),
        (b'{"temperature": true}', "“temperature” must be a number"),
        (b'{"celsius": null}', "“celsius” must be a number"),
        (b'{"celsius": 20, "at": "2026-03-02 09:00"}', "“at” must be a time with its offset"),
        (b'{"celsius": 20, "at": 1772442000}', "“at” must be a time with its offset"),
        (b"2" * (MOST_BYTES + 1), "It has 4097 bytes"),
    ],
)
def test_what_is_no_reading(payload: bytes, says: str) -> None:
    with pytest.raises(PayloadFault) as refused:
        read_payload(payload, is_retained=False)
    assert says in str(refused.value)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 160


def test_what_the_broker_had_kept_counts_only_where_it_says_when() -> None:
    with pytest.raises(PayloadFault, match="The broker had kept it"):
        read_payload(b"20.5", is_retained=True)
    told = b'{"celsius": 20.5, "at": "2026-03-02T08:00:00Z"}'
    assert read_payload(told, is_retained=True) == (20.5, AT)
