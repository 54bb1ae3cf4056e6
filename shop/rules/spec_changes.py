"""Until when what of a spec may still be changed: each topic closes when the stage that uses it can begin.

A stage can begin when the one before it in the sequence is reached; a first stage has begun when it is
reached itself. A change afterwards is not refused: it is a rework, to be priced. Pure; who writes the change
is `shop.services.specs`.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import NamedTuple

from shop.rules.facts import ApprovalFact, Reached
from shop.rules.sequences import Sequence, Stage
from shop.rules.spec import FIELDS, SHOP, Spec, changed_fields


class Topic(NamedTuple):
    """Fields that close together: what stages use of them (`shop.rules.sequences.USES`), and their names.

    `label` is what the shop says, `customer_label` how the customer reads it.
    """

    name: str
    label: str
    customer_label: str
    uses: tuple[str, ...] = ()


TOPICS = (
    Topic("blank", "Blank", "the blank: its length, power and action", ("blank",)),
    Topic("grips", "Grips", "the grips", ("grip", "arbor")),
    Topic("reel seat", "Reel seat and reel", "the reel seat and the side you wind on", ("reel seat",)),
    Topic("rings", "Winding check and trim rings", "the trim rings", ("winding check", "trim ring")),
    Topic("guides", "Guides", "the guides", ("guide", "tip-top")),
    Topic("threads", "Threads", "the colour of the wraps", ("thread",)),
    Topic("inscription", "Inscription", "the inscription", ("inscription",)),
    Topic("butt end", "Butt end", "the butt end", ("butt cap", "gimbal")),
    Topic("wishes", "Wishes", "anything else you wish for"),
)
_TOPIC_OF = {field.name: field.topic for field in FIELDS}


class Openness(NamedTuple):
    """Whether a topic may still be changed, and when that ends or ended.

    `closes_with` is the stage whose logging closes it, `used_at` the stage that uses it up (empty where no
    stage of the sequence does). `closed_at` is when it was closed, none while it is open.
    """

    topic: Topic
    is_open: bool
    closes_with: str
    used_at: str
    closed_at: datetime | None = None

    @property
    def says(self) -> str:
        """The same as a sentence for the shop."""
        because = f": “{self.used_at}” uses it" if self.used_at else ""
        if self.is_open:
            return f"Open until “{self.closes_with}” is logged{because}."
        return f"Closed since “{self.closes_with}” was logged{because}. A change now is a priced rework."


class StillChangeable(NamedTuple):
    """A topic as the customer reads it: whether it may still be changed, and until when in words."""

    label: str
    is_open: bool
    words: str


def openness(sequence: Sequence, reached: Mapping[str, Reached]) -> tuple[Openness, ...]:
    """Every topic, open or closed, of a build that follows `sequence` and has reached these stages."""
    return tuple(_openness(topic, sequence, reached) for topic in TOPICS)


def _openness(topic: Topic, sequence: Sequence, reached: Mapping[str, Reached]) -> Openness:
    stages = sequence.stages
    using = [at for at, stage in enumerate(stages) if set(stage.uses) & set(topic.uses)]
    if not using:
        return _state(topic, stages[-1], "", reached)
    begun = next((at for at in using if _has_begun(stages, at, reached)), None)
    first = using[0] if begun is None else begun
    closing = stages[max(first - 1, 0)]
    if begun is not None and closing.name not in reached:
        # Logged out of order: what closed it is the stage that used it.
        closing = stages[first]
    return _state(topic, closing, stages[first].name, reached)


def _has_begun(stages: tuple[Stage, ...], at: int, reached: Mapping[str, Reached]) -> bool:
    return stages[at].name in reached or (at > 0 and stages[at - 1].name in reached)


def _state(topic: Topic, closing: Stage, used_at: str, reached: Mapping[str, Reached]) -> Openness:
    closed = reached.get(closing.name)
    return Openness(topic, closed is None, closing.name, used_at, None if closed is None else closed.at)


def reworked_fields(
    before: Spec, after: Spec, sequence: Sequence, reached: Mapping[str, Reached]
) -> tuple[str, ...]:
    """The fields that change after the stage that uses them could begin, in the order of `FIELDS`."""
    closed = {item.topic.name for item in openness(sequence, reached) if not item.is_open}
    return tuple(name for name in changed_fields(before, after) if _TOPIC_OF[name] in closed)


def rework_waits_for(revision: int, asked_by: str, approval: ApprovalFact | None) -> str:
    """What a rework that came with a revision waits for, as a sentence; empty where it waits for nothing.

    What the shop itself wished is not asked of the customer. A yes to a later revision is one to this.
    """
    said = approval or ApprovalFact()
    if asked_by == SHOP or (said.agreed is not None and said.agreed >= revision):
        return ""
    if said.quoted is not None and said.quoted >= revision:
        return "The customer's yes to the quote."
    return "A quote with its price."


def still_changeable(sequence: Sequence, reached: Mapping[str, Reached]) -> tuple[StillChangeable, ...]:
    """What the customer may still change and until when, in words that name no stage of the shop's own.

    A topic that closes at a stage of which the customer hears nothing is told to close at the one before of
    which they do. Topics that no stage of the sequence uses are left out, but for the wishes.
    """
    return tuple(
        StillChangeable(item.topic.customer_label, item.is_open, _customer_words(item, sequence, reached))
        for item in openness(sequence, reached)
        if item.used_at or not item.topic.uses
    )


def _customer_words(item: Openness, sequence: Sequence, reached: Mapping[str, Reached]) -> str:
    if not item.is_open:
        return "The step that uses it has begun; a change now is extra work, with a price of its own."
    if not item.used_at:
        return "Until your rod is handed over."
    names = [stage.name for stage in sequence.stages]
    before = sequence.stages[: names.index(item.closes_with) + 1]
    told = [stage for stage in before if stage.customer_words]
    if not told:
        return "Until we begin."
    if told[-1].name in reached:
        return "For a short time only: the step that uses it comes soon."
    return f"Until you read here: “{told[-1].customer_words}”"
