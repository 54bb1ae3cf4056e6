"""No file of the project names a package index or a folder of somebody's machine; the lock file is whole."""

import re
import tomllib

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

from tests.house import tree

# In pieces, so that this file does not find itself.
FORBIDDEN = [
    "pypi" + ".org",
    "python" + "hosted",
    "registry.npm" + "js",
    "deb.debian" + ".org",
    "/wo" + "rk/",
    "/ho" + "me/",
    "/ro" + "ot/",
    "/tmp" + "/",
]


def test_no_file_names_a_package_index_or_a_private_folder() -> None:
    named = [
        f"{path}:{number} {word}"
        for path, text in tree.texts()
        for number, line in enumerate(text.split("\n"), 1)
        for word in FORBIDDEN
        if word in line
    ]
    assert named == []


def locked() -> dict[str, Version]:
    """Name and version of every line of the lock file; a line without a hash is an error."""
    text = (tree.ROOT / "requirements.lock").read_text().replace("\\\n", " ")
    found: dict[str, Version] = {}
    for line in text.splitlines():
        pinned = re.match(r"(?P<name>[a-z0-9._-]+)==(?P<version>\S+) .*--hash=sha256:[0-9a-f]{64}", line)
        assert pinned, f"neither pinned nor hashed: {line}"
        found[canonicalize_name(pinned["name"])] = Version(pinned["version"])
    return found


def test_the_lock_file_pins_every_dependency_within_its_range() -> None:
    project = tomllib.loads((tree.ROOT / "pyproject.toml").read_text())["project"]
    pins = locked()
    for requirement in map(Requirement, project["dependencies"]):
        name = canonicalize_name(requirement.name)
        assert name in pins, f"{name} is not in requirements.lock: export it again"
        assert pins[name] in requirement.specifier, f"{name} {pins[name]} is not {requirement.specifier}"
