"""The layers hold, and the headless paths stay light."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def modules_after(code: str) -> set[str]:
    """Return the top-level modules loaded after running some code in a fresh interpreter."""
    script = (
        f"import sys\n{code}\nprint(*sorted({{name.partition('.')[0] for name in sys.modules}}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT
    )
    return set(done.stdout.splitlines()[-1].split())


def test_import_contracts_hold() -> None:
    script = "from importlinter.cli import lint_imports; raise SystemExit(lint_imports())"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False, cwd=ROOT
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    ("code", "never"),
    [
        ("import tracker.services.actions", {"sqlalchemy", "alembic", "textual", "pint", "click"}),
        ("import tracker.evaluate.engine", {"sqlalchemy", "alembic", "textual", "pint", "click"}),
        ("import tracker.bootstrap", {"alembic", "textual", "pint", "click"}),
    ],
)
def test_the_core_loads_no_outer_library(code: str, never: set[str]) -> None:
    assert not modules_after(code) & never


def test_top_level_is_what_was_agreed() -> None:
    listed = subprocess.run(
        ["git", "ls-files"], capture_output=True, text=True, check=True, cwd=ROOT
    ).stdout.split()
    visible = {name.partition("/")[0] for name in listed if not name.startswith(".")}
    assert visible <= {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "tracker",
        "plugins",
        "tests",
        "demo_program",
    }
