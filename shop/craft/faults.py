"""Why a sum cannot be done: sentences for a person, by the input that is to blame."""

from collections.abc import Mapping


class SumFault(ValueError):
    """Inputs that no sum can be done with.

    `errors` maps the name of an input (`bore`, or `stations.2.od` for a row of a table) to a sentence
    that says which figure it is and why it cannot be.
    """

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__(" ".join(errors.values()))
        self.errors = dict(errors)
