"""Opening the demo a second time computes nothing and gives the same bits."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from demo_program.story import make_demo
from tests.property.engine_oracle import picture
from tracker.app import main
from tracker.bootstrap import open_session
from tracker.evaluate.engine import Engine
from tracker.host.trace_file import FILE_NAME
from tracker.services.actions import lean, reopen, set_values, undo
from tracker.services.session import Session, past

Open = Callable[[], Session]


@pytest.fixture
def traces(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return where traces are kept from now on."""
    monkeypatch.setenv("WHYBONE_TRACES", str(tmp_path / "traces"))
    return tmp_path / "traces" / FILE_NAME


@pytest.fixture
def place(demo_file: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(demo_file, tmp_path / demo_file.name))


def assert_from_scratch(session: Session) -> None:
    catalogue = session.tools.catalogue
    scratch = Engine(catalogue, session.programme.copy())
    assert picture(session.engine) == picture(scratch)
    assert len(scratch.opening.ran) > 50


def test_the_second_opening_runs_nothing(place: Path, traces: Path) -> None:
    first = open_session(place, "tester")
    everything = first.engine.opening.ran
    assert len(everything) > 50
    first.close()
    second = open_session(place, "tester")
    assert second.engine.opening.ran == []
    assert second.engine.opening.recalled == everything
    assert_from_scratch(second)
    second.close()
    traces.unlink()
    third = open_session(place, "tester")
    assert third.engine.opening.ran == everything
    third.close()


def test_a_demo_just_made_opens_without_running_anything(tmp_path: Path, traces: Path) -> None:
    session = open_session(make_demo(tmp_path / "new"), "tester")
    assert session.engine.opening.ran == []
    session.close()


def test_what_was_computed_after_the_opening_is_there_too(place: Path, traces: Path) -> None:
    session = open_session(place, "tester")
    set_values(session, {"VOL.lower": "4000"}, "fewer")
    reopen(session, "D-GEAR", "again")
    lean(session, "D-GEAR", "a", "a try")
    undo(session)
    session.close()
    again = open_session(place, "tester")
    assert again.engine.opening.ran == []
    assert_from_scratch(again)
    earlier = past(again, again.head.revision - 3)
    scratch = Engine(again.tools.catalogue, earlier.programme.copy())
    assert picture(earlier.engine) == picture(scratch)
    again.close()


def test_a_past_revision_is_recalled_the_second_time(place: Path, traces: Path) -> None:
    session = open_session(place, "tester")
    middle = past(session, 60)
    assert middle.engine.opening.recalled
    assert middle.engine.opening.ran
    assert past(session, 60).engine.opening.ran == []  # the same session knows
    session.close()
    again = open_session(place, "tester")
    assert past(again, 60).engine.opening.ran == []
    again.close()


@pytest.mark.parametrize(
    "spoil",
    [
        lambda path: path.write_bytes(path.read_bytes()[:3000]),
        lambda path: path.write_bytes(b"something else entirely"),
        lambda path: path.write_bytes(bytes(path.stat().st_size)),
        lambda path: path.chmod(0),
    ],
)
def test_a_spoilt_file_changes_nothing(
    place: Path, traces: Path, spoil: Callable[[Path], object]
) -> None:
    open_session(place, "tester").close()
    spoil(traces)
    session = open_session(place, "tester")
    assert_from_scratch(session)
    session.close()
    again = open_session(place, "tester")
    assert again.engine.opening.ran == []
    again.close()


def test_journal_and_audit_know_nothing_of_it(place: Path, traces: Path) -> None:
    before = place.read_bytes()
    open_session(place, "tester").close()
    open_session(place, "tester").close()
    assert place.read_bytes() == before


def run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, *words], capture_output=True, text=True, check=False)


def test_status_loads_no_numerics_the_second_time(place: Path, traces: Path) -> None:
    program = (
        "import json, sys\n"
        "from tracker.app import main\n"
        f"main(['--program', {str(place)!r}, 'status', '--json'])\n"
        "print(json.dumps(sorted(sys.modules)), file=sys.stderr)\n"
    )
    first, second = run("-c", program), run("-c", program)
    assert first.stdout == second.stdout
    assert json.loads(first.stdout)["checks"]
    numerics = {"whybone_chassis.mechanics.linkage", "whybone_chassis.ratio_band_numbers"}
    assert numerics <= set(json.loads(first.stderr))
    loaded = {each for each in json.loads(second.stderr) if each.startswith("whybone_chassis.")}
    assert loaded
    assert not [each for each in loaded if each.endswith(("_numbers", "_forces", "_sums"))]
    assert not [each for each in loaded if "linkage" in each and "ports" not in each]


def test_two_processes_at_once_tell_the_same(place: Path, traces: Path) -> None:
    program = ["-c", "from tracker.app import main; main()", "--program", str(place), "status"]
    running = [
        subprocess.Popen([sys.executable, *program], stdout=subprocess.PIPE) for _ in range(3)
    ]
    told = {each.communicate()[0] for each in running}
    assert len(told) == 1
    assert b"" not in told
    session = open_session(place, "tester")
    assert session.engine.opening.ran == []
    session.close()


def test_show_tells_that_a_check_was_recalled(
    place: Path, traces: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def shown(*words: str) -> Any:  # noqa: ANN401 - JSON data, or text
        assert main(["--program", str(place), "show", "C-RATIO", *words]) == 0
        out = capsys.readouterr().out
        return json.loads(out) if words else out

    assert shown("--json")["ran"]["how"] == "ran"
    told = shown("--json")["ran"]
    assert (told["how"], told["when"], told["moved"]) == ("recalled", "opening", [])
    assert told["since"].startswith("nothing it reads was changed after revision")
    assert "recalled:" in shown()
