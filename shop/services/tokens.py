"""Random tokens and keys, and the form in which they are kept: SHA-256 (FIPS 180-4) and HMAC (RFC 2104).

A token is 256 random bits, so one fast round of hashing is enough; passwords, which people choose, are
hashed slowly in `shop.outside.passwords`.
"""

import base64
import hashlib
import hmac
import secrets
from typing import NamedTuple

TOKEN_BYTES = 32


class PrivateLink(NamedTuple):
    """A private address: the `token` is given to one person, `nonce` and `token_hash` are kept.

    The token is computed from the nonce and the shop's secret, so a copy of the database alone opens nothing,
    and the shop can show the address again.
    """

    token: str
    nonce: str
    token_hash: str


def new_token() -> str:
    """256 random bits as URL-safe text (RFC 4648 §5)."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def hash_of(token: str) -> str:
    """64 hexadecimal digits for a token or key."""
    return hashlib.sha256(token.encode()).hexdigest()


def token_from(secret: bytes, nonce: str) -> str:
    """The token that belongs to a nonce: HMAC-SHA-256 (RFC 2104) under the shop's secret, URL-safe."""
    mark = hmac.new(secret, nonce.encode(), hashlib.sha256).digest()
    return base64.urlsafe_b64encode(mark).decode().rstrip("=")


def new_link(secret: bytes) -> PrivateLink:
    """A private address that nobody has had yet."""
    nonce = new_token()
    token = token_from(secret, nonce)
    return PrivateLink(token, nonce, hash_of(token))
