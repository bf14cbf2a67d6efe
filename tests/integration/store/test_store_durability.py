"""Acknowledged means durable, refused means not there.

Killing a process shows that nothing depends on what it still had in mind. It does not show what a
loss of power does: that rests on the disk keeping what a sync has acknowledged.
"""

from __future__ import annotations

import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.integration.store.programmes import GATE, TRACK, add, commit, draft, edit, fill
from tracker.errors import StoreWriteError
from tracker.model.changes import Entry
from tracker.store.open import open_store
from tracker.store.sql_store import SqlStore

KILLS = 60


def _commit_for_ever(path: Path, acknowledge: int) -> None:
    """Commit changes one by one and write each revision to a pipe once it is acknowledged."""
    store = open_store(path)
    track = store.load()[1].named("track", type(TRACK))
    while True:
        with store.writing() as writer:
            track, entry = edit(track, float(writer.head.revision))
            change = writer.append(draft(entry))
        os.write(acknowledge, change.revision.to_bytes(4, "big"))


def _acknowledged_until_killed(path: Path, seconds: float) -> int:
    out, acknowledge = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            _commit_for_ever(path, acknowledge)
        finally:
            os._exit(1)
    os.close(acknowledge)
    with os.fdopen(out, "rb") as pipe:
        first = pipe.read(4)
        time.sleep(seconds)
        os.kill(child, signal.SIGKILL)
        acknowledged = first + pipe.read()
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
    assert acknowledged, "the child could not commit at all"
    return int.from_bytes(acknowledged[-4:], "big")


def test_no_acknowledged_change_is_lost_by_killing(path: Path) -> None:
    store = open_store(path)
    commit(store, add(TRACK))
    store.close()
    rng = random.Random(20310506)
    for number in range(KILLS):
        acknowledged = _acknowledged_until_killed(path, rng.uniform(0.0, 0.04))
        store = open_store(path)
        head, programme = store.load()
        assert acknowledged <= head.revision <= acknowledged + 1
        given = programme.named("track", type(TRACK)).given
        assert given is not None
        assert given.value == head.revision - 1
        if number % 10 == 0 or number == KILLS - 1:
            assert store.audit(head.hash).problems == ()
        store.close()


def _refused(store: SqlStore, reason: str) -> StoreWriteError:
    with pytest.raises(StoreWriteError) as caught:
        commit(store, draft(Entry(GATE, None), reason=reason))
    return caught.value


def _holds_and_goes_on(store: SqlStore, revision: int) -> None:
    assert store.head().revision == revision
    assert store.audit().problems == ()
    assert commit(store, draft(Entry(GATE, None)))[0].revision == revision + 1
    assert store.audit().problems == ()


@contextmanager
def _no_more_pages(store: SqlStore) -> Iterator[None]:
    """Let SQLite find the disk full: no page may be added."""
    with store._backend.engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        most = connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}").scalar_one()
    assert most == pages
    yield
    with store._backend.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count = 1000000000")


def test_a_full_disk_refuses_the_change(path: Path) -> None:
    store = open_store(path)
    fill(store)
    with _no_more_pages(store):
        assert "full" in str(_refused(store, "a long story " * 2000))
    _holds_and_goes_on(store, 3)
    store.close()


def test_a_file_that_may_not_grow_refuses_the_change(path: Path) -> None:
    """The kernel refuses the write itself, in the middle of the write-ahead log."""
    store = open_store(path)
    fill(store)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    size = Path(f"{path}-wal").stat().st_size
    try:
        resource.setrlimit(resource.RLIMIT_FSIZE, (size + 6000, hard))
        _refused(store, "a long story " * 2000)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    _holds_and_goes_on(store, 3)
    store.close()


SHIM = r"""
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <stdlib.h>
#include <unistd.h>

static int sync_or_fail(const char *name, int fd) {
    const char *flag = getenv("FAIL_SYNC_IF");
    if (flag && access(flag, F_OK) == 0) { errno = EIO; return -1; }
    return ((int (*)(int))dlsym(RTLD_NEXT, name))(fd);
}
int fsync(int fd) { return sync_or_fail("fsync", fd); }
int fdatasync(int fd) { return sync_or_fail("fdatasync", fd); }
"""

SCRIPT = """
import os, signal, sys
from pathlib import Path
from tests.integration.store.programmes import GATE, commit, draft, fill
from tracker.errors import StoreWriteError
from tracker.model.changes import Entry
from tracker.store.open import open_store

path, flag, then = sys.argv[1:]
store = open_store(path)
fill(store)
Path(flag).touch()
try:
    commit(store, draft(Entry(GATE, None), reason="refused"))
except StoreWriteError as error:
    print("refused:", error)
assert store.head().revision == 3
if then == "die":
    sys.stdout.flush()
    os.kill(os.getpid(), signal.SIGKILL)
Path(flag).unlink()
assert store.audit().problems == ()
commit(store, draft(Entry(GATE, None), reason="again"))
store.close()
"""


@pytest.fixture(scope="module")
def shim(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A library that makes syncs fail while a certain file exists."""
    compiler = shutil.which("cc") or shutil.which("gcc")
    if compiler is None or not sys.platform.startswith("linux"):
        pytest.skip("no C compiler, or no LD_PRELOAD, to make syncs fail with")
    library = tmp_path_factory.mktemp("shim") / "sync.so"
    command = [str(compiler), "-shared", "-fPIC", "-x", "c", "-", "-o", str(library), "-ldl"]
    subprocess.run(command, input=SHIM.encode(), check=True)
    return library


@pytest.mark.parametrize(("then", "code"), [("go on", 0), ("die", -signal.SIGKILL)])
def test_a_failed_sync_refuses_the_change(
    path: Path, tmp_path: Path, shim: Path, then: str, code: int
) -> None:
    """Even a crash right after does not bring the refused change back."""
    flag = tmp_path / "fail"
    root = Path(__file__).parents[3]
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, path, flag, then],
        env={**os.environ, "LD_PRELOAD": str(shim), "FAIL_SYNC_IF": str(flag)},
        cwd=root,
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == code, done.stderr
    assert "disk I/O error" in done.stdout
    store = open_store(path)
    reasons = [each.reason for each in store.changes()]
    assert "refused" not in reasons
    assert len(reasons) == (4 if then == "go on" else 3)
    assert store.audit().problems == ()
    assert commit(store, draft())[0].revision == len(reasons) + 1
    store.close()
