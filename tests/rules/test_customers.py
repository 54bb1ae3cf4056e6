"""How a customer's name is shortened on a sheet that lies about."""

import pytest

from shop.rules.customers import short_name


@pytest.mark.parametrize(
    ("name", "short"),
    [
        ("Ada Thorn", "Ada T."),
        ("Ada van der Thorn", "Ada T."),
        ("Mary-Jane Oak", "Mary-Jane O."),
        ("  ada   thorn ", "ada T."),
        ("Åse Ørland", "Åse Ø."),
        ("Ada Thorn (younger)", "Ada T."),
        ("Ada Thorn (2)", "Ada T."),
        ("Ada", "Ada"),
        ("Ada 2", "Ada"),
        ("", ""),
    ],
)
def test_a_name_is_shortened_to_first_name_and_initial(name: str, short: str) -> None:
    assert short_name(name) == short
