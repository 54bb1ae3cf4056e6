"""The data folder: where the embedded database, the secret file and the mail server's password lie."""

import os
import secrets
from pathlib import Path

SECRET_BYTES = 32
MAIL_PASSWORD = "mail-password"


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


def read_mail_password(folder: Path) -> str:
    """The password of the mail server; empty where none is kept. Raises `OSError`."""
    path = folder / MAIL_PASSWORD
    return path.read_text(encoding="utf-8") if path.exists() else ""


def keep_mail_password(folder: Path, password: str) -> None:
    """Keep the password of the mail server, for its owner's eyes alone; empty to forget it. Raises `OSError`.

    The old one stands until the new one is whole on the disk.
    """
    path = folder / MAIL_PASSWORD
    if not password:
        path.unlink(missing_ok=True)
        return
    beside = folder / f"{MAIL_PASSWORD}.new"
    beside.unlink(missing_ok=True)
    handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(password)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)
