"""The same content gives the same bytes, whoever writes it where, when and in which language."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.integration.report.packs import filled
from tests.integration.report.sample import HOSTILE
from tracker.errors import BadValueError
from tracker.report.pack import FORMATS, SUFFIXES, render
from tracker.services.packs.codec import pack_bytes

_SCRIPT = """
import contextlib, datetime, hashlib, json, locale, sys, time
sys.path[:0] = json.loads(sys.argv[1])
with contextlib.suppress(locale.Error):
    locale.setlocale(locale.LC_ALL, "")
from pathlib import Path
late = float(sys.argv[3])
then, gmtime, localtime = time.time() + late, time.gmtime, time.localtime
time.time = lambda: then
time.time_ns = lambda: int(then * 1e9)
time.gmtime = lambda at=None: gmtime(then if at is None else at)
time.localtime = lambda at=None: localtime(then if at is None else at)
class Later(datetime.datetime):
    @classmethod
    def now(cls, tz=None):
        return cls.fromtimestamp(then, tz)
    @classmethod
    def utcnow(cls):
        return cls.now(datetime.UTC).replace(tzinfo=None)
if late:
    datetime.datetime = Later
from tracker.report.pack import FORMATS, render
from tracker.services.packs.codec import read_pack
content = read_pack(Path(sys.argv[2]).read_bytes())
found = {each: hashlib.sha256(render(content, each)).hexdigest() for each in FORMATS}
point = locale.localeconv()["decimal_point"]
print(json.dumps([datetime.datetime.now().year, time.gmtime().tm_year, point, found]))
"""

_CLOCK = """
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stddef.h>
#include <sys/time.h>
#include <time.h>
int clock_gettime(clockid_t clock, struct timespec *at) {
    int (*real)(clockid_t, struct timespec *) = dlsym(RTLD_NEXT, "clock_gettime");
    int failed = real(clock, at);
    if (clock == CLOCK_REALTIME) at->tv_sec += LATE;
    return failed;
}
int gettimeofday(struct timeval *at, void *zone) {
    struct timespec found;
    clock_gettime(CLOCK_REALTIME, &found);
    at->tv_sec = found.tv_sec;
    at->tv_usec = found.tv_nsec / 1000;
    return 0;
}
time_t time(time_t *at) {
    struct timespec found;
    clock_gettime(CLOCK_REALTIME, &found);
    if (at != NULL) *at = found.tv_sec;
    return found.tv_sec;
}
"""
"""Puts the clock of a whole process forward, compiled libraries included."""

_YEARS = 7
_LATE = _YEARS * 31_556_952

_PLACES = (
    {"TZ": "Pacific/Kiritimati", "LC_ALL": "C", "PYTHONHASHSEED": "1", "HOME": "/nowhere"},
    {
        "TZ": "America/St_Johns",
        "LC_ALL": "de_DE.UTF-8",
        "PYTHONHASHSEED": "77",
        "SOURCE_DATE_EPOCH": "1",
    },
    {"TZ": "Asia/Kathmandu", "LC_ALL": "tr_TR.UTF-8", "LANG": "tr_TR.UTF-8"},
)
_POINTS = {"C": ".", "de_DE.UTF-8": ",", "tr_TR.UTF-8": ","}
"""Locale → its decimal point, which tells that it is in force (common practice, no source)."""


def test_bytes_depend_on_the_content_alone(tmp_path: Path) -> None:
    content = filled(HOSTILE)
    frozen = tmp_path / "pack.json"
    frozen.write_bytes(pack_bytes(content))
    here = {each: hashlib.sha256(render(content, each)).hexdigest() for each in FORMATS}
    for number, place in enumerate(_PLACES):
        known = _make_locale(tmp_path, place["LC_ALL"])
        told = {"LOCPATH": str(tmp_path), **place}
        *_, point, there = _elsewhere(tmp_path / f"folder {number} ä", frozen, told)
        assert point == (_POINTS[place["LC_ALL"]] if known else ".")
        assert there == here


def _make_locale(folder: Path, name: str) -> bool:
    """Make a locale, as few machines hold more than plain ones; return whether it is known."""
    maker = shutil.which("localedef")
    if name == "C" or maker is None:
        return name == "C"
    language, _, codes = name.partition(".")
    make = [maker, "-i", language, "-f", codes, str(folder / name)]
    return subprocess.run(make, check=False, capture_output=True).returncode == 0


def test_no_clock_is_looked_at(tmp_path: Path) -> None:
    """The same bytes seven years later, as Python's clock and as that of the whole machine tell."""
    content = filled(("Plain", "Words"))
    frozen = tmp_path / "pack.json"
    frozen.write_bytes(pack_bytes(content))
    here = {each: hashlib.sha256(render(content, each)).hexdigest() for each in FORMATS}
    later = datetime.now(UTC).year + _YEARS
    *years, _, there = _elsewhere(tmp_path / "python", frozen, {}, late=_LATE)
    assert all(abs(each - later) <= 1 for each in years)
    assert there == here
    compiler = shutil.which("cc")
    if compiler is None:
        pytest.skip("no compiler: only Python's own clock was put forward")
    source, shim = tmp_path / "clock.c", tmp_path / "clock.so"
    source.write_text(_CLOCK)
    make = [compiler, "-shared", "-fPIC", f"-DLATE={_LATE}", "-o", str(shim), str(source), "-ldl"]
    subprocess.run(make, check=True)
    *years, _, there = _elsewhere(tmp_path / "machine", frozen, {"LD_PRELOAD": str(shim)})
    assert all(abs(each - later) <= 1 for each in years)
    assert there == here


def _elsewhere(
    folder: Path, frozen: Path, place: Mapping[str, str], *, late: int = 0
) -> tuple[int, int, str, dict[str, str]]:
    """Write a pack in a process of its own.

    Returns the years its clocks tell, its decimal point, and the digests.
    """
    folder.mkdir()
    told = subprocess.run(
        [sys.executable, "-c", _SCRIPT, json.dumps(sys.path), str(frozen), str(late)],
        cwd=folder,
        env={"PATH": os.environ["PATH"], "TMPDIR": str(folder), **place},
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 0, told.stderr
    local, utc, point, digests = json.loads(told.stdout)
    return local, utc, point, digests


@pytest.mark.parametrize("form", FORMATS)
def test_bytes_follow_the_content(form: str) -> None:
    """Other content gives other bytes, and the same content made anew the same."""
    assert render(filled(("A",)), form) == render(filled(("A",)), form)
    assert render(filled(("A",)), form) != render(filled(("B",)), form)


def test_no_such_format() -> None:
    with pytest.raises(BadValueError, match="'docx' is no format") as told:
        render(filled(("A",)), "docx")
    assert told.value.remedy == "Formats: html, pdf, md, xlsx, csv, json"
    assert SUFFIXES["csv"] == ".csv.zip"
    assert SUFFIXES["pdf"] == ".pdf"
