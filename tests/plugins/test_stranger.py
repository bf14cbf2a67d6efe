"""A stranger's package, installed beside whybone: listed, loaded, run, held to the kit."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tracker.contract.kit import Subject, keep_promises
from tracker.exchange.units import PintUnits
from tracker.host.catalogue import EntryPoints

SOURCE = '''
"""Deflection of a cantilever under a load at its end."""

import numpy as np

from tracker.contract.check import Manifest, Outputs, Port, Problem, Rule, Source

MANIFEST = Manifest(
    key="cantilever",
    version="1",
    title="Cantilever",
    purpose="Bend a cantilever",
    inputs=(
        Port(key="load", title="Load", doc="At the end, down", unit="N"),
        Port(key="length", title="Length", doc="From the wall", unit="mm"),
        Port(key="stiffness", title="E times I", doc="Bending stiffness", unit="N*mm^2"),
    ),
    outputs=(Port(key="deflection", title="Deflection", doc="Down", unit="mm"),),
    rules=(Rule(output="deflection", upper=5.0, reason="It touches", source="Layout"),),
    sources=(Source("Any text on beams", "F L^3 / (3 E I)"),),
)


class Cantilever:
    def manifest(self, config):
        return MANIFEST

    def compute(self, inputs, config):
        load, length, stiffness = inputs["load"], inputs["length"], inputs["stiffness"]
        with np.errstate(all="ignore"):
            deflection = load * length**3 / (3.0 * stiffness)
        bad = ~(np.isfinite(deflection) & (stiffness > 0.0))
        problems = [Problem(bad, "the stiffness is not positive")] if bad.any() else []
        return Outputs({"deflection": deflection}, problems)


CHECK = Cantilever()
'''


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """Return a directory that holds the stranger's package as an installer leaves it."""
    package = tmp_path / "stranger_beams"
    package.mkdir()
    (package / "__init__.py").write_text("", encoding="utf-8")
    (package / "cantilever.py").write_text(SOURCE, encoding="utf-8")
    info = tmp_path / "stranger_beams-0.3.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(
        "Metadata-Version: 2.1\nName: stranger-beams\nVersion: 0.3\n", encoding="utf-8"
    )
    (info / "entry_points.txt").write_text(
        "[whybone.checks]\ncantilever = stranger_beams.cantilever:CHECK\n", encoding="utf-8"
    )
    return tmp_path


def test_stranger_is_listed_loaded_and_keeps_the_promises(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.syspath_prepend(str(site))
    catalogue = EntryPoints(PintUnits())
    assert "cantilever" in catalogue.keys()  # noqa: SIM118  the port's method, not a mapping's
    assert "stranger_beams" not in sys.modules
    loaded = catalogue.load("cantilever", {}, "EUR")
    assert loaded.units["stiffness"].scale == 1e-6
    subject = Subject(
        check=loaded.check,
        rows=lambda generator: {
            key: float(generator.uniform(1.0, 9.0)) for key in ("load", "length", "stiffness")
        },
        degenerate=[{"stiffness": 0.0}, {"stiffness": -1.0}, {"length": 1e200}],
        scalings=[{"N": 2.0, "mm": 1.0}, {"N": 1.0, "mm": 4.0}],
    )
    keep_promises(subject)
    # Gere & Goodno, Mechanics of Materials, table of cantilevers (recalled): F L³ / (3 E I).
    # 100 N on 500 mm of a 10 mm square steel bar (E 210 GPa): I 833.3 mm⁴, 23.8 mm.
    row = {"load": 100.0, "length": 500.0, "stiffness": 210_000.0 * 10.0**4 / 12.0}
    values = loaded.check.compute(subject.batch([row]), {}).values
    assert values["deflection"][0] == pytest.approx(23.81, abs=0.01)


def test_stranger_needs_nothing_but_the_contract(site: Path) -> None:
    """Its import loads no database, no unit library and no terminal."""
    code = (
        f"import sys; sys.path.insert(0, {str(site)!r});"
        "import stranger_beams.cantilever;"
        "heavy = {'sqlalchemy', 'pint', 'textual', 'alembic', 'networkx'} & set(sys.modules);"
        "sys.exit(', '.join(heavy) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True)
    assert done.returncode == 0, done.stderr
