"""`user add` and `key add`: a first way in, for people and for programs."""

import sys
from typing import Annotated

import typer

from shop.commands.faults import CannotDo
from shop.commands.opening import opened
from shop.config import Settings
from shop.rules.people import Role, Scope
from shop.services.keys import add_key
from shop.services.tokens import hash_of, new_token
from shop.services.users import add_user

user = typer.Typer(help="People and their accounts.")
key = typer.Typer(help="Keys of other programs.")


@user.command("add")
def add_person(
    name: Annotated[str, typer.Argument(help="The name to sign in with.")],
    role: Annotated[Role, typer.Option(help="What the person is in the shop.")],
    password_stdin: Annotated[
        bool, typer.Option("--password-stdin", help="Read the password from standard input.")
    ] = False,
) -> None:
    """Open an account for a person."""
    password = _read_password(password_stdin)
    with opened(Settings()) as hub:
        now = hub.clock.now()
        with hub.database.writing(now) as session:
            person = add_user(session, hub.passwords, now=now, name=name, role=role, password=password)
        typer.echo(f"{person.name} can sign in now, as {person.role}.")


@key.command("add")
def give_key(
    name: Annotated[str, typer.Argument(help="The program or the place that the key is for.")],
    scope: Annotated[Scope, typer.Option(help="What the program may do.")],
) -> None:
    """Give out a key, and print it alone; it is not kept and cannot be shown again."""
    text = new_token()
    with opened(Settings()) as hub:
        now = hub.clock.now()
        with hub.database.writing(now) as session:
            add_key(session, now=now, name=name, scope=scope, key_hash=hash_of(text))
    typer.echo(text)


def _read_password(from_stdin: bool) -> str:
    # Stripped as the pages strip what is typed there, or it would never be right again.
    if from_stdin:
        return sys.stdin.readline().strip()
    if not sys.stdin.isatty():
        raise CannotDo("There is nobody to ask for a password; hand it in with --password-stdin.")
    password: str = typer.prompt("Password", hide_input=True, confirmation_prompt=True, err=True)
    return password.strip()
