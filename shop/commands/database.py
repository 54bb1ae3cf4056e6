"""`migrate`: bringing the database's tables up to date."""

import typer

from shop.commands.opening import opened
from shop.config import Settings


def migrate() -> None:
    """Bring the database's tables up to date; `serve` does it too when it starts."""
    with opened(Settings()):
        typer.echo("The tables are up to date.")
