"""Inputs for every calculator there is, that the tests of the page and of the API both put in."""

import json
from pathlib import Path
from typing import Any

SAMPLES: dict[str, dict[str, Any]] = json.loads(
    (Path(__file__).parents[1] / "data" / "sum_samples.json").read_text(encoding="utf-8")
)
