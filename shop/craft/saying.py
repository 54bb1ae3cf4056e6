"""How the figures of the bench are written: an inch fraction or thousandths, and millimetres beside.

What is shown is rounded; what is computed with is not. What a value of a calculator is written as, by its
kind, is `shop.craft.sums.saying`.
"""

from fractions import Fraction

from shop.craft.lengths import NM_PER_INCH, NM_PER_MM, format_inches, half_away


def say_length(nm: int) -> str:
    """A length to the nearest 1/64 in and 0.01 mm: `3 15/16 in (100.01 mm)`."""
    return f"{format_inches(nm)} in ({plain_mm(nm)} mm)"


def say_fine(nm: int) -> str:
    """A diameter, a wall or a gap to 0.0001 in and 0.01 mm: `0.865 in (21.97 mm)`."""
    return f"{fine_inches(nm)} in ({plain_mm(nm)} mm)"


def fine_inches(nm: int) -> str:
    """Inches to 0.0001 in, the last nought left out, halves away from zero: `0.865`, `0.0038`."""
    inches = _decimal(half_away(Fraction(nm * 10_000, NM_PER_INCH)), 4)
    return inches[:-1] if inches.endswith("0") else inches


def plain_mm(nm: int) -> str:
    """Millimetres to 0.01 mm, without trailing zeros; below 0.1 mm to 0.001 mm; halves away from zero."""
    places = 3 if abs(nm) < NM_PER_MM // 10 else 2
    text = _decimal(half_away(Fraction(nm * 10**places, NM_PER_MM)), places)
    return text.rstrip("0").rstrip(".")


def _decimal(units: int, places: int) -> str:
    """A whole number of the last place as a decimal; floats would round some halves down."""
    whole, rest = divmod(abs(units), 10**places)
    return f"{'-' if units < 0 else ''}{whole}.{rest:0{places}d}"


def plain(value: float) -> str:
    """A number to four significant figures, without an exponent and without trailing zeros."""
    if isinstance(value, int) or (value == int(value) and abs(value) < 1e12):
        return str(int(value))
    size = abs(value)
    digits = 1 if size >= 100 else 2 if size >= 10 else 3 if size >= 1 else 4
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return f"{value:.3g}" if text in ("0", "-0") else text


def say_money(cents: int) -> str:
    """Whole cents as an amount: `18.50`."""
    whole, rest = divmod(abs(cents), 100)
    return f"{'-' if cents < 0 else ''}{whole}.{rest:02d}"
