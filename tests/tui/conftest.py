"""A small invented programme, with fixed times and ids, and an app on top of it."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tracker.bootstrap import make_programme, tools
from tracker.services.actions import add_items, lean, set_values, settle
from tracker.services.session import Session, Tools
from tracker.store.open import open_store
from tracker.tui.app import WhyboneApp

Documents = list[dict[str, object]]

COLUMNS = [
    {"name": "part", "type": "text"},
    {"name": "process", "type": "text"},
    {"name": "set_cost", "unit": "EUR"},
    {"name": "set_life", "unit": "piece"},
    {"name": "piece_cost", "unit": "EUR/piece"},
    {"name": "per_vehicle", "type": "integer"},
    {"name": "carried_over", "type": "flag"},
    {"name": "fits_both_sides", "type": "flag"},
    {"name": "lead_weeks", "unit": "week"},
    {"name": "gate", "type": "text"},
]
ROWS = [
    ["knuckle", "casting", 78000, 60000, 46, 2, False, False, 20, "tooling"],
    ["upper_arm", "forging", 128000, 80000, 31, 2, False, True, 26, "tooling"],
    ["subframe", "fabrication", 92000, 30000, 140, 1, False, False, 16, "tooling"],
]

GATES: Documents = [
    {"kind": "gate", "key": "G1", "title": "Concept frozen", "date": "2026-03-01"},
    {"kind": "gate", "key": "G2", "title": "Prototype released", "date": "2026-09-01"},
]
QUANTITIES: Documents = [
    {"kind": "quantity", "key": "volume", "title": "Vehicles a year", "unit": "vehicle/year",
     "value": "3500", "basis": "estimate", "source": "sales plan, first draft"},
    {"kind": "quantity", "key": "years", "title": "Years of production", "unit": "year",
     "value": "6", "basis": "guess"},
    {"kind": "quantity", "key": "parts", "title": "Parts with tools of their own",
     "type": "table", "columns": COLUMNS, "value": ROWS, "basis": "quoted"},
    {"kind": "quantity", "key": "tooling", "title": "Tooling in all", "unit": "EUR"},
    {"kind": "quantity", "key": "tooling_each", "title": "Tooling a vehicle",
     "unit": "EUR/vehicle"},
    {"kind": "quantity", "key": "shaft", "title": "Direction of the input shaft",
     "type": "point"},
    {"kind": "quantity", "key": "rack_side", "title": "Rack as seen from the pinion",
     "type": "point"},
    {"kind": "quantity", "key": "mounting", "title": "How the gear is mounted",
     "type": "choice", "choices": ["as-built", "turned-over", "tipped-over", "end-for-end"]},
    {"kind": "quantity", "key": "rod_inner", "title": "Tie rod, inner joint", "type": "point",
     "unit": "mm", "value": "[-165, 387, 258] mm", "basis": "calculated"},
    {"kind": "quantity", "key": "rod_outer", "title": "Tie rod, outer joint", "type": "point",
     "unit": "mm", "value": "[-140, 692, 250] mm", "basis": "calculated"},
    {"kind": "quantity", "key": "joint_upper", "title": "Upper ball joint", "type": "point",
     "unit": "mm", "value": "[-14, 672, 495] mm", "basis": "calculated"},
    {"kind": "quantity", "key": "joint_lower", "title": "Lower ball joint", "type": "point",
     "unit": "mm", "value": "[8, 728, 205] mm", "basis": "calculated"},
    {"kind": "quantity", "key": "sense", "title": "Sense of the steering", "type": "integer"},
    {"kind": "quantity", "key": "gain", "title": "Wheel angle for rack travel",
     "unit": "deg/mm"},
    {"kind": "quantity", "key": "bush_rate", "title": "Rate of the rear bush", "unit": "kN/mm"},
]  # fmt: skip
REQUIREMENTS: Documents = [
    {"kind": "requirement", "key": "COST-1", "statement": "The tools fit the budget",
     "quantity": "tooling", "upper": "400000 EUR", "guard": "0.2", "gate": "G2",
     "owner": "purchasing", "source": "budget letter"},
    {"kind": "requirement", "key": "COST-2", "statement": "Tooling a vehicle stays small",
     "quantity": "tooling_each", "upper": "30 EUR/vehicle", "gate": "G2"},
    {"kind": "requirement", "key": "STEER-1", "statement": "The wheel answers the rack",
     "quantity": "gain", "lower": "-0.6 deg/mm", "upper": "-0.3 deg/mm", "gate": "G1"},
    {"kind": "requirement", "key": "RIDE-1", "statement": "The rear bush is soft enough",
     "quantity": "bush_rate", "upper": "2 kN/mm", "gate": "G2"},
]  # fmt: skip
FORE = {"shaft": "[0.9, 0.15, -0.33]", "rack_side": "[0.1, 0, 1]"}
AFT = {"shaft": "[0.9, 0.15, -0.33]", "rack_side": "[0.1, 0, -1]"}
DECISIONS: Documents = [
    {"kind": "decision", "key": "D-GEAR", "question": "Which steering gear sits behind the axle?",
     "serves": ["STEER-1"], "owner": "steering", "gate": "G1",
     "options": [
         {"key": "ahead", "title": "Gear made for ahead of the axle, as built",
          "settings": {**FORE, "mounting": "as-built"}},
         {"key": "over", "title": "The same gear turned over",
          "settings": {**FORE, "mounting": "turned-over"}, "notes": "needs a new seal"},
         {"key": "aft", "title": "Gear made for behind the axle",
          "settings": {**AFT, "mounting": "as-built"}},
     ]},
    {"kind": "decision", "key": "D-TOOLS", "question": "Do we buy the tools or share them?",
     "serves": ["COST-1", "COST-2"], "owner": "purchasing", "gate": "G2",
     "options": [{"key": "own", "title": "Own tools"}, {"key": "shared", "title": "Shared tools"}]},
    {"kind": "decision", "key": "D-BUSH", "question": "How stiff is the rear bush?",
     "serves": ["RIDE-1"], "rests_on": ["D-TOOLS"], "gate": "G2",
     "options": [
         {"key": "soft", "title": "Soft", "settings": {"bush_rate": "1.2 kN/mm"}},
         {"key": "hard", "title": "Hard", "settings": {"bush_rate": "2.4 kN/mm"}},
     ]},
]  # fmt: skip
CHECKS: Documents = [
    {"kind": "check", "key": "C-TOOLS", "title": "What the tools cost", "check": "tooling-budget",
     "decision": "D-TOOLS",
     "inputs": {"parts": "parts", "volume_per_year": "volume", "years": "years"},
     "outputs": {"tooling_total": "tooling", "tooling_per_vehicle": "tooling_each"}},
    {"kind": "check", "key": "C-SENSE", "title": "Which way it steers", "check": "steering-sense",
     "decision": "D-GEAR",
     "inputs": {"input_shaft_direction": "shaft", "rack_from_pinion": "rack_side",
                "gear_pinion_side": {"value": "left"}, "mounting": "mounting",
                "tie_rod_inner": "rod_inner", "tie_rod_outer": "rod_outer",
                "axis_upper": "joint_upper", "axis_lower": "joint_lower",
                "driver_side": {"value": "left"}},
     "outputs": {"sense": "sense", "wheel_gain": "gain"}},
]  # fmt: skip


def fixed_tools(prefix: str = "id") -> Tools:
    """Tools whose clock and ids do not depend on when and where the tests run."""
    real = tools()
    minutes, numbers = itertools.count(), itertools.count(1)

    def clock() -> str:
        hours, minute = divmod(next(minutes), 60)
        return f"2026-01-05T{8 + hours:02d}:{minute:02d}:00Z"

    return Tools(real.catalogue, real.units, clock, lambda: f"{prefix}{next(numbers):06d}")


def fill(session: Session) -> None:
    """The story: one decision stands, one is broken, one has shifted."""
    documents = [*GATES, *QUANTITIES, *REQUIREMENTS, *DECISIONS, *CHECKS]
    add_items(session, documents, "start the programme")
    settle(session, "D-TOOLS", "own", "they pay back in four years", {"shared": "slow to change"})
    lean(session, "D-BUSH", "soft")
    lean(session, "D-GEAR", "ahead", "the only gear on offer")
    set_values(session, {"volume": "4000"}, "sales asked for more")


@pytest.fixture(autouse=True)
def dark_look(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever terminal the tests run in."""
    monkeypatch.setenv("WHYBONE_LOOK", "dark")
    for name in ("NO_COLOR", "WHYBONE_ASCII", "WHYBONE_LINEAR"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def location(tmp_path: Path) -> Path:
    """A programme with its story."""
    place = tmp_path / "programme.db"
    session = make_programme(place, "Test cart", "EUR", who="Ada", with_tools=fixed_tools())
    fill(session)
    session.store.close()
    return place


OpenApp = Callable[..., WhyboneApp]


@pytest.fixture
def make_app(location: Path) -> OpenApp:
    """Make an app on the programme; it never looks for others' changes by itself."""

    def make(*, author: str = "Ada", ascii_only: bool = False, pace: float = 0.0) -> WhyboneApp:
        def opening() -> Session:
            return Session(open_store(location), fixed_tools("new"), author)

        return WhyboneApp(opening, ascii_only=ascii_only, pace=pace)

    return make


@pytest.fixture
def other(location: Path) -> Iterator[Session]:
    """Somebody else's session on the same programme."""
    session = Session(open_store(location), fixed_tools("other"), "Ben")
    yield session
    session.store.close()
