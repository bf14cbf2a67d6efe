"""A small programme and a way to run the command line on it."""

from __future__ import annotations

import io
import json
import shutil
import signal
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tracker.app import main
from tracker.bootstrap import make_programme, open_session
from tracker.services.actions import add_items, lean

WHO = "Mara"
COLUMNS = [
    {"name": "part", "type": "text"},
    {"name": "process", "type": "text"},
    {"name": "set_cost", "unit": "EUR"},
    {"name": "set_life", "unit": "piece"},
    {"name": "piece_cost", "unit": "EUR/piece"},
    {"name": "per_vehicle", "type": "integer"},
    {"name": "carried_over", "type": "flag"},
    {"name": "fits_both_sides", "type": "flag"},
]
GAPS = {"a": "12 mm", "b": "6 mm"}
ITEMS: list[dict[str, Any]] = [
    {"kind": "gate", "key": "G1", "title": "Concept", "date": "2031-12-01"},
    {
        "kind": "quantity",
        "key": "volume",
        "title": "Vehicles a year",
        "unit": "vehicle/year",
        "value": "3500",
        "basis": "estimate",
        "source": "sales plan",
    },
    {"kind": "quantity", "key": "years", "title": "Years", "unit": "year", "value": "6"},
    {
        "kind": "quantity",
        "key": "parts",
        "title": "Parts",
        "type": "table",
        "columns": COLUMNS,
        "value": [["knuckle", "casting", 78000, 60000, 46, 2, False, True]],
    },
    {"kind": "quantity", "key": "tooling", "title": "Tooling total", "unit": "EUR"},
    {"kind": "quantity", "key": "gap", "title": "Boot to disc", "unit": "mm"},
    {"kind": "quantity", "key": "width", "title": "Width", "unit": "mm", "value": "100 mm"},
    {
        "kind": "quantity",
        "key": "joint",
        "title": "Lower joint",
        "type": "point",
        "unit": "mm",
        "value": "[8, 728, 205] mm",
    },
    {
        "kind": "requirement",
        "key": "COST-1",
        "statement": "Tooling within the budget",
        "quantity": "tooling",
        "upper": "200000 EUR",
        "gate": "G1",
        "owner": "Ilse",
    },
    {
        "kind": "requirement",
        "key": "GAP-1",
        "statement": "The boot stays clear of the hot disc",
        "quantity": "gap",
        "lower": "8 mm",
        "gate": "G1",
    },
    {
        "kind": "decision",
        "key": "D-1",
        "question": "Which arm?",
        "serves": ["COST-1", "GAP-1"],
        "gate": "G1",
        "options": [
            {"key": key, "title": f"Arm {key}", "settings": {"gap": {"value": gap}}}
            for key, gap in GAPS.items()
        ],
    },
    {
        "kind": "check",
        "key": "C-1",
        "check": "tooling-budget",
        "decision": "D-1",
        "inputs": {"parts": "parts", "volume_per_year": "volume", "years": "years"},
        "outputs": {"tooling_total": "tooling"},
    },
]
"""Tooling: 3500 vehicles × 6 years × 2 pieces = 42,000 pieces from sets of 60,000: one set."""


@dataclass(frozen=True)
class Answer:
    """What a run of the command line gave."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:  # noqa: ANN401 - JSON data
        return json.loads(self.out)


Cli = Callable[..., Answer]


@pytest.fixture(scope="session", autouse=True)
def hears_ctrl_c() -> Iterator[None]:
    """Have commands hear Ctrl+C whoever started the tests.

    A shell without job control has its background jobs ignore it, and they hand that on.
    """
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.fixture(scope="session")
def seed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("seed") / "small.db"
    session = make_programme(place, "Small programme", "EUR", who=WHO)
    add_items(session, ITEMS, "start")
    lean(session, "D-1", "a")
    session.store.close()
    return place


@pytest.fixture
def program(seed: Path, tmp_path: Path) -> Path:
    """A copy of the small programme: leaning to option a, at revision 3."""
    return Path(shutil.copy(seed, tmp_path / "small.db"))


@pytest.fixture
def cli(program: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Cli:
    """Run a command on the small programme, as Mara."""
    monkeypatch.setenv("WHYBONE_PROGRAM", str(program))
    monkeypatch.setenv("WHYBONE_AUTHOR", WHO)

    def run(*args: str, stdin: bytes = b"") -> Answer:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        code = main(args)
        told = capsys.readouterr()
        return Answer(code, told.out, told.err)

    return run


@pytest.fixture
def head(program: Path) -> Callable[[], str]:
    """Return the head hash of the programme as it now is."""

    def look() -> str:
        session = open_session(program, WHO)
        try:
            return session.head.hash
        finally:
            session.store.close()

    return look
