"""Customers: how a name is shortened where a sheet or a label lies about in the shop."""


def short_name(name: str) -> str:
    """A first name and an initial: `Ada Thorn` is `Ada T.`; a name of one word stays as it is."""
    words = name.split()
    last = next((word for word in reversed(words[1:]) if word[0].isalpha()), "")
    if not words or not last:
        return words[0] if words else ""
    return f"{words[0]} {last[0].upper()}."
