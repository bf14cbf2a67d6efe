"""The story replays, change by change, to the same head wherever it is told."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_program import story
from demo_program.story import EVIDENCE, FILE_NAME, changes, make_demo, perform
from tracker.bootstrap import open_session
from tracker.errors import InputError, StoreUnreachableError
from tracker.model.records import CheckUse, Decision, Evidence, Quantity
from tracker.services.item import item_page
from tracker.services.journal import compare, journal_page
from tracker.services.overview import overview
from tracker.services.session import Session

ACTIONS = {
    "add",
    "set",
    "lean",
    "settle",
    "reopen",
    "review",
    "amend",
    "supersede",
    "freeze",
    "undo",
}
FIELDS = ACTIONS | {"at", "author", "why", "against", "fields", "basis"}
ITERATED = {
    "ball-joint-moment",
    "camber-travel",
    "joint-angles",
    "ratio-band",
    "rear-links",
    "roll-steer",
    "steering-axis",
}
HEAD = """
import sys
from pathlib import Path
from demo_program.story import make_demo
from tracker.bootstrap import open_session
print(open_session(make_demo(Path(sys.argv[1]))).head.hash)
"""


def documents() -> Iterator[tuple[story.Telling, story.Telling]]:
    for telling in changes():
        for document in telling.get("add", ()):
            yield telling, document


def dates(part: object) -> Iterator[str]:
    if isinstance(part, dict):
        if part.get("dated"):
            yield part["dated"]
        for each in part.values():
            yield from dates(each)
    if isinstance(part, list):
        for each in part:
            yield from dates(each)


def test_every_change_of_the_story_is_one_change_of_the_journal(demo: Session) -> None:
    told = list(changes())
    stored = journal_page(demo, limit=len(told) + 1).lines[::-1]
    assert len(stored) == len(told) + 1  # the first one makes the programme
    assert [(line.author, line.at) for line in stored[1:]] == [
        (each["author"], each["at"]) for each in told
    ]
    for line, telling in zip(stored[1:], told, strict=True):
        assert line.reason == telling.get("why", f"undo revision {line.undoes}")


def test_a_change_does_one_thing_and_says_why() -> None:
    for telling in changes():
        assert len(ACTIONS & set(telling)) == 1, telling["at"]
        assert set(telling) <= FIELDS, telling["at"]
        assert bool(telling.get("why")) is not bool(telling.get("undo")), telling["at"]


def test_time_runs_forward_and_no_source_is_younger_than_its_change() -> None:
    times = [telling["at"] for telling in changes()]
    assert times == sorted(set(times))
    for telling in changes():
        assert all(each <= telling["at"][:10] for each in dates(dict(telling))), telling["at"]


def test_every_reason_of_a_settled_option_is_given_by_the_story() -> None:
    options: dict[str, set[str]] = {}
    for telling in changes():
        stated = [each for each in telling.get("add", ()) if each["kind"] == "decision"]
        if "options" in telling.get("fields", {}):
            stated.append({"key": telling["amend"], **telling["fields"]})
        options |= {each["key"]: {way["key"] for way in each["options"]} for each in stated}
        decision, _, option = telling.get("settle", "").partition("/")
        others = options.get(decision, set()) - {option}
        assert set(telling.get("against", ())) == others, telling["at"]


def test_nothing_is_settled_that_does_not_hold_on_that_day(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settled: dict[str, str] = {}

    def watched(session: Session, telling: story.Telling) -> object:
        done = perform(session, telling)
        key = telling.get("settle", "").partition("/")[0]
        if key:
            line = next(each for each in overview(session).decisions if each.key == key)
            settled[f"{telling['at']} {key}"] = line.standing
        return done

    monkeypatch.setattr(story, "perform", watched)
    make_demo(tmp_path)
    assert len(settled) > 12
    assert set(settled.values()) <= {"stands", "strained"}, settled


def test_the_journal_holds(demo: Session) -> None:
    report = demo.store.audit(expect=demo.head.hash)
    assert report.problems == ()
    assert report.revisions == demo.head.revision


def test_the_head_is_the_same_wherever_the_story_is_told(demo: Session, tmp_path: Path) -> None:
    again = open_session(make_demo(tmp_path / "again"), "somebody else")
    assert again.head == demo.head
    again.store.close()


@pytest.mark.parametrize(
    "elsewhere",
    [
        {"PYTHONHASHSEED": "4711", "TZ": "Pacific/Auckland", "LC_ALL": "C"},
        {"OPENBLAS_CORETYPE": "Nehalem", "NPY_DISABLE_CPU_FEATURES": "AVX2 FMA3"},
    ],
    ids=["another place", "an older processor"],
)
def test_the_head_is_the_same_on_another_machine(
    demo: Session, tmp_path: Path, elsewhere: dict[str, str]
) -> None:
    ran = subprocess.run(
        [sys.executable, "-c", HEAD, str(tmp_path / "elsewhere")],
        env={**os.environ, **elsewhere, "WHYBONE_TRACES": ""},
        capture_output=True,
        text=True,
        check=True,
    )
    assert ran.stdout.strip() == demo.head.hash


def test_it_never_overwrites(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).write_text("mine")
    with pytest.raises(StoreUnreachableError, match="already"):
        make_demo(tmp_path)
    assert (tmp_path / FILE_NAME).read_text() == "mine"


def test_a_place_that_cannot_be_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StoreUnreachableError, match="no file can be made there"):
        make_demo(tmp_path / "file" / "below")


def test_a_story_that_breaks_off_leaves_no_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bad = {"at": "2025-02-03T09:00:00Z", "author": "Ada", "why": "typo", "settle": "D-X/y"}
    monkeypatch.setattr(story, "changes", lambda: iter([bad | {"against": {}}]))
    with pytest.raises(InputError, match="D-X"):
        make_demo(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_the_evidence_it_names_is_put_beside_it(demo_file: Path, demo: Session) -> None:
    files = demo.tools.files
    assert files is not None
    kept = [each for each in demo.programme.of(Evidence) if each.sha256]
    assert [each.place for each in kept] == [f"{EVIDENCE}/belt-rig-2025-12-15.csv"]
    assert all(files.digest(each.place) == each.sha256 for each in kept)
    rows = (demo_file.parent / kept[0].place).read_text().splitlines()
    mean = [float(cell) for cell in rows[-1].split(",")[1:]]
    stated = ("cornering_front", "cornering_rear", "loaded_radius")
    assert mean == [item_page(demo, key).value for key in stated]


def test_a_telling_without_an_action_is_refused(own_demo: Session) -> None:
    with pytest.raises(ValueError, match="does nothing known"):
        perform(own_demo, {"at": "2025-02-03T09:00:00Z", "author": "Ada", "setle": "D-X/y"})


def test_the_undone_change_left_nothing(demo: Session) -> None:
    lines = journal_page(demo, limit=300).lines
    (undo,) = [line for line in lines if line.undoes]
    assert "35000" in "".join(next(line for line in lines if line.revision == undo.undoes).what)
    found = compare(demo, undo.undoes - 1, undo.revision)
    assert (found.items, found.standings, found.findings) == ((), (), ())
    slip = compare(demo, undo.undoes - 1, undo.undoes)
    assert [each.decision for each in slip.standings if each.after == "broken"]


def test_the_lower_arm_was_settled_reopened_and_settled_otherwise() -> None:
    told = [
        (verb, telling[verb])
        for telling in changes()
        for verb in ("settle", "reopen")
        if telling.get(verb, "").startswith("D-LOWER-ARM")
    ]
    assert told == [
        ("settle", "D-LOWER-ARM/one-piece"),
        ("reopen", "D-LOWER-ARM"),
        ("settle", "D-LOWER-ARM/split"),
    ]


def test_no_footing_holds_what_a_linkage_computed(demo: Session) -> None:
    """Iterated values may differ in the last bit from machine to machine, and so would the head."""
    programme = demo.programme
    uses = list(programme.of(CheckUse))
    iterated = {
        quantity
        for use in uses
        if use.plugin in ITERATED
        for port, quantity in use.outputs.items()
        if port != "crossing"  # where two given lines cross: a few products, no iteration
    }
    while True:
        grown = {
            quantity
            for use in uses
            if iterated & {ref.id for ref in use.inputs.values()} and use.plugin not in ITERATED
            for quantity in use.outputs.values()
        }
        if grown <= iterated:
            break
        iterated |= grown
    assert programme.named("upper_joint_force", Quantity).id in iterated
    for decision in programme.of(Decision):
        if decision.footing is not None:
            stood_on = {name.partition("|")[0] for name in decision.footing.values}
            assert not stood_on & iterated, decision.key
