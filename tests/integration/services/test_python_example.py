"""The example for notebooks in the README runs as it stands there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.architecture.documents import README
from tracker.bootstrap import audit
from tracker.services.session import Session

EXAMPLE = re.compile(r"^## From Python$.*?^```python\n(?P<code>.*?)^```$", re.MULTILINE | re.DOTALL)


def example() -> str:
    found = EXAMPLE.search(README.read_text(encoding="utf-8"))
    assert found, "README.md has no fenced block under the heading From Python"
    return found["code"]


def test_the_example_runs_and_stores_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {}
    exec(compile(example(), "README.md", "exec"), names)  # noqa: S102 - the text of our own README
    told = capsys.readouterr().out
    for part in ("breaks ('D-JOINT',)", "wheel_travel ", "tie_rod_outer.z", "D-RACK 100.0%", "##"):
        assert part in told
    assert re.search(r"\d+ of \d+ combinations \[\{", told)
    session, place = names["session"], names["place"]
    assert isinstance(session, Session)
    assert isinstance(place, Path)
    report = audit(str(tmp_path / place))
    assert (report.ok, report.revisions) == (True, session.head.revision)
