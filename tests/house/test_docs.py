"""What the documentation says is so: commands, settings, links and the import table."""

import re
from typing import Any

import pytest
import typer.main
from typer.core import TyperCommand, TyperGroup

from shop.__main__ import app
from shop.config import Settings
from tests.house import tree
from tests.house.import_table import MAY_IMPORT, ROOMS, THIRD_PARTY

START = "python3 -m venv .venv && .venv/bin/pip install -q . && .venv/bin/tackfree serve --demo"
TEST = ".venv/bin/pip install -q -e '.[dev]' && .venv/bin/pytest"
PAGES = ("README.md", "DEVELOPERS.md")


def read(name: str) -> str:
    """The text of a file at the root; fails when it is missing or empty."""
    path = tree.ROOT / name
    assert path.is_file(), f"{name} is missing"
    text = path.read_text(encoding="utf-8")
    assert text.strip(), f"{name} is empty"
    return text


def leaves(command: Any, words: tuple[str, ...] = ()) -> dict[str, TyperCommand]:
    """Every command below one, by the words that call it: `user add`."""
    if isinstance(command, TyperGroup):
        return {
            name: leaf
            for word, inner in command.commands.items()
            for name, leaf in leaves(inner, (*words, word)).items()
        }
    return {" ".join(words): command}


COMMANDS: dict[str, TyperCommand] = leaves(typer.main.get_command(app))


def code_of(text: str) -> list[str]:
    """The lines of code of a page: fenced blocks and spans between back-ticks."""
    fenced = re.findall(r"^```[^\n]*\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)
    spans = re.findall(r"`([^`\n]+)`", re.sub(r"^```.*?^```", "", text, flags=re.MULTILINE | re.DOTALL))
    return [line.strip() for block in fenced for line in block.splitlines()] + spans


def test_the_two_commands_stand_in_the_readme() -> None:
    lines = code_of(read("README.md"))
    assert START in lines
    assert TEST in lines


def test_ci_runs_the_second_command_as_the_readme_has_it() -> None:
    assert TEST in read(".ci/run").splitlines()


def test_the_readme_names_every_command_and_no_other() -> None:
    called = {
        match.group(1).strip()
        for line in code_of(read("README.md"))
        for match in re.finditer(r"\btackfree((?: [a-z][a-z-]*)+)", line)
    }
    unknown = {
        words for words in called if not any((words + " ").startswith(known + " ") for known in COMMANDS)
    }
    missing = {
        known for known in COMMANDS if not any((words + " ").startswith(known + " ") for words in called)
    }
    assert (unknown, missing) == (set(), set())


def test_every_option_the_readme_shows_exists() -> None:
    wrong = []
    for line in code_of(read("README.md")):
        shown = re.search(r"\btackfree ((?:[a-z][a-z-]* ?)+)", line)
        known = next(
            (name for name in COMMANDS if shown and (shown.group(1) + " ").startswith(name + " ")), None
        )
        if known is None:
            continue
        options = {option for parameter in COMMANDS[known].params for option in parameter.opts}
        wrong += [f"{line}: {word}" for word in re.findall(r"--[a-z][a-z-]*", line) if word not in options]
    assert wrong == []


def test_the_readme_names_every_setting_and_no_other() -> None:
    settings = {f"TACKFREE_{name.upper()}" for name in Settings.model_fields}
    assert set(re.findall(r"\bTACKFREE_[A-Z_]+\b", read("README.md"))) == settings


@pytest.mark.parametrize("page", PAGES)
def test_links_lead_to_files_that_exist(page: str) -> None:
    links = [link for link in re.findall(r"\]\(([^)\s#]+)[^)]*\)", read(page)) if "://" not in link]
    assert [link for link in links if not (tree.ROOT / link).exists()] == []


def import_table_of(text: str) -> dict[str, list[str]]:
    """The rows of the table that begins with "may import", by importer, cells stripped."""
    rows = [
        [cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if "|" in line
    ]
    start = next((number for number, row in enumerate(rows) if row[0].startswith("may import")), None)
    assert start is not None, "DEVELOPERS.md has no import table"
    assert rows[start][1:] == [*ROOMS, "third party"]
    return {row[0]: row[1:] for row in rows[start + 2 : start + 2 + len(ROOMS)]}


def expected_row(room: str) -> list[str]:
    """The cells that a room's row must have, the libraries in alphabetical order."""
    libraries = THIRD_PARTY[room]
    named = "the library it wraps" if libraries is None else ", ".join(sorted(libraries)) or "none"
    return [MAY_IMPORT[room].get(other, "") for other in ROOMS] + [named]


def test_the_import_table_of_the_page_is_the_one_the_test_uses() -> None:
    assert import_table_of(read("DEVELOPERS.md")) == {room: expected_row(room) for room in ROOMS}
