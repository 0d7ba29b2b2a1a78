"""The page on security names a test for each hole that was closed, and each of them is there."""

from __future__ import annotations

import re

from tests.conftest import REPOSITORY


def test_every_test_that_the_page_names_is_there() -> None:
    page = (REPOSITORY / "docs/security.md").read_text()
    path, named = "", 0
    for file, test in re.findall(r"`(tests/[\w/]+\.py)?::(test_\w+)`", page):
        path = file or path
        assert f"def {test}(" in (REPOSITORY / path).read_text(), f"{path}::{test}"
        named += 1
    assert named > 30
