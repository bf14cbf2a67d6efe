"""Rows about gate packs: a programme of thousands of requirements and decisions ÷ the demo."""

from __future__ import annotations

import dataclasses
import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from demo_program.story import make_demo
from tests.bench.harness import Row, quiet
from tracker.bootstrap import make_programme, open_session
from tracker.model.records import Gate
from tracker.report.pack import FORMATS
from tracker.services.actions import add_items
from tracker.services.gates.readiness import readiness
from tracker.services.packs.codec import pack_bytes, read_pack
from tracker.services.packs.content import Freeze, pack_content
from tracker.services.packs.views import PackContent
from tracker.services.session import Session

__all__ = ["many_decisions", "pack_freeze", "pack_write"]

_DECISIONS = 2_000
_SERVED = 5  # requirements of one decision
_SHARING = 20  # decisions under one load


def many_decisions(folder: Path, decisions: int) -> Session:
    """Make a stored programme: each decision with a check, two options and five requirements."""
    place = folder / f"decisions-{decisions}.db"
    session = make_programme(place, f"{decisions} decisions", "EUR", who="bench")
    documents: list[dict[str, object]] = [
        {"kind": "gate", "key": "G1", "title": "Design", "date": "2031-01-01"},
    ]
    for number in range(0, decisions, _SHARING):
        load = {"key": f"load{number // _SHARING}", "title": "Load", "unit": "N", "value": "900 N"}
        documents.append({**_GIVEN, **load})
    for number in range(decisions):
        documents += _bracket(number)
    add_items(session, documents, "many decisions for the bench")
    return session


_GIVEN: dict[str, object] = {
    "kind": "quantity",
    "basis": "quoted",
    "source": "Load book",
    "dated": "2030-05-01",
}


def _bracket(number: int) -> list[dict[str, object]]:
    """Return a bracket: its thickness is decided, its stress is a formula of that and the load."""
    thick, stress, mass, price = (f"{each}{number}" for each in ("t", "s", "m", "p"))
    bands = {
        thick: ("mm", "1 mm", "20 mm"),
        stress: ("MPa", None, "160 MPa"),
        mass: ("kg", None, f"{4 + number % 7} kg"),
        price: ("EUR", None, "50 EUR"),
    }
    judged = [thick, stress, mass, price, stress]
    quantities: list[dict[str, object]] = [
        {"kind": "quantity", "key": thick, "title": f"Thickness {number}", "unit": "mm"},
        {"kind": "quantity", "key": stress, "title": f"Stress {number}", "unit": "MPa"},
        {**_GIVEN, "key": mass, "title": f"Mass {number}", "unit": "kg", "value": "3 kg"},
        {**_GIVEN, "key": price, "title": f"Price {number}", "unit": "EUR", "value": "41 EUR"},
    ]
    requirements: list[dict[str, object]] = [
        {
            "kind": "requirement",
            "key": f"R{number}-{place}",
            "statement": f"Bracket {number} keeps {key} where it belongs, line {place}",
            "quantity": key,
            "lower": bands[key][1],
            "upper": bands[key][2],
            "owner": "Bench",
            "gate": "G1",
        }
        for place, key in enumerate(judged)
    ]
    return [*quantities, *requirements, _decision(number, thick), _check(number, thick, stress)]


def _decision(number: int, thick: str) -> dict[str, object]:
    known = {"basis": "calculated", "source": "Sketch", "dated": "2030-06-01"}
    return {
        "kind": "decision",
        "key": f"D{number}",
        "question": f"How thick is bracket {number}?",
        "options": [
            {"key": "thin", "title": "Thin", "settings": {thick: {"value": "4 mm", **known}}},
            {"key": "thick", "title": "Thick", "settings": {thick: {"value": "9 mm", **known}}},
        ],
        "serves": [f"R{number}-{place}" for place in range(_SERVED)],
        "state": "settled",
        "chosen": "thick",
        "rationale": "The thin one is stressed too highly once the load doubles.",
        "against": {"thin": "Nothing is left for the load to grow."},
        "gate": "G1",
        "owner": "Bench",
    }


def _check(number: int, thick: str, stress: str) -> dict[str, object]:
    return {
        "kind": "check",
        "key": f"C{number}",
        "title": f"Stress of bracket {number}",
        "check": "formula",
        "decision": f"D{number}",
        "config": {
            "expression": "load / (thickness * width)",
            "inputs": "load: N, thickness: mm, width: mm",
            "unit": "MPa",
        },
        "inputs": {
            "load": f"load{number // _SHARING}",
            "thickness": thick,
            "width": {"value": "10 mm"},
        },
        "outputs": {"result": stress},
    }


def _freeze(session: Session) -> tuple[PackContent, float]:
    """Put together what is frozen at the programme's last gate; return it and the seconds taken."""
    gate = list(session.programme.of(Gate))[-1]
    start = time.process_time()
    freeze = Freeze(
        gate=gate,
        baseline="B-1",
        at="2031-01-01T00:00:00Z",
        author="bench",
        reason="bench",
        criteria=readiness(session, gate),
    )
    content = read_pack(pack_bytes(pack_content(session, freeze)))
    return content, time.process_time() - start


def _rows(part: object) -> int:
    """Count the rows and pages of a pack: all its records, however deep."""
    if dataclasses.is_dataclass(part):
        names = (each.name for each in dataclasses.fields(part))
        return 1 + sum(_rows(getattr(part, name)) for name in names)
    if isinstance(part, tuple):
        return sum(map(_rows, part))
    return 0


def _both(decisions: int) -> tuple[tuple[PackContent, float], tuple[PackContent, float]]:
    """Freeze the large programme and the demo."""
    with tempfile.TemporaryDirectory() as folder:
        large = many_decisions(Path(folder), decisions)
        demo = open_session(make_demo(Path(folder)), "bench")
        with quiet():
            found = _freeze(large), _freeze(demo)
        large.store.close()
        demo.store.close()
    return found


def pack_freeze(*, quick: bool) -> Row:
    """Freezing a gate, time per row: 10,000 requirements and 2,000 decisions ÷ the demo."""
    (content, took), (demo, demo_took) = _both(100 if quick else _DECISIONS)
    return _row("pack-freeze", (took, _rows(content)), (demo_took, _rows(demo)))


def pack_write(*, quick: bool) -> Row:
    """Writing a pack in every format, time per row: the same two."""
    (content, _), (demo, _) = _both(100 if quick else _DECISIONS)
    with tempfile.TemporaryDirectory() as folder:
        large, small = (_written(each, Path(folder)) for each in (content, demo))
    rows, demo_rows = _rows(content), _rows(demo)
    per_form = (
        f"{form} {large[form][0] / rows / (small[form][0] / demo_rows):.2f}, "
        f"{large[form][0]:.0f} s, {large[form][1]:.0f} MB"
        for form in FORMATS
    )
    took, demo_took = (sum(seconds for seconds, _ in each.values()) for each in (large, small))
    note = f"{rows} rows; demo {demo_took:.1f} s for {demo_rows}; {'; '.join(per_form)}"
    return Row("pack-write", took / rows / (demo_took / demo_rows), 1.5, note)


_WRITE = """
import json, sys, time
from pathlib import Path
from tracker.report.pack import render
from tracker.services.packs.codec import read_pack
content = read_pack(Path(sys.argv[1]).read_bytes())
start = time.process_time()
render(content, sys.argv[2])
took = time.process_time() - start
lines = Path("/proc/self/status").read_text().splitlines()
(most,) = (each.split()[1] for each in lines if each.startswith("VmHWM"))
print(json.dumps([took, int(most) / 1024]))
"""
"""Writes a pack in one format, as packing does, and tells seconds and the most memory in MB.

What Linux says of a process itself: what it says of its resources counts the parent's memory too.
"""


def _written(content: PackContent, folder: Path) -> dict[str, tuple[float, float]]:
    """Write a pack in every format, each in a process of its own; return seconds and MB of each."""
    frozen = folder / "pack.json"
    frozen.write_bytes(pack_bytes(content))
    found = {}
    for form in FORMATS:
        told = subprocess.run(
            [sys.executable, "-c", _WRITE, str(frozen), form],
            check=True,
            capture_output=True,
            text=True,
        )
        seconds, memory = json.loads(told.stdout)
        found[form] = seconds, memory
    return found


def _row(name: str, large: tuple[float, int], demo: tuple[float, int]) -> Row:
    (took, rows), (demo_took, demo_rows) = large, demo
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    note = (
        f"{took:.1f} s for {rows} rows; demo {demo_took:.2f} s for {demo_rows}; "
        f"at most {memory:.0f} MB"
    )
    return Row(name, took / rows / (demo_took / demo_rows), 1.5, note)
