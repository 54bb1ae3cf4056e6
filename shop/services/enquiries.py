"""Enquiries: taking down what somebody asks for, before anybody has ordered it."""

from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.queries.sequences import sequence_for_kind
from shop.rules.spec import Spec
from shop.services.bench import Bench
from shop.services.builds import take_on_build
from shop.services.specs import check_spec, revise_spec


def take_down_enquiry(
    session: Session,
    bench: Bench,
    *,
    zone: ZoneInfo,
    customer_id: int,
    spec: Spec,
    notes: str = "",
) -> Build:
    """Take down what a customer asks for: a build with its number that nobody has ordered yet, and its spec.

    Title, kind of rod, blank and colour are the spec's; the sequence is the present one for the kind. `zone`
    is the shop's own. Raises `BadInput` with every fault by field, `NotOnFile` for the customer.
    """
    check_spec(session, spec)
    sequence_id, rod_kind = sequence_for_kind(session, None, spec.rod_kind)
    build = take_on_build(
        session, now=bench.now, zone=zone, customer_id=customer_id, title=spec.title, rod_kind=rod_kind,
        sequence_id=sequence_id, blank_id=spec.blank_id, thread_colour=spec.thread_colour, notes=notes,
        is_enquiry=True, actor=bench.actor,
    )  # fmt: skip
    revise_spec(session, build.number, bench, spec, revision=0)
    return build
