"""The file of traces: to the bit, bounded, shared, and never anybody's trouble."""

from __future__ import annotations

import os
import sqlite3
import stat
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from tracker.host import trace_file
from tracker.host.trace_file import FILE_NAME, TraceFile, trace_folder

KEY, BODY = b"k" * 32, b"[body]"
Open = Callable[..., TraceFile]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "cache" / "whybone"


@pytest.fixture
def opened(folder: Path) -> Iterator[Open]:
    """Return a way to open traces as another run of the program does."""
    made: list[TraceFile] = []

    def open_one(machine: bytes = b"machine", *, holds: bool = True, **more: int) -> TraceFile:
        made.append(TraceFile(folder, lambda: machine, lambda: holds, **more))
        return made[-1]

    yield open_one
    for each in made:
        each.close()


def saved(traces: TraceFile, **bodies: bytes) -> None:
    for name, body in bodies.items():
        traces.keep(name.encode(), body)
    traces.flush()
    traces.close()


def rows(folder: Path) -> list[tuple[bytes, bytes, int]]:
    with closing(sqlite3.connect(folder / FILE_NAME)) as base:
        return base.execute("SELECT key, body, used FROM trace").fetchall()


def tamper(folder: Path, statement: str, *values: object) -> None:
    with closing(sqlite3.connect(folder / FILE_NAME)) as base, base:
        base.execute(statement, values)


def test_a_trace_comes_back_in_the_next_run(opened: Open, folder: Path) -> None:
    body = bytes(range(256))
    first = opened()
    assert first.recall(KEY) is None
    first.keep(KEY, body)
    assert first.recall(KEY) == body  # at once, though nothing is written yet
    assert rows(folder) == []
    first.flush()
    assert opened().recall(KEY) == body
    assert opened().recall(b"other") is None


def test_it_is_the_users_alone(opened: Open, folder: Path) -> None:
    before = os.umask(0)
    try:
        saved(opened(), a=BODY)
    finally:
        os.umask(before)
    assert stat.S_IMODE((folder / FILE_NAME).stat().st_mode) == 0o600
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    (folder / FILE_NAME).chmod(0o666)
    assert opened().recall(b"a") == BODY
    assert stat.S_IMODE((folder / FILE_NAME).stat().st_mode) == 0o600


def test_another_machine_has_its_own(opened: Open) -> None:
    saved(opened(), a=BODY)
    assert opened(b"another").recall(b"a") is None
    saved(opened(b"another"), a=b"[other]")
    assert (opened().recall(b"a"), opened(b"another").recall(b"a")) == (BODY, b"[other]")


def test_what_newer_code_gave_is_not_kept_under_the_older_codes_name(
    opened: Open, folder: Path
) -> None:
    saved(opened(holds=False), a=BODY)
    assert not folder.exists()
    assert opened().recall(b"a") is None


def test_on_a_machine_nobody_can_tell_there_are_no_traces(opened: Open, folder: Path) -> None:
    traces = opened(b"")
    traces.keep(b"a", BODY)
    assert traces.recall(b"a") is None
    saved(traces, a=BODY)
    assert not folder.exists()


def test_without_news_nothing_is_written(opened: Open, folder: Path) -> None:
    opened().flush()
    assert not folder.exists()
    saved(opened(), a=BODY)
    before = (folder / FILE_NAME).read_bytes()
    again = opened()
    assert again.recall(b"a") == BODY
    saved(again)
    assert (folder / FILE_NAME).read_bytes() == before


def test_it_goes_on_after_closing(opened: Open) -> None:
    traces = opened()
    saved(traces, a=BODY)
    assert traces.recall(b"a") == BODY
    saved(traces, b=BODY)
    assert opened().recall(b"b") == BODY


# -- what does not verify does not count -----------------------------------------------------------


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE trace SET body = substr(body, 1, 32) || x'5B7D'",
        "UPDATE trace SET body = substr(body, 1, length(body) - 1)",
        "UPDATE trace SET body = body || x'20'",
        "UPDATE trace SET body = substr(body, 33)",
        "UPDATE trace SET body = x''",
        "UPDATE trace SET body = 'text'",
        "UPDATE trace SET body = 7",
    ],
)
def test_a_trace_that_was_changed_is_none(opened: Open, folder: Path, statement: str) -> None:
    saved(opened(), a=BODY)
    tamper(folder, statement)
    assert opened().recall(b"a") is None
    saved(opened(), a=BODY)
    assert opened().recall(b"a") == BODY


def test_a_trace_under_another_key_is_none(opened: Open, folder: Path) -> None:
    saved(opened(), a=BODY, b=b"[another]")
    for key, body, _ in rows(folder):
        tamper(folder, "UPDATE trace SET body = ? WHERE key <> ?", body, key)
        assert None in (opened().recall(b"a"), opened().recall(b"b"))


def test_a_strange_date_does_no_harm(opened: Open, folder: Path) -> None:
    for strange in ("'yesterday'", "x'00'", "1e400", "-1", "9223372036854775807"):
        saved(opened(), a=BODY)
        tamper(folder, f"UPDATE trace SET used = {strange}")
        again = opened()
        assert again.recall(b"a") == BODY
        saved(again)
        assert isinstance(rows(folder)[0][2], int)


# -- a file that cannot be used --------------------------------------------------------------------


@pytest.mark.parametrize(
    "spoil",
    [
        lambda _: b"",
        lambda _: b"no database at all" * 100,
        lambda data: data[:50],
        lambda data: data[:100],
        lambda data: data[:4096],
        lambda data: data[:5000],
        lambda data: data[: len(data) - 1],
        lambda data: bytes(len(data)),
        lambda data: data[:100] + bytes(len(data) - 100),
        lambda data: data[:4096] + b"\xff" * (len(data) - 4096),
        lambda data: data[:18] + b"\x09\x09" + data[20:],
    ],
)
def test_a_damaged_file_is_thrown_away(
    opened: Open, folder: Path, spoil: Callable[[bytes], bytes]
) -> None:
    saved(opened(), a=BODY)
    place = folder / FILE_NAME
    place.write_bytes(spoil(place.read_bytes()))
    traces = opened()
    assert traces.recall(b"a") in (None, BODY)
    saved(traces, a=BODY, b=BODY)
    traces = opened()
    traces.recall(b"b")  # by now the damage has been met, wherever it was
    saved(traces, b=BODY)
    assert (opened().recall(b"b")) == BODY


@pytest.mark.parametrize(
    "statement",
    ["PRAGMA user_version = 2", "DROP TABLE trace", "ALTER TABLE trace RENAME used TO since"],
)
def test_a_file_of_another_version_is_thrown_away(
    opened: Open, folder: Path, statement: str
) -> None:
    saved(opened(), a=BODY)
    tamper(folder, statement)
    traces = opened()
    assert traces.recall(b"a") is None
    saved(traces, b=BODY)
    assert opened().recall(b"b") == BODY
    assert opened().recall(b"a") is None


def test_a_file_damaged_again_and_again_is_left(
    opened: Open, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def fail(path: Path) -> sqlite3.Connection:
        asked.append(path)
        raise _corrupt()

    monkeypatch.setattr(trace_file, "open_base", fail)
    traces = opened()
    for _ in range(5):
        assert traces.recall(b"a") is None
    assert len(asked) == 2


def _corrupt() -> sqlite3.DatabaseError:
    error = sqlite3.DatabaseError("database disk image is malformed")
    error.sqlite_errorcode = sqlite3.SQLITE_CORRUPT
    return error


def test_what_cannot_be_thrown_away_is_left(
    opened: Open, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    saved(opened(), a=BODY)
    place = folder / FILE_NAME
    place.write_bytes(b"no database" * 1000)

    def refuse(path: Path) -> None:
        raise PermissionError(path)

    monkeypatch.setattr(trace_file, "throw_away", refuse)
    traces = opened()
    saved(traces, b=BODY)
    assert traces.recall(b"b") is None
    assert place.read_bytes() == b"no database" * 1000


@pytest.mark.parametrize(
    "statement", ["CREATE TABLE letters (text TEXT)", "PRAGMA application_id = 7"]
)
def test_a_database_of_another_program_is_left_alone(
    opened: Open, folder: Path, statement: str
) -> None:
    folder.mkdir(parents=True)
    tamper(folder, statement)
    before = (folder / FILE_NAME).read_bytes()
    traces = opened()
    saved(traces, a=BODY)
    assert traces.recall(b"a") is None
    assert (folder / FILE_NAME).read_bytes() == before
    assert [each.name for each in folder.iterdir()] == [FILE_NAME]


def test_a_file_of_another_user_is_left_alone(
    opened: Open, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    saved(opened(), a=BODY)
    monkeypatch.setattr(os, "getuid", lambda: (folder / FILE_NAME).stat().st_uid + 1)
    assert opened().recall(b"a") is None


def test_a_link_is_not_followed(opened: Open, folder: Path, tmp_path: Path) -> None:
    saved(opened(), a=BODY)
    elsewhere = tmp_path / "elsewhere"
    (folder / FILE_NAME).rename(elsewhere)
    (folder / FILE_NAME).symlink_to(elsewhere)
    assert opened().recall(b"a") is None


def test_a_folder_that_cannot_be_made_is_nobodys_trouble(opened: Open, folder: Path) -> None:
    folder.parent.write_text("a file where a folder would have to be")
    traces = opened()
    saved(traces, a=BODY)
    assert traces.recall(b"a") is None


def test_a_read_only_folder_is_nobodys_trouble(
    opened: Open, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> int:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "open", refuse)
    traces = opened()
    saved(traces, a=BODY)
    assert traces.recall(b"a") is None
    monkeypatch.undo()
    (folder / FILE_NAME).mkdir()
    assert opened().recall(b"a") is None


def test_a_full_disk_is_nobodys_trouble(opened: Open, folder: Path) -> None:
    saved(opened(), a=BODY)
    traces = opened()
    assert traces.recall(b"a") == BODY
    assert traces._base is not None
    traces._base.execute("PRAGMA max_page_count = 3")
    saved(traces, **{f"n{number}": bytes(3000) for number in range(20)})
    assert opened().recall(b"a") == BODY
    assert len(rows(folder)) == 1


def test_another_thread_does_without(opened: Open) -> None:
    traces = opened()
    saved(traces, a=BODY)
    assert traces.recall(b"a") == BODY
    found: list[bytes | None] = [b"?"]
    thread = threading.Thread(target=lambda: found.append(traces.recall(b"a")))
    thread.start()
    thread.join()
    assert found[-1] is None


# -- shared and bounded ----------------------------------------------------------------------------


def test_deleting_it_while_it_is_open_does_no_harm(opened: Open, folder: Path) -> None:
    traces = opened()
    saved(traces, a=BODY)
    assert traces.recall(b"a") == BODY
    for each in folder.iterdir():
        each.unlink()
    traces.keep(b"b", BODY)
    traces.flush()
    traces.close()
    traces = opened()
    saved(traces, c=BODY)
    assert opened().recall(b"c") == BODY


def test_two_runs_read_and_write_in_turn(opened: Open, folder: Path) -> None:
    one, two = opened(), opened()
    for number in range(20):
        for traces in (one, two):
            traces.keep(b"%d" % number, b"[%d]" % number)
            traces.flush()
            assert one.recall(b"%d" % number) == two.recall(b"%d" % number) == b"[%d]" % number
    assert len(rows(folder)) == 20


def test_a_writer_that_does_not_let_go_is_not_waited_for(opened: Open, folder: Path) -> None:
    saved(opened(), a=BODY)
    with closing(sqlite3.connect(folder / FILE_NAME, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        traces = opened()
        assert traces.recall(b"a") == BODY  # reading goes on
        saved(traces, b=BODY)
        other.execute("ROLLBACK")
    assert [body[32:] for _, body, _ in rows(folder)] == [BODY]


def test_two_processes_fill_it_at_once(opened: Open, folder: Path) -> None:
    program = (
        "import sys\n"
        "from pathlib import Path\n"
        "from tracker.host.trace_file import TraceFile\n"
        "folder, name = Path(sys.argv[1]), sys.argv[2]\n"
        "for number in range(40):\n"
        "    traces = TraceFile(folder, lambda: b'machine', lambda: True)\n"
        "    for each in range(10):\n"
        "        key = b'%d' % (number * 10 + each)\n"
        "        assert traces.recall(key) in (None, b'[' + key + b']'), key\n"
        "        traces.keep(key, b'[' + key + b']')\n"
        "    traces.flush()\n"
        "    traces.close()\n"
    )
    processes = [
        subprocess.Popen([sys.executable, "-c", program, str(folder), name]) for name in "ab"
    ]
    assert [each.wait() for each in processes] == [0, 0]
    traces = opened()
    found = [traces.recall(b"%d" % each) for each in range(400)]
    assert sum(each is not None for each in found) > 300  # a batch may be lost, never spoilt
    assert all(each in (None, b"[%d]" % place) for place, each in enumerate(found))


def test_what_was_unused_for_longest_goes_first(
    opened: Open, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    limit, days = 400_000, 0
    monkeypatch.setattr(time, "time", lambda: 1.7e9 + days * 90_000.0)
    body = bytes(1000)
    for days in range(12):
        traces = opened(limit=limit)
        traces.recall(b"0-0")
        saved(traces, **{f"{days}-{number}": body for number in range(50)})
        assert (folder / FILE_NAME).stat().st_size <= limit * 1.2
    traces = opened()
    there = [traces.recall(b"%d-7" % day) is not None for day in range(12)]
    assert there == sorted(there)  # the older ones are gone, the newer ones are all there
    assert not there[0]
    assert all(there[-5:])
    assert traces.recall(b"0-0") == body  # it was of use all the time


# -- where it is -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("variables", "folder"),
    [
        ({"WHYBONE_TRACES": ""}, None),
        ({"WHYBONE_TRACES": " "}, None),
        ({"WHYBONE_TRACES": "off"}, None),
        ({"WHYBONE_TRACES": "/somewhere", "XDG_CACHE_HOME": "/cache"}, Path("/somewhere")),
        ({"XDG_CACHE_HOME": "/cache"}, Path("/cache/whybone")),
    ],
)
def test_where_it_is(variables: dict[str, str], folder: Path | None) -> None:
    """XDG Base Directory Specification 0.8: `$XDG_CACHE_HOME`, which must be absolute."""
    assert trace_folder(variables) == folder


@pytest.mark.parametrize("cache", [{}, {"XDG_CACHE_HOME": ""}, {"XDG_CACHE_HOME": "relative"}])
def test_at_home_otherwise(
    cache: dict[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    assert trace_folder(cache) == tmp_path / ".cache" / "whybone"

    def nobody() -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.setattr(Path, "home", nobody)
    assert trace_folder(cache) is None
