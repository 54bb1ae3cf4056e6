"""How far apart top-mounted guides may stand before the line touches the bent blank between them."""

from fractions import Fraction
from math import asin, floor, isqrt, pi, sin, sqrt

from shop.craft.faults import SumFault
from shop.craft.lengths import half_away
from shop.craft.saying import say_length


def height_needed(span_nm: int, radius_nm: int) -> int:
    """The ring height at which the line just touches midway: L²/(8R), the sag of a shallow arc.

    `span_nm` is along the blank between two guides of the same height, `radius_nm` that of the bend there.
    Common practice. Raises `SumFault` on `span` or `radius`.
    """
    _check(span_nm, radius_nm, None)
    return half_away(Fraction(span_nm * span_nm, 8 * radius_nm))


def clearance_left(span_nm: int, radius_nm: int, ring_height_nm: int) -> int:
    """What is left between line and blank midway: h − L²/(8R); below nothing, they touch.

    Raises `SumFault` on `span`, `radius` or `ring_height`.
    """
    _check(span_nm, radius_nm, ring_height_nm)
    return half_away(ring_height_nm - Fraction(span_nm * span_nm, 8 * radius_nm))


def longest_gap(radius_nm: int, ring_height_nm: int) -> int:
    """The longest gap that does not touch by the rule: L = √(8Rh), rounded down to a whole nanometre.

    Raises `SumFault` on `radius` or `ring_height`.
    """
    _check(None, radius_nm, ring_height_nm)
    return isqrt(8 * radius_nm * ring_height_nm)


def clearance_on_arc(span_nm: int, radius_nm: int, ring_height_nm: int) -> int:
    """What is left midway on a true arc: (R + h)·cos(L/2R) − R, a little less than the rule says.

    The rings stand square on an arc of radius R and the line runs straight between their centres; plane
    geometry. Raises `SumFault` as `clearance_left` does.
    """
    _check(span_nm, radius_nm, ring_height_nm)
    drop_nm = (radius_nm + ring_height_nm) * 2 * sin(span_nm / (4 * radius_nm)) ** 2
    return half_away(ring_height_nm - Fraction(drop_nm))


def longest_gap_on_arc(radius_nm: int, ring_height_nm: int) -> int:
    """The longest gap on a true arc, along the blank: 2R·arccos(R/(R + h)), rounded down.

    Raises `SumFault` on `radius` or `ring_height`.
    """
    _check(None, radius_nm, ring_height_nm)
    # arccos(R/(R + h)) by the half angle, which does not lose its figures where h is small.
    half_angle = asin(sqrt(ring_height_nm / (2 * (radius_nm + ring_height_nm))))
    return floor(4 * radius_nm * half_angle)


def _check(span_nm: int | None, radius_nm: int, ring_height_nm: int | None) -> None:
    errors = {
        name: f"{words} must be more than nothing; {say_length(given)} is not."
        for name, words, given in (
            ("span", "The gap between the guides", span_nm),
            ("radius", "The radius of the bend", radius_nm),
            ("ring_height", "The height of the ring", ring_height_nm),
        )
        if given is not None and given <= 0
    }
    if not errors and span_nm is not None and span_nm > pi * radius_nm:
        errors["span"] = (
            f"A gap of {say_length(span_nm)} is more than half a circle of radius {say_length(radius_nm)}; "
            "no blank bends so far between two guides."
        )
    if errors:
        raise SumFault(errors)
