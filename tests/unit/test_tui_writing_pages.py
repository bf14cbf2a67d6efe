"""Gate, comparison, preview and path list as lines: whole, safe, and readable in ASCII."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tracker.services.change_views import Comparison, ItemChange, StandingChange
from tracker.services.filtering import FilteredLine
from tracker.services.gates.views import BaselineLine, CriterionView, GatePage, OffenderView
from tracker.services.views import HistoryLine, ListLine
from tracker.tui.face import Face
from tracker.tui.layout.differing import differing_lines
from tracker.tui.layout.gate import gate_lines
from tracker.tui.layout.paper import Fixed
from tracker.tui.layout.taking_in import Preview, preview_lines
from tracker.tui.paths import MOST, look, path_typed

HOSTILE = "[@click=app.quit]x[/]\x1b[31m\u202e\u2028\x9b\u200b ж" + "w" * 300

CRITERIA = (
    CriterionView(name="a", title="All met", setting="yes", result="met"),
    CriterionView(
        name="b",
        title="Known at least this well",
        setting="estimate",
        result="not met",
        offenders=(OffenderView(key="q", kind="quantity", title=HOSTILE, why=HOSTILE),),
    ),
    CriterionView(name="c", title="Not asked", setting="no", result="set aside"),
)
BASELINE = BaselineLine(
    key="G1-1", gate="G1", frozen=8, at="2031-01-01T00:00:00Z", author="Ada", reason=HOSTILE,
    revision=7, head="ab" * 32, content="cd" * 32, ready=False,
)  # fmt: skip
DUE = (FilteredLine(kind="action", line=ListLine(key="A-1", title=HOSTILE, sign="", text="open")),)


def gate(*, ready: bool = False, criteria: tuple[CriterionView, ...] = CRITERIA) -> GatePage:
    return GatePage(
        revision=9, key="G1", title="Concept", date="2031-03-01", due=("q",), ready=ready,
        criteria=criteria, baselines=(BASELINE,) if criteria else (), caution="",
    )  # fmt: skip


def texts(page: Fixed) -> list[str]:
    return [page.line(at).text for at in range(len(page))]


def comparison(*, empty: bool = False) -> Comparison:
    if empty:
        return Comparison(
            earlier=1, later=2, standings=(), look=(), findings=(), items=(), caution=""
        )
    why = HistoryLine(revision=3, at="", author="Ada", reason=HOSTILE, what=())
    item = ItemChange(
        key="q", kind="quantity", what=(HOSTILE,), title=HOSTILE, consequence="broken",
        reasons=(why,),
    )  # fmt: skip
    new = ItemChange(key="n", kind="gate", what=(), consequence="new")
    return Comparison(
        earlier=1, later=2, look=("D-2",), findings=(), items=(item, new), caution="",
        standings=(StandingChange(decision="D-1", before="", after="broken", why=HOSTILE),),
    )  # fmt: skip


@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize("width", [79, 119, 159])
def test_every_page_is_safe_and_as_wide_as_the_terminal(width: int, *, ascii_only: bool) -> None:
    face = Face(ascii_only=ascii_only)
    preview = Preview(name=HOSTILE, counts={"gate": 2}, problems=(HOSTILE, "line 3"))
    pages = (
        gate_lines(gate(), DUE, width, face, "Freezing"),
        differing_lines(comparison(), width, face),
        preview_lines(preview, width, face),
    )
    for page in pages:
        for text in texts(page):
            assert len(text) <= width
            assert text.isprintable()
            assert not ascii_only or text.isascii()


def test_a_gate_says_what_offends_first_and_opens_it() -> None:
    page = gate_lines(gate(), DUE, 100, Face())
    shown = texts(page)
    assert "1 of 2 criteria met; 1 items due here or earlier" in shown[1]
    first = next(at for at, text in enumerate(shown) if "Known at least this well" in text)
    assert "(estimate)" in shown[first]
    assert page.line(first + 1).target == "q"
    assert [each for each in shown if "set aside" in each]
    targets = [page.line(at).target for at in range(len(page)) if page.line(at).target]
    assert targets == ["q", "A-1", "G1-1"]


def test_a_gate_that_asks_nothing_is_ready_and_has_nothing_frozen() -> None:
    shown = "\n".join(texts(gate_lines(gate(ready=True, criteria=()), (), 100, Face())))
    assert "● ready" in shown
    assert "Nothing yet" in shown
    assert "None." in shown


def test_a_comparison_says_so_when_nothing_differs() -> None:
    assert texts(differing_lines(comparison(empty=True), 80, Face()))[-1] == "Nothing differs."


def test_a_preview_without_a_problem_counts_what_comes() -> None:
    shown = texts(
        preview_lines(Preview(name="a.csv", counts={"quantity": 2}, updates=True), 80, Face())
    )
    assert shown == ["a.csv adds or sets 2 of kind quantity"]


def test_a_folder_lists_what_begins_as_typed(tmp_path: Path) -> None:
    for name in ("Alpha.csv", "alps.json", "beta.csv", ".hidden.csv", "alarm.txt"):
        (tmp_path / name).write_text("")
    (tmp_path / "alcove").mkdir()
    names = [each.name for each in look(f"{tmp_path}/al", (".csv", ".json")).entries]
    assert names == ["alcove/", "Alpha.csv", "alps.json"]
    assert [each.name for each in look(f"{tmp_path}/al", folders=True).entries] == ["alcove/"]
    assert [each.name for each in look(f"{tmp_path}/.h").entries] == [".hidden.csv"]
    assert "alarm.txt" in [each.name for each in look(f"{tmp_path}/").entries]


def test_a_name_that_hides_something_is_shown_and_found_again(tmp_path: Path) -> None:
    strange = "a\x1b[2J\n\u202e.csv"
    (tmp_path / strange).write_text("x")
    os.close(os.open(os.fsencode(str(tmp_path)) + b"/a\xff.csv", os.O_CREAT))
    entries = look(f"{tmp_path}/").entries
    assert all(each.text.isprintable() for each in entries)
    assert {each.raw for each in entries} == {
        f"{tmp_path}/{strange}", f"{tmp_path}/a\udcff.csv",
    }  # fmt: skip


def test_a_long_folder_is_cut_and_a_wrong_one_named(tmp_path: Path) -> None:
    for number in range(MOST + 3):
        (tmp_path / f"f{number}").touch()
    found = look(f"{tmp_path}/")
    assert (len(found.entries), found.more) == (MOST, 3)
    assert look(f"{tmp_path}/none/x").trouble == "No such file or directory"
    assert look("a\0/b").trouble


def test_a_tilde_is_the_home_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    assert path_typed("~/x") == tmp_path / "x"
    assert path_typed("~nobody-at-all/x") == Path("~nobody-at-all/x")
