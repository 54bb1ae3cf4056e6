"""What can go wrong with a command, each as the one plain line that a person reads on standard error."""

from alembic.util import CommandError
from pydantic import ValidationError
from pydantic_settings import SettingsError
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from typer import Abort, TyperException

from shop.db.sessions import ChangedMeanwhile
from shop.rules.refusals import Refusal


class CannotDo(Exception):
    """A command could not be carried out; its text is the sentence that says why."""


# Anything else is a fault of the program itself and shows itself as such.
EXPECTED = (
    CannotDo, Refusal, ChangedMeanwhile, TyperException, Abort, ValidationError, SettingsError,
    SQLAlchemyError, CommandError, OSError, ModuleNotFoundError,
)  # fmt: skip


def line_of(fault: BaseException) -> str:
    """The one line that says what went wrong."""
    return " ".join(_sentence(fault).split())


def _sentence(fault: BaseException) -> str:
    match fault:
        case ValidationError():
            return " ".join(
                f"The setting {_variable(error['loc'])} cannot be used: {error['msg']}."
                for error in fault.errors()
            )
        case TyperException():
            return fault.format_message()
        case Abort():
            return "Nothing was done."
        case ChangedMeanwhile():
            return "Somebody else changed the same record meanwhile; please try again."
        case ModuleNotFoundError():
            return f"The database needs the Python package {fault.name}, which is not installed."
        case DBAPIError() if "locked" in str(fault.orig):
            return "The database is locked by another program; nothing was done, please try again."
        case DBAPIError():
            return f"The database cannot be used: {fault.orig}."
        case SQLAlchemyError() | CommandError():
            return f"The database cannot be used: {fault}."
        case OSError() if fault.filename is not None:
            return f"{fault.filename} cannot be used: {fault.strerror}."
    return str(fault)


def _variable(place: tuple[int | str, ...]) -> str:
    return "TACKFREE_" + "_".join(str(part) for part in place).upper()
