"""Modules and functions stay small, exceptions carry their reason, importing does nothing."""

from __future__ import annotations

import ast
import io
import re
import statistics
import tokenize
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.architecture.sources import (
    ROOT,
    SHIPPED,
    Function,
    every_python_file,
    functions_of,
    shipped_files,
    tree_of,
)

LONGEST_MODULE = 400
MEDIAN_LENGTH = 12
LENGTH_95 = 40

# Codes first, then the reason behind a dash, a number sign or two blanks.
NOQA = re.compile(r"noqa(?P<codes>:\s*[A-Z]+\d+(?:\s*,\s*[A-Z]+\d+)*)?\s*[-–—#:]*\s*(?P<reason>.*)")
IGNORE = re.compile(r"type:\s*ignore(?P<codes>\[[^\]]+\])?\s*[-–—#:]*\s*(?P<reason>.*)")
WORD = re.compile(r"[A-Za-z]{2,}")


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def length_of(function: Function) -> int:
    """Lines of a function's body, its docstring left out."""
    body = list(function.body)
    if ast.get_docstring(function, clean=False) is not None:
        body = body[1:]
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


@pytest.mark.parametrize("folder", SHIPPED)
def test_functions_are_short(folder: str) -> None:
    lengths = [
        length_of(function)
        for path in shipped_files()
        if path.is_relative_to(ROOT / folder)
        for function in functions_of(tree_of(path))
    ]
    assert statistics.median(lengths) < MEDIAN_LENGTH
    assert statistics.quantiles(lengths, n=20)[-1] < LENGTH_95


def test_modules_are_short() -> None:
    lines = {name_of(path): len(path.read_text().splitlines()) for path in shipped_files()}
    assert {name: count for name, count in lines.items() if count > LONGEST_MODULE} == {}


def comments(path: Path) -> Iterator[tuple[int, str]]:
    with io.StringIO(path.read_text(encoding="utf-8")) as text:
        for token in tokenize.generate_tokens(text.readline):
            if token.type == tokenize.COMMENT:
                yield token.start[0], token.string


def test_every_exception_to_a_rule_names_rule_and_reason() -> None:
    bare = [
        f"{name_of(path)}:{line}: {comment}"
        for path in every_python_file()
        for line, comment in comments(path)
        for pattern in (NOQA, IGNORE)
        if (found := pattern.search(comment))
        and not (found["codes"] and WORD.search(found["reason"]))
    ]
    assert bare == []


def is_guard(statement: ast.stmt) -> bool:
    """Tell an `if TYPE_CHECKING:` or `if __name__ == "__main__":`."""
    return isinstance(statement, ast.If) and ast.unparse(statement.test) in {
        "TYPE_CHECKING",
        "__name__ == '__main__'",
    }


def acts(statement: ast.stmt) -> bool:
    """Tell whether a statement at the top of a module does more than define something."""
    if is_guard(statement):
        return False
    if isinstance(statement, ast.Expr):  # a docstring or a note behind a constant defines nothing
        return not isinstance(statement.value, ast.Constant)
    defines = (
        ast.Import
        | ast.ImportFrom
        | ast.FunctionDef
        | ast.AsyncFunctionDef
        | ast.ClassDef
        | ast.Assign
        | ast.AnnAssign
    )
    return not isinstance(statement, defines)


def test_importing_a_module_only_defines() -> None:
    """`at_command` takes its options this way, because its own group class hides the parameter."""
    allowed = {"tracker/cli/commands/history.py: at_command.params.extend(shared_options())"}
    acting = {
        f"{name_of(path)}: {ast.unparse(statement).splitlines()[0]}"
        for path in shipped_files()
        if "migrations" not in path.parts  # run by path, never imported
        for statement in tree_of(path).body
        if acts(statement)
    }
    assert acting <= allowed, acting - allowed


def package_roots() -> set[str]:
    roots = set()
    for path in shipped_files():
        if path.name == "__init__.py":
            parts = path.parent.relative_to(ROOT).parts
            roots.add(".".join(parts[1:] if parts[0] == "plugins" else parts))
    return roots


def test_modules_are_imported_themselves_never_their_packages() -> None:
    """A module of a package imported as `from package import module` is the module itself."""
    roots = package_roots()
    modules = {
        ".".join(
            path.with_suffix("")
            .relative_to(ROOT)
            .parts[int(path.is_relative_to(ROOT / "plugins")) :]
        )
        for path in shipped_files()
    }
    wrong = []
    for path in shipped_files():
        for node in ast.walk(tree_of(path)):
            if not isinstance(node, ast.ImportFrom):
                continue
            whole = "." * node.level + (node.module or "")
            names = {f"{whole}.{each.name}" for each in node.names}
            if node.level or (whole in roots and not names <= modules):
                wrong.append(f"{name_of(path)}:{node.lineno}: {ast.unparse(node)}")
    assert wrong == []


def imported(path: Path) -> set[str]:
    """Every module a file imports from, however late."""
    found = set()
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.ImportFrom):
            found.add(node.module or "")
        elif isinstance(node, ast.Import):
            found |= {each.name for each in node.names}
    return found


def test_checks_import_the_contract_and_nothing_else_of_ours() -> None:
    allowed = ("tracker.contract.", "whybone_chassis.")
    wrong = {
        f"{name_of(path)}: {module}"
        for path in shipped_files()
        if path.is_relative_to(ROOT / "plugins")
        for module in imported(path)
        if module.partition(".")[0] in {"tracker", "demo_program", "whybone_chassis"}
        and not module.startswith(allowed)
    }
    assert wrong == set()


def test_migrations_import_nothing_of_ours() -> None:
    """The tables as they are now are not those a migration was written for."""
    migrations = [path for path in shipped_files() if "versions" in path.parts]
    assert migrations
    ours = {
        f"{name_of(path)}: {module}"
        for path in migrations
        for module in imported(path)
        if module.startswith(("tracker", "whybone_chassis", "demo_program"))
    }
    assert ours == set()


def test_packages_hold_nothing_themselves() -> None:
    """An `__init__.py` says in its docstring what its package is for, and nothing more."""
    full = [
        name_of(path)
        for path in shipped_files()
        if path.name == "__init__.py"
        and not (ast.get_docstring(tree_of(path)) and len(tree_of(path).body) == 1)
    ]
    assert full == []


def test_every_module_says_what_it_is_for() -> None:
    silent = [
        name_of(path)
        for path in every_python_file()
        if "tests" not in path.parts and not ast.get_docstring(tree_of(path))
    ]
    assert silent == []
