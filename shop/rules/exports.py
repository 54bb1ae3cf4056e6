"""What an export of the whole shop holds and what it leaves out, with the reason: data for every layer.

Pure. Everything that is on record goes out but what is named here, so that a table added later is not
forgotten. What is left out is a secret, or true of one computer alone.
"""

FORMAT = 1
DOCUMENT = "export.json"
ABOUT = "README.txt"

LEFT_OUT_TABLES = {
    "api_keys": "keys of other programs are secrets; give them out anew",
    "sessions": "who is signed in is true of one server alone",
    "sign_in_attempts": "failed tries to sign in are true of one server alone",
    "first_answers": "answers kept for programs that ask twice are true of one server alone",
    "change": "the instant of the last write is that of one database alone",
}
_LINK = "private addresses are secrets of the shop that gave them; the new shop has its own"
LEFT_OUT_COLUMNS = {
    ("users", "password_hash"): "passwords are secrets; an owner gives everybody a new one",
    ("status_links", "nonce"): _LINK,
    ("status_links", "token_hash"): _LINK,
    ("calendar_feeds", "nonce"): _LINK,
    ("calendar_feeds", "token_hash"): _LINK,
    ("quotes", "nonce"): _LINK,
    ("quotes", "token_hash"): _LINK,
    ("mail_settings", "is_on"): "a copy sends no mail until an owner switches it on there",
}
LEFT_OUT_FILES = {
    "secret.key": "the shop's secret, from which private addresses are computed",
    "mail-password": "the password of the mail server",
}


def left_out_lines() -> list[str]:
    """What is left out, one a line, with its reason."""
    columns = {f"{table}.{column}": why for (table, column), why in LEFT_OUT_COLUMNS.items()}
    return [f"{name}: {why}" for name, why in (LEFT_OUT_TABLES | columns | LEFT_OUT_FILES).items()]


def about_text(shop: str) -> str:
    """What lies in an export, for whoever finds it."""
    lines = "\r\n".join(f"- {line}" for line in left_out_lines())
    return (
        f"An export of {shop}, made by Tackfree.\r\n\r\n"
        f"{DOCUMENT} has every record; `tackfree import everything PATH` puts it into an empty shop.\r\n"
        "csv/ has the same, one file a table, for a spreadsheet: a text that begins like a formula has an\r\n"
        "apostrophe before it. Lengths are nanometres, masses milligrams, money cents, instants UTC.\r\n"
        "photos/ has the photos. It is all about people: keep it as carefully as the shop's own computer.\r\n"
        f"\r\nLeft out:\r\n{lines}\r\n"
    )
