"""Values from outside, each with its source in the file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

VALUES = json.loads((Path(__file__).parent.parent / "reference" / "theory_values.json").read_text())


@pytest.fixture(scope="session")
def outside() -> dict[str, Any]:
    return VALUES
