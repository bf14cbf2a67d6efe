"""The demo's packs: every figure comes from the journal, and nothing else is ever packed."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import tracker.report
from demo_program.story import EVIDENCE
from tracker.app import main
from tracker.cli.commands.gates import FORMATS as TAKEN
from tracker.evaluate.engine import Engine
from tracker.host.catalogue import EntryPoints
from tracker.model.records import Baseline, Decision, Gate
from tracker.report.pack import FORMATS
from tracker.services.gates.freezing import frozen_pack
from tracker.services.packs.codec import pack_bytes
from tracker.services.packs.content import versions_of
from tracker.services.packs.decisions import About, decision_page
from tracker.services.packs.findings import PackSource
from tracker.services.packs.headroom import headroom_by_decision
from tracker.services.packs.parts import PackFinding
from tracker.services.packs.schema import pack_schema
from tracker.services.packs.tables import quantity_row
from tracker.services.packs.trace import Trace
from tracker.services.packs.views import PackContent, PackDecision
from tracker.services.session import Reading, Session, past

Cli = Callable[..., Any]
SCHEMA = Path(tracker.report.__path__[0]) / "pack.schema.json"


@pytest.fixture(params=["G1", "G2"])
def content(request: pytest.FixtureRequest, demo: Session) -> PackContent:
    return frozen_pack(demo, request.param)


def test_two_gates_are_frozen_and_one_is_to_come(demo: Session) -> None:
    frozen = {demo.programme.at(each.gate, Gate).key for each in demo.programme.of(Baseline)}
    assert frozen == {"G1", "G2"}
    ready = {each.key: each.ready for each in demo.programme.of(Baseline)}
    assert ready == {"G1-1": True, "G2-1": False}
    assert demo.programme.named("G3", Gate).date == "2026-12-18"


def test_a_pack_has_something_of_everything(demo: Session) -> None:
    pack = frozen_pack(demo, "G2")
    assert len(pack.requirements) > 40
    assert len(pack.matrix) >= len(pack.requirements)
    assert len(pack.changes) > 30
    assert pack.changes[0].reasons
    assert {each.state for each in pack.evidence} == {"not checked"}
    assert [each.key for each in pack.risks] == ["RISK-GEAR"]
    assert [each.closed for each in pack.actions] == [""]
    assert len(pack.signatures) == 4
    assert {each.kind for page in pack.decisions for each in page.figures} >= {"curve", "sketch"}
    arm = next(each for each in pack.decisions if each.key == "D-LOWER-ARM")
    assert [who for who, _ in arm.dissent] == ["Ilse"]
    assert len(arm.assumptions) == 2
    assert len(arm.participants) == 4
    certified = {each.certified for page in pack.decisions for each in page.headroom}
    assert certified == {True, False}


# A pack never claims what the journal does not hold.


@pytest.fixture
def then(demo: Session) -> Callable[[int], PackSource]:
    """Open an earlier revision, once each."""

    @cache
    def source(revision: int) -> PackSource:
        reading = past(demo, revision)
        return PackSource(reading, Trace(reading))

    return source


def findings_of(content: PackContent) -> Iterator[PackFinding]:
    for each in content.requirements:
        yield each.finding
    yield from content.rules
    for page in content.decisions:
        yield from page.findings


def shown(finding: PackFinding) -> tuple[object, ...]:
    return (
        *(finding.judge, finding.subject, finding.required, finding.verdict, finding.text),
        *(finding.unit, finding.value, finding.margin, finding.percent, finding.distance),
        *(finding.margin_text, finding.bound, finding.lower, finding.upper, finding.revision),
    )


def findings_at(source: PackSource) -> dict[str, tuple[object, ...]]:
    places = range(len(source.reading.engine.graph.judges))
    return {each.judge: shown(each) for each in map(source.finding, places)}


def test_every_verdict_traces_to_its_revision(
    content: PackContent, then: Callable[[int], PackSource]
) -> None:
    held: dict[int, dict[str, tuple[object, ...]]] = {}
    for each in findings_of(content):
        assert 0 < each.revision <= content.cover.revision
        if each.revision not in held:
            held[each.revision] = findings_at(then(each.revision))
        assert held[each.revision][each.judge] == shown(each)
    assert len(held) > 1


def test_every_value_traces_to_its_revision(
    content: PackContent, then: Callable[[int], PackSource]
) -> None:
    for row in content.quantities:
        source = then(row.revision)
        record = source.reading.programme.find(row.key)
        assert quantity_row(source, record) == row  # type: ignore[arg-type] # a quantity
    for page in content.decisions:
        for ground in page.grounds:
            record = then(ground.revision).reading.programme.find(ground.quantity)
            row = quantity_row(then(ground.revision), record)  # type: ignore[arg-type] # a quantity
            assert (row.value, row.text, row.basis, row.basis_source, row.dated) == (
                *(ground.value, ground.text, ground.basis, ground.source, ground.dated),
            )


def test_every_drawing_traces_to_its_revision(
    content: PackContent, then: Callable[[int], PackSource]
) -> None:
    drawn = [(page.key, each) for page in content.decisions for each in page.figures]
    for key, figure in drawn:
        source = then(figure.revision)
        decision = source.reading.programme.named(key, Decision)
        page = decision_page(source, decision, About.of(source), ())
        assert figure in page.figures


def test_every_headroom_traces_to_its_revision(
    content: PackContent, then: Callable[[int], PackSource]
) -> None:
    reading = then(content.cover.revision).reading
    found = headroom_by_decision(reading, None, None)
    told = {each.key: each.headroom for each in content.decisions if each.headroom}
    assert {reading.programme.at(each, Decision).key: found[each] for each in found} == told
    assert {e.revision for lines in told.values() for e in lines} == {content.cover.revision}


def test_every_record_is_the_one_its_revision_put(
    demo: Session, content: PackContent, then: Callable[[int], PackSource]
) -> None:
    whole = past(demo, content.cover.revision)
    rows = (
        *(content.requirements, content.decisions, content.checks, content.deviations),
        *(content.risks, content.actions, content.evidence),
    )
    for row in (each for kind in rows for each in kind):
        record = whole.programme.find(row.key)
        assert record is not None
        assert then(row.revision).reading.programme.get(record.id) == record
        changes = [each.revision for each in demo.store.touching(record.id)]
        assert row.revision in changes


def test_every_line_of_history_stands_in_the_journal(demo: Session, content: PackContent) -> None:
    journal = {each.revision: each for each in demo.store.changes()}
    pages = [each.history for each in content.decisions]
    for line in (
        line for lines in (*pages, *(e.reasons for e in content.changes)) for line in lines
    ):
        change = journal[line.revision]
        assert (line.at, line.author, line.reason) == (change.at, change.author, change.reason)
        assert line.revision <= content.cover.revision
    cover = content.cover
    assert journal[cover.revision].hash == cover.head
    freeze = journal[cover.revision + 1]
    assert (freeze.at, freeze.author, freeze.reason) == (
        *(cover.frozen_at, cover.author, cover.reason),
    )
    assert {each.name: each.version for each in cover.versions} == versions_of(
        past(demo, cover.revision)
    )


def test_options_hold_what_a_reading_of_that_revision_finds(
    demo: Session, content: PackContent
) -> None:
    reading: Reading = past(demo, content.cover.revision)
    source = PackSource(reading, Trace(reading))
    about = About.of(source)
    for page in content.decisions:
        decision = reading.programme.named(page.key, Decision)
        again: PackDecision = decision_page(source, decision, about, page.headroom)
        assert again == page


def test_changes_are_those_since_the_gate_before(demo: Session) -> None:
    first, second = frozen_pack(demo, "G1"), frozen_pack(demo, "G2")
    assert first.changes == ()
    assert second.cover.previous == "G1-1"
    assert second.cover.previous_revision == first.cover.revision
    for each in second.changes:
        assert each.words, each.key
        assert all(line.revision > first.cover.revision for line in each.reasons), each.key
        assert each.reasons, each.key


# JSON and its schema.


def test_the_published_schema_is_the_one_of_the_classes() -> None:
    assert json.loads(SCHEMA.read_text(encoding="utf-8")) == pack_schema()


def test_a_pack_is_valid_against_the_published_schema(content: PackContent) -> None:
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    plain = json.loads(pack_bytes(content))
    jsonschema.validate(plain, schema, cls=jsonschema.Draft202012Validator)
    del plain["cover"]["head"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(plain, schema, cls=jsonschema.Draft202012Validator)


def test_the_commands_take_the_formats_there_are() -> None:
    assert TAKEN == FORMATS


# Tampering is refused, and where is said.

_GUARDS = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"


@pytest.fixture
def place(demo_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    copied = Path(shutil.copy(demo_file, tmp_path / demo_file.name))
    monkeypatch.setenv("WHYBONE_PROGRAM", str(copied))
    monkeypatch.setenv("WHYBONE_AUTHOR", "tester")
    return copied


def damage(place: Path, statement: str) -> None:
    """Change a row past the guards, which are there again afterwards."""
    connection = sqlite3.connect(place)
    guards = connection.execute(_GUARDS).fetchall()
    for name, _ in guards:
        connection.execute(f"DROP TRIGGER {name}")
    assert connection.execute(statement).rowcount == 1
    for _, sql in guards:
        connection.execute(sql)
    connection.commit()
    connection.close()


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        (
            "UPDATE journal_change SET reason = 'all is well' WHERE revision = 20",
            "revision 20",
        ),
        (
            (
                "UPDATE baseline_content SET body = zeroblob(length(body)) WHERE rowid ="
                " (SELECT min(rowid) FROM baseline_content)"
            ),
            "content",
        ),
        (
            "DELETE FROM baseline_content WHERE rowid = (SELECT min(rowid) FROM baseline_content)",
            "content",
        ),
        ("UPDATE baseline SET revision = 3 WHERE revision < 50", "baseline"),
        ("UPDATE head SET revision = revision - 1", "revision"),
    ],
    ids=["journal", "content", "no content", "projection", "head"],
)
def test_nothing_is_packed_from_a_damaged_store(
    place: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    statement: str,
    words: str,
) -> None:
    damage(place, statement)
    out = tmp_path / "packs"
    assert main(["gate", "pack", "G1", "--out", str(out), "--format", "json", "--json"]) == 4
    told = json.loads(capsys.readouterr().out)["error"]
    assert told["code"] == "store-damaged"
    assert words in told["message"] + told["item"]
    assert not out.exists()


# From the command line, end to end.


def criteria(cli: Cli, gate: str) -> dict[str, list[str]]:
    told = cli("gate", "show", gate)
    return {
        each["name"]: [f"{one['key']}: {one['why']}" for one in each["offenders"]]
        for each in told["criteria"]
    }


def test_the_list_of_gates(cli: Cli) -> None:
    told = cli("gate", "list")
    assert [
        {name: each[name] for name in ("key", "date", "ready", "baseline")}
        for each in told["gates"]
    ] == [
        {"key": "G1", "date": "2025-05-30", "ready": True, "baseline": "G1-1"},
        {"key": "G2", "date": "2025-11-28", "ready": False, "baseline": "G2-1"},
        {"key": "G3", "date": "2026-12-18", "ready": False, "baseline": ""},
        {"key": "G4", "date": "2027-11-19", "ready": False, "baseline": ""},
    ]
    assert told["next"] == "G3"
    assert "requirements-met" in told["gates"][2]["blocked_by"]


def test_a_deviation_covers_until_its_gate_is_frozen(cli: Cli) -> None:
    missed = "TURN-FLEET: missed"
    assert not any(each.startswith(missed) for each in criteria(cli, "G3")["requirements-met"])
    assert any(each.startswith(missed) for each in criteria(cli, "G4")["requirements-met"])
    frozen = cli("gate", "freeze", "G3", "--why", "The tools cannot wait for the console")
    assert (frozen["baseline"], frozen["ready"]) == ("G3-1", False)
    (bitten,) = [
        each for each in criteria(cli, "G4")["requirements-met"] if each.startswith(missed)
    ]
    assert bitten.endswith("DEV-TURN has expired at G3")


def test_evidence_that_changed_or_is_gone_is_reported(
    cli: Cli, demo_file: Path, tmp_path: Path
) -> None:
    gone = criteria(cli, "G3")["evidence-intact"]
    assert gone == ["E-BELT-RIG: there is no such file any more"]
    folder = Path(shutil.copytree(demo_file.parent / EVIDENCE, tmp_path / EVIDENCE))
    assert criteria(cli, "G3")["evidence-intact"] == []
    (file,) = folder.iterdir()
    file.write_text(file.read_text().replace("93.1", "93.2"))
    changed = criteria(cli, "G3")["evidence-intact"]
    assert changed == ["E-BELT-RIG: the file is not what it was: its hash differs"]
    cli("gate", "freeze", "G3", "--why", "all the same")
    cli("gate", "pack", "G3", "--format", "json", "--out", str(tmp_path / "packs"))
    pack = json.loads((tmp_path / "packs" / "G3-1.json").read_text())
    states = {each["key"]: each["state"] for each in pack["evidence"]}
    assert states == {"E-GEAR": "not checked", "E-BELT-RIG": "changed"}


def test_a_shifted_decision_is_reviewed_and_the_pack_tells(cli: Cli, tmp_path: Path) -> None:
    shifted = criteria(cli, "G3")["decisions-unshifted"]
    assert [each.partition(":")[0] for each in shifted] == ["D-KNUCKLE"]
    cli("review", "D-KNUCKLE", "--why", "Dearer gauges and two links; the forces still hold")
    assert criteria(cli, "G3")["decisions-unshifted"] == []
    cli("gate", "freeze", "G3", "--why", "all the same")
    cli("gate", "pack", "G3", "--format", "json", "--out", str(tmp_path))
    pack = json.loads((tmp_path / "G3-1.json").read_text())
    page = next(each for each in pack["decisions"] if each["key"] == "D-KNUCKLE")
    assert not page["shifted"]
    assert page["history"][-1]["reason"].startswith("Dearer gauges")
    assert (page["reviews"][-1]["by"], page["reviews"][-1]["outcome"]) == ("tester", "confirmed")
    change = next(each for each in pack["changes"] if each["key"] == "D-KNUCKLE")
    assert change["reasons"][-1]["reason"].startswith("Dearer gauges")


def test_a_superseded_decision_names_its_heir_and_is_owed_no_more(cli: Cli, tmp_path: Path) -> None:
    assert not any(each.startswith("D-VALVE") for each in criteria(cli, "G3")["decisions-settled"])
    cli("gate", "freeze", "G3", "--why", "all the same")
    cli("gate", "pack", "G3", "--format", "json", "--out", str(tmp_path))
    pages = {
        each["key"]: each for each in json.loads((tmp_path / "G3-1.json").read_text())["decisions"]
    }
    assert (pages["D-VALVE"]["state"], pages["D-VALVE"]["superseded_by"]) == (
        *("withdrawn", "D-REAR-BRAKE"),
    )
    assert pages["D-REAR-BRAKE"]["supersedes"] == ["D-VALVE"]
    assert pages["D-VALVE"]["history"][-1]["reason"].startswith("Not a question any more")


def test_packing_twice_gives_the_same_files_and_computes_nothing(
    cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No check is loaded or run: there is nothing that could do it."""

    def refused(*_: object, **__: object) -> None:
        raise AssertionError("packing evaluates nothing")

    monkeypatch.setattr(Engine, "__init__", refused)
    monkeypatch.setattr(EntryPoints, "load", refused)
    first = cli("gate", "pack", "G2", "--format", "md", "--format", "json", "--out", str(tmp_path))
    assert [each["format"] for each in first["files"]] == ["md", "json"]
    again = cli("gate", "pack", "G2", "--format", "md", "--format", "json", "--out", str(tmp_path))
    assert again == first
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    named = cli(
        "gate", "pack", "G2", "--baseline", "G2-1", "--format", "md", "--out", str(tmp_path)
    )
    assert named["files"] == first["files"][:1]


def test_a_file_that_holds_something_else_is_kept(
    place: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "G1-1.json").write_text("mine")
    pack = ["gate", "pack", "G1", "--format", "json", "--out", str(tmp_path)]
    assert main(pack) == 2
    assert (tmp_path / "G1-1.json").read_text() == "mine"
    assert main([*pack, "--force"]) == 0
    assert json.loads((tmp_path / "G1-1.json").read_text())["cover"]["gate"] == "G1"
    (tmp_path / "file").write_text("in the way")
    assert main(["gate", "pack", "G1", "--format", "json", "--out", str(tmp_path / "file")]) == 2
    assert place.exists()
    assert "cannot be written" in capsys.readouterr().err


def test_readiness_is_shown_as_it_was(cli: Cli) -> None:
    """What the journal held at a freeze is what the baseline says was shown."""
    frozen = cli("gate", "show", "G2")["baselines"][0]
    then = cli("at", str(frozen["revision"]), "gate", "show", "G2")
    assert then["revision"] == frozen["revision"]
    assert then["ready"] == frozen["ready"]
    assert then["baselines"] == []
    early = cli("at", "20", "gate", "list")
    assert (early["next"], early["revision"]) == ("G1", 20)
    assert not any(each["baseline"] for each in early["gates"])


def test_gates_compare_by_name(cli: Cli) -> None:
    by_gate = cli("gate", "compare", "G1", "G2")
    assert by_gate == cli("compare", "G1-1", "G2-1")
    assert by_gate["items"][0]["consequence"] in {"broken", "missed", "unproven", "unknown"}
    assert cli("compare", "26", "G2")["earlier"] == 26
