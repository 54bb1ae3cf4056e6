"""Where the files that are not Python lie: templates, static files and migrations.

An installed wheel carries them inside the package, in `shop/_data`; a checkout keeps them beside `shop`.
What is read from them, and when, is left to the callers.
"""

from pathlib import Path

_HERE = Path(__file__).resolve().parent
_INSTALLED = _HERE / "_data"

ROOT = _INSTALLED if _INSTALLED.is_dir() else _HERE.parent
TEMPLATES = ROOT / "templates"
STATIC = ROOT / "static"
MIGRATIONS = ROOT / "migrations"
