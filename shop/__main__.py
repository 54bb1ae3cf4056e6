"""The commands' front door: `tackfree …` and `python -m shop …`.

Status 0 only on success; whatever can be expected to go wrong is one plain line on standard error and
status 1. What each command does is in `shop.commands`.
"""

import logging
import sys

import typer
import typer.main

from shop.commands.accounts import key, user
from shop.commands.database import migrate
from shop.commands.exports import export
from shop.commands.faults import EXPECTED, line_of
from shop.commands.imports import HELP, take_in_file
from shop.commands.publishing import publish
from shop.commands.serve import serve

app = typer.Typer(
    help="The job tracker of a small rod-building shop.", add_completion=False, rich_markup_mode=None
)
app.command()(serve)
app.command()(migrate)
app.command()(publish)
app.command("import", help=HELP)(take_in_file)
app.command()(export)
app.add_typer(user, name="user")
app.add_typer(key, name="key")


def main() -> None:
    """Carry out one command and leave with its status."""
    # It warns of a batch that the database refused; the refusal itself is told, as one line.
    logging.getLogger("psycopg").addHandler(logging.NullHandler())
    try:
        status = typer.main.get_command(app).main(prog_name="tackfree", standalone_mode=False)
    except EXPECTED as fault:
        typer.echo(line_of(fault), err=True)
        sys.exit(1)
    sys.exit(status)


if __name__ == "__main__":
    main()
