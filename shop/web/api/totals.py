"""The API of totals: what a period came to, for the accountant."""

from datetime import date
from typing import Annotated, Any

from fastapi import Query
from pydantic import BaseModel, Field

from shop.queries.shop import read_shop
from shop.queries.totals import money_between, sold_between
from shop.rules.refusals import BadInput
from shop.rules.totals import SoldRod, Totals, faults_of_period, taxes_of, totals_of
from shop.web.api.base import api_router
from shop.web.api.money import CentsOut, ShareOut
from shop.web.api.times import DayIn
from shop.web.deps import Reading
from shop.web.doors import KeyForDesk

router = api_router("totals")

First = Annotated[DayIn, Query(alias="from", description="The first day.")]
Last = Annotated[DayIn, Query(description="The last day, included.")]


class TaxOut(BaseModel):
    """What one tax came to at one rate."""

    name: str
    percent: ShareOut
    cents: CentsOut


class TaxSumOut(TaxOut):
    """The same for a whole period, with what it was taken on."""

    taxed_cents: int


class MethodOut(BaseModel):
    """What came in by one method, what went back by it, and what stays."""

    method: str
    in_cents: int
    back_cents: int
    cents: CentsOut


class SoldRodOut(BaseModel):
    """A rod that was handed over; money is null where no quote was ever agreed for it."""

    build: str
    title: str
    customer: str
    sold_on: date
    currency: str | None
    price_cents: int | None
    taxes: list[TaxOut]
    total_cents: int | None


class SumsOut(BaseModel):
    """The sums of one currency; `rods` counts those with an agreed quote in it."""

    currency: str
    rods: Annotated[int, Field(description="How many rods.")]
    price_cents: int
    taxes: list[TaxSumOut]
    total_cents: int
    paid_cents: int
    methods: list[MethodOut]


class TotalsOut(BaseModel):
    """A period: every rod that was finished in it, and the sums, currency by currency."""

    first: Annotated[date, Field(serialization_alias="from")]
    until: date
    rods: list[SoldRodOut]
    sums: list[SumsOut]


@router.get("/totals", response_model=TotalsOut)
def get_totals(actor: KeyForDesk, session: Reading, first: First, until: Last) -> Any:
    """The rods finished in a period and the money that came in, with the taxes by rule."""
    if errors := faults_of_period(first, until):
        raise BadInput(errors)
    rods = sold_between(session, first, until, read_shop(session).zone)
    sums = totals_of(rods, money_between(session, first, until))
    return {
        "first": first, "until": until, "rods": [_rod_out(rod) for rod in rods],
        "sums": [_sums_out(total) for total in sums],
    }  # fmt: skip


def _rod_out(rod: SoldRod) -> dict[str, Any]:
    offer = rod.offer
    taxes = {} if offer is None else taxes_of(offer)
    return {
        **rod._asdict(),
        "currency": None if offer is None else offer.currency,
        "price_cents": None if offer is None else offer.made.price_cents,
        "taxes": [
            {"name": tax.name, "percent": float(tax.percent), "cents": cents} for tax, cents in taxes.items()
        ],
        "total_cents": None if offer is None else offer.made.total_cents,
    }


def _sums_out(total: Totals) -> dict[str, Any]:
    taxes = [
        {
            "name": line.tax.name, "percent": float(line.tax.percent), "cents": line.cents,
            "taxed_cents": line.taxed_cents,
        }
        for line in total.taxes
    ]  # fmt: skip
    methods = [{**line._asdict(), "cents": line.cents} for line in total.methods]
    return {**total._asdict(), "taxes": taxes, "methods": methods, "paid_cents": total.paid_cents}
