"""Passwords, hashed slowly with argon2id by argon2-cffi."""

from functools import cached_property

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError


class Passwords:
    """Hashes and checks passwords, as costly as it was told to be."""

    def __init__(self, time_cost: int, memory_kib: int) -> None:
        self._hasher = PasswordHasher(time_cost=time_cost, memory_cost=memory_kib, parallelism=1)

    def hash(self, password: str) -> str:
        """The text to keep for a password."""
        return self._hasher.hash(password)

    def matches(self, kept: str | None, password: str) -> bool:
        """Whether the password is the one that `kept` was made from; false, as slowly, for none."""
        # Compared when the name is unknown, so that the answer takes as long as for a known one. Asked for
        # by everybody, or whoever came first would be told apart by waiting for it to be made.
        nobody = self._nobody
        try:
            return self._hasher.verify(kept or nobody, password) and kept is not None
        except (VerificationError, InvalidHashError):
            return False

    @cached_property
    def _nobody(self) -> str:
        # Made at the first sign-in, not at start: it is as slow as any other hash.
        return self._hasher.hash("nobody's password")
