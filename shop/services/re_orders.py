"""The same again: an enquiry for a rod like one that was built, with what is on the shelf today."""

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from shop.db.builds import Build
from shop.queries.builds import BuildView, build_view
from shop.queries.customers import customer_view
from shop.queries.make_ups import latest_make_up
from shop.queries.sequences import sequence_for_kind, sequence_view, versions_of
from shop.queries.specs import latest_spec
from shop.rules.make_up import MakeUp
from shop.rules.re_orders import changed_since, spec_for
from shop.rules.refusals import BadInput, Overtaken
from shop.rules.spec import Spec
from shop.services.bench import Bench
from shop.services.builds import take_on_build
from shop.services.make_ups import GuideSaid, MakeUpSaid, PartSaid, save_make_up
from shop.services.specs import revise_spec


@dataclass(frozen=True)
class SameAgain:
    """What came of it: the new enquiry, what is another than it was, and why the make-up was left out."""

    build: Build
    changes: tuple[str, ...] = ()
    left_out: str = ""


def order_same_again(
    session: Session, number: str, bench: Bench, *, zone: ZoneInfo, customer_id: int | None = None
) -> SameAgain:
    """Take down an enquiry for a rod like one on record, for its customer or another one.

    Its newest spec, make-up and thread colour are copied, the make-up with what is said on today's shelf, and
    it follows the present version of its sequence; nothing is promised. The first customer's own words do not
    go to another. Raises `NotOnFile`, or `Overtaken` for a repair, an enquiry and an erased customer.
    """
    first = build_view(session, number)
    if first.rod_kind == "repair":
        raise Overtaken(f"{number} is a repair; what is built again is a rod.")
    if first.is_enquiry:
        raise Overtaken(f"{number} was never ordered; there is no rod to build again.")
    whose = first.customer_id if customer_id is None else customer_id
    if customer_view(session, whose).erased_at is not None:
        raise Overtaken("That customer was erased; choose the customer it is for.")
    latest = latest_spec(session, first.id)
    spec = _plain_spec(first) if latest is None else latest.value
    build = take_on_build(
        session, now=bench.now, zone=zone, customer_id=whose, title=first.title, rod_kind=first.rod_kind,
        sequence_id=_present_sequence(session, first), blank_id=first.blank_id,
        thread_colour=first.thread_colour, is_enquiry=True, actor=bench.actor,
    )  # fmt: skip
    build.copied_from_id = first.id
    same = whose == first.customer_id
    revise_spec(session, build.number, bench, spec_for(spec, same_customer=same), revision=0)
    return _with_make_up(session, bench, first, build)


def _plain_spec(first: BuildView) -> Spec:
    return Spec(
        first.rod_kind, first.title, blank_id=first.blank_id, thread_colour=first.thread_colour
    )  # fmt: skip


def _present_sequence(session: Session, first: BuildView) -> int:
    """The present version of the sequence that the rod followed; else the shop's for its kind."""
    newest = versions_of(session, sequence_view(session, first.sequence_id).family_id)[0]
    if newest.retired_at is None:
        return newest.id
    return sequence_for_kind(session, None, first.rod_kind)[0]


def _with_make_up(session: Session, bench: Bench, first: BuildView, build: Build) -> SameAgain:
    before = latest_make_up(session, first.id)
    if before is None:
        return SameAgain(build)
    try:
        said = _said_of(before.value)
        save_make_up(session, build.number, bench, said, revision=0, reason=f"As built on {first.number}.")
    except BadInput as bad:
        return SameAgain(build, left_out=f"The make-up of {first.number} was not copied: {bad.sentence}")
    after = latest_make_up(session, build.id)
    assert after is not None
    return SameAgain(build, changed_since(before.value, after.value))


def _said_of(value: MakeUp) -> MakeUpSaid:
    """A make-up as it would be said anew. Raises `BadInput` for a part that is not a component on file."""
    if unnamed := [part.place for part in value.parts if part.component_id is None]:
        raise BadInput({"parts": f"no component on file is named for the {', '.join(unnamed)}."})
    return MakeUpSaid(
        parts=[
            PartSaid(part.place, part.component_id or 0, part.from_butt_nm, part.to_butt_nm)
            for part in value.parts
        ],
        guides=[GuideSaid(guide.from_tip_nm, guide.component_id) for guide in value.guides],
        bond_id=None if value.bond is None else value.bond.adhesive_id,
        finish_id=None if value.finish is None else value.finish.adhesive_id,
        ways=value.ways,
    )
