"""The data folder: where the embedded database and the secret file lie."""

import secrets
from pathlib import Path

SECRET_BYTES = 32


def prepare_folder(folder: Path) -> None:
    """Make the folder if it is missing, readable by its owner alone. Raises `OSError`."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)


def read_secret(folder: Path) -> bytes:
    """The shop's secret, made on first use. Raises `OSError`."""
    path = folder / "secret.key"
    if not path.exists():
        path.touch(mode=0o600, exist_ok=True)
        path.write_bytes(secrets.token_bytes(SECRET_BYTES))
    return path.read_bytes()
