"""The wheel, built from the source archive and installed where nothing else is, serves the demo.

Needs a package index that pip can reach; without one it is skipped on a person's machine and fails in CI.
"""

import os
import re
import signal
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import httpx
import pytest

from tests.demo_server import demo_server, stop

ROOT = Path(__file__).resolve().parents[2]
DATA = ("templates/layout.html", "static/vendor/htmx/htmx.min.js", "migrations/env.py")


def run(*command: str | Path, cwd: Path) -> None:
    """Run a command to its end; its whole output is the failure's message."""
    done = subprocess.run(
        [str(part) for part in command], cwd=cwd, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"


def need_an_index(where: Path) -> None:
    """Skip, or fail in CI, when pip cannot fetch even the build backend into a folder."""
    fetch = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "--retries", "0", "hatchling"]
    fetched = subprocess.run(fetch, cwd=where, capture_output=True, text=True, check=False)
    if fetched.returncode:
        reason = "pip reaches no package index, so nothing can be installed into an empty environment"
        if os.environ.get("CI") == "true":
            pytest.fail(f"{reason}:\n{fetched.stderr}")
        pytest.skip(reason)


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel as `python -m build` makes it: from the source archive, not from the checkout."""
    need_an_index(tmp_path_factory.mktemp("probe"))
    built = tmp_path_factory.mktemp("built")
    run(sys.executable, "-m", "build", "--outdir", built, ROOT, cwd=built)
    (found,) = built.glob("*.whl")
    return found


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The `tackfree` command of an environment that holds the locked dependencies and the wheel."""
    home = tmp_path_factory.mktemp("installed")
    venv.create(home / "venv", with_pip=True)
    python = home / "venv" / "bin" / "python"
    run(python, "-m", "pip", "install", "-q", "--require-hashes", "-r", ROOT / "requirements.lock", cwd=home)
    run(python, "-m", "pip", "install", "-q", "--no-deps", wheel, cwd=home)
    run(python, "-m", "pip", "check", cwd=home)
    return home / "venv" / "bin" / "tackfree"


def test_the_wheel_carries_code_and_data_and_nothing_else(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
    tops = {name.split("/")[0] for name in names}
    assert {top for top in tops if not top.endswith(".dist-info")} == {"shop", "seed_demo"}
    assert {f"shop/_data/{name}" for name in DATA} <= set(names)


def test_the_installed_wheel_serves_the_demo(installed: Path, tmp_path: Path) -> None:
    surroundings = {
        key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "TACKFREE"))
    }
    with demo_server([str(installed)], tmp_path, surroundings) as demo:
        page = httpx.get(demo.status_link)
        assert page.status_code == 200
        assert page.headers["content-type"].startswith("text/html")
        sheets = re.findall(r'href="(/static/[^"]+\.css[^"]*)"', page.text)
        assert sheets
        assert {httpx.get(demo.address + sheet).status_code for sheet in sheets} == {200}
        # A server that hands the signal on after closing down ends with the signal's own status.
        assert stop(demo.process) in {0, -signal.SIGTERM}


def test_an_unknown_command_fails_with_words(installed: Path, tmp_path: Path) -> None:
    refused = subprocess.run(
        [str(installed), "fettle"], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert refused.returncode != 0
    assert "fettle" in refused.stderr
