"""What may be said of a photo. What may be in its file is `shop.outside.photos`."""

from shop.rules.spec import SIDES

MOST_CAPTION = 200
MOST_REASON = 500
# What fits on the page of a rod that was photographed at every stage; more is a mistake of some program.
MOST_OF_BUILD = 200


def faults_of_photo(caption: str, side: str = "") -> dict[str, str]:
    """What is wrong with what is said of a photo, by field; `side` is that of a repair which it shows."""
    faults = {}
    if len(caption) > MOST_CAPTION:
        faults["caption"] = f"The caption has {len(caption)} characters; at most {MOST_CAPTION} fit."
    elif "\0" in caption:
        faults["caption"] = "The caption has a character in it that cannot be kept; please type it again."
    if side and side not in SIDES:
        faults["side"] = f"The side must be one of {', '.join(SIDES)}, or none."
    return faults


def fault_of_reason(reason: str) -> str:
    """What is wrong with the reason why a photo is taken away, or nothing."""
    if not reason:
        return "Taking a photo away needs a reason; it stays on the record."
    if len(reason) > MOST_REASON:
        return f"The reason has {len(reason)} characters; at most {MOST_REASON} fit."
    odd = "The reason has a character in it that cannot be kept; please type it again."
    return odd if "\0" in reason else ""


def said_of_photos(count: int, what: str) -> str:
    """What happened to some photos, as the record says it: `2 photos were taken.`"""
    return f"A photo was {what}." if count == 1 else f"{count} photos were {what}."
