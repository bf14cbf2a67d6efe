"""The same content gives the same bytes, whoever writes it where, when and in which language."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.integration.report.packs import filled
from tests.integration.report.sample import HOSTILE
from tracker.errors import BadValueError
from tracker.report.pack import FORMATS, SUFFIXES, render
from tracker.services.pack_codec import pack_bytes

_SCRIPT = """
import contextlib, hashlib, json, locale, sys, time
sys.path[:0] = json.loads(sys.argv[1])
with contextlib.suppress(locale.Error):
    locale.setlocale(locale.LC_ALL, "")
from pathlib import Path
from tracker.report.pack import FORMATS, render
from tracker.services.pack_codec import read_pack
content = read_pack(Path(sys.argv[2]).read_bytes())
print(json.dumps({each: hashlib.sha256(render(content, each)).hexdigest() for each in FORMATS}))
"""

_PLACES = (
    {"TZ": "Pacific/Kiritimati", "LC_ALL": "C", "PYTHONHASHSEED": "1", "HOME": "/nowhere"},
    {
        "TZ": "America/St_Johns",
        "LC_ALL": "de_DE.UTF-8",
        "LANG": "tr_TR.UTF-8",
        "PYTHONHASHSEED": "77",
        "SOURCE_DATE_EPOCH": "1",
    },
)


def test_bytes_depend_on_the_content_alone(tmp_path: Path) -> None:
    content = filled(HOSTILE)
    frozen = tmp_path / "pack.json"
    frozen.write_bytes(pack_bytes(content))
    here = {each: hashlib.sha256(render(content, each)).hexdigest() for each in FORMATS}
    for number, place in enumerate(_PLACES):
        folder = tmp_path / f"folder {number} ä"
        folder.mkdir()
        told = subprocess.run(
            [sys.executable, "-c", _SCRIPT, json.dumps(sys.path), str(frozen)],
            cwd=folder,
            env={"PATH": os.environ["PATH"], "TMPDIR": str(folder), **place},
            capture_output=True,
            text=True,
            check=False,
        )
        assert told.returncode == 0, told.stderr
        assert json.loads(told.stdout) == here


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
