"""export: every format by the name of the file, for one item, an area or all, over a period."""

from __future__ import annotations

import io
import json
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tracker.app import main
from tracker.bootstrap import make_programme
from tracker.report.history.render import WRITERS
from tracker.services.actions import add_items, set_values

ITEMS: list[dict[str, Any]] = [
    {"kind": "quantity", "key": "length", "title": "Length", "unit": "mm", "value": "300 mm"},
    {"kind": "quantity", "key": "mass", "title": "Mass", "unit": "kg", "value": "3 kg"},
    {
        "kind": "requirement",
        "key": "LONG",
        "statement": "It must fit",
        "quantity": "length",
        "upper": "400 mm",
    },
    {"kind": "decision", "key": "D-1", "question": "How long?", "serves": ["LONG"]},
]
STARTS = {
    "md": b"# Decision history",
    "html": b"<!DOCTYPE html>",
    "pdf": b"%PDF-1.7",
    "xlsx": b"PK",
    "csv": b"revision,at,author,item,kind,what,reason,head,caution\r\n",
    "csv.zip": b"PK",
    "history.json": b'{\n "format": "whybone-history"',
    "prov.json": b'{\n "prefix"',
    "graphml": b"<?xml version='1.0' encoding='utf-8'?>",
    "json": b'{\n  "format": "whybone-items"',
}

Export = Callable[..., tuple[int, bytes, str]]


@pytest.fixture
def export(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfdbinary: pytest.CaptureFixture[bytes]
) -> Export:
    """Run `export` on a programme of three changes."""
    session = make_programme(tmp_path / "p.db", "Small", "EUR", who="Ann")
    add_items(session, ITEMS, "start")
    set_values(session, {"length": "310 mm"}, "longer")
    session.store.close()
    monkeypatch.setenv("WHYBONE_PROGRAM", str(tmp_path / "p.db"))
    monkeypatch.setenv("WHYBONE_AUTHOR", "Ann")

    def run(*args: str) -> tuple[int, bytes, str]:
        code = main(("export", *args))
        told = capfdbinary.readouterr()
        return code, told.out, told.err.decode()

    return run


@pytest.mark.parametrize("form", [*WRITERS, "prov.json", "graphml", "json"])
def test_the_name_of_the_file_says_what_is_written(
    export: Export, form: str, tmp_path: Path
) -> None:
    place = tmp_path / f"History.of.us.{form.upper()}"
    code, out, _ = export(str(place), "--json")
    assert code == 0
    told = json.loads(out)
    assert (told["format"], told["revision"]) == (form, 3)
    assert place.read_bytes().startswith(STARTS[form])
    code, out, _ = export("-", "--format", form)
    assert code == 0
    assert out == place.read_bytes()


def test_an_item_and_a_period_narrow_it(export: Export) -> None:
    _, out, _ = export("-", "--format", "csv", "--item", "length", "--from", "3")
    assert out.decode().splitlines()[1:] == [
        line for line in out.decode().splitlines() if line.startswith("3,")
    ]
    _, out, _ = export("-", "--format", "history.json", "--area", "LONG", "--to", "2")
    told = json.loads(out)
    assert told["revision"] == 2
    assert [each["key"] for each in told["items"]] == ["LONG", "D-1"]
    assert told["items"][0]["findings"][0]["value"] == 300.0
    _, out, _ = export("-", "--format", "graphml", "--item", "mass")
    assert out.count(b"<node ") == 1
    _, out, _ = export("-", "--format", "prov.json", "--item", "mass", "--from", "2", "--to", "2")
    assert len(json.loads(out)["activity"]) == 1


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("-", "--format", "md", "--item", "no"), "nothing is called 'no'"),
        (("-", "--format", "md", "--item", "mass", "--area", "mass"), "Say one of them"),
        (("-", "--format", "md", "--from", "4"), "no change lies between"),
        (("-", "--format", "json", "--item", "mass"), "items are written whole"),
        (("notes.txt",), "its name does not say what it holds"),
        (("-", "--format", "pdf", "--json"), "standard output holds the JSON answer already"),
    ],
)
def test_what_makes_no_sense_is_refused(export: Export, args: tuple[str, ...], said: str) -> None:
    code, out, err = export(*args)
    assert code == 2
    assert said in err or said.encode() in out


def test_a_terminal_gets_no_bytes_it_cannot_show(
    export: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Terminal(io.TextIOWrapper):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr(sys, "stdout", Terminal(io.BytesIO(), encoding="utf-8"))
    code, _, err = export("-", "--format", "pdf")
    assert code == 2
    assert "a terminal cannot show it" in err


def test_members_of_the_archive_are_the_tables(export: Export, tmp_path: Path) -> None:
    export(str(tmp_path / "h.csv.zip"))
    with zipfile.ZipFile(tmp_path / "h.csv.zip") as archive:
        names = archive.namelist()
    assert names[:2] == ["cautions.csv", "document.csv"]
    assert "changes-items.csv" in names
