"""The trees of source files: each is parsed once, however many tests look at it."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path


@cache
def tree_of(file: Path) -> ast.Module:
    return ast.parse(file.read_text())
