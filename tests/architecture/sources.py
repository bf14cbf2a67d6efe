"""The source files of the project, read as they stand."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

__all__ = [
    "ROOT",
    "SHIPPED",
    "Function",
    "every_python_file",
    "functions_of",
    "shipped_files",
    "tree_of",
]

ROOT = Path(__file__).parents[2]

SHIPPED = ("tracker", "plugins", "demo_program")
"""Folders that hold what is installed."""

Function = ast.FunctionDef | ast.AsyncFunctionDef


def shipped_files() -> list[Path]:
    """Return every module that is installed."""
    return sorted(each for folder in SHIPPED for each in (ROOT / folder).rglob("*.py"))


def every_python_file() -> list[Path]:
    """Return every module, tests included."""
    return [*shipped_files(), *sorted((ROOT / "tests").rglob("*.py"))]


@cache
def tree_of(path: Path) -> ast.Module:
    """Parse a module, once."""
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def functions_of(tree: ast.AST) -> Iterator[Function]:
    """Return every function of a tree, methods included."""
    return (each for each in ast.walk(tree) if isinstance(each, Function))
