"""Why something was not done, as data: one small tree of errors, mapped to HTTP once, in `shop.web`.

Every sentence in them is meant for a person of the shop.
"""

from shop.rules.decide import Decision


class Refusal(Exception):
    """The base of every refusal; `sentence` says what and why."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


class NotOnFile(Refusal):
    """There is no such record."""


class NotAllowed(Refusal):
    """Whoever asks may not do this."""


class Overtaken(Refusal):
    """Somebody else was first, or the record is no longer in the state that was meant."""


class BadInput(Refusal):
    """Something typed or sent cannot be. `errors` maps a field's name to its sentence."""

    def __init__(self, errors: dict[str, str]) -> None:
        super().__init__(" ".join(errors.values()))
        self.errors = errors


class Held(Refusal):
    """The stage may not be reached; `decision` has every hold."""

    def __init__(self, decision: Decision) -> None:
        super().__init__(" ".join(hold.reason for hold in decision.holds))
        self.decision = decision
