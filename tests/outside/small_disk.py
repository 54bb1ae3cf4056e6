"""A disk that is full: for a moment, this process may write no file larger than so many bytes."""

import resource
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def small_disk(most_bytes: int) -> Iterator[None]:
    """Inside the block, whatever would make a file larger fails as on a disk without room."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
