"""Outside figures copied into `tests/data/check_figures.json`, each with its source."""

import json
from pathlib import Path
from typing import Any

FILE = Path(__file__).parent.parent / "data" / "check_figures.json"
ALL: list[dict[str, Any]] = json.loads(FILE.read_text(encoding="utf-8"))


def figures(prefix: str) -> list[dict[str, Any]]:
    """The figures whose id begins so; there is at least one."""
    found = [figure for figure in ALL if figure["id"].startswith(prefix)]
    assert found, f"no figure begins with {prefix}"
    return found


def figure(name: str) -> dict[str, Any]:
    """The figure of that id."""
    return next(figure for figure in ALL if figure["id"] == name)
