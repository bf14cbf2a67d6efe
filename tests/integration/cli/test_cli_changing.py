"""set, try, add, amend, undo and the life of a decision."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.integration.cli.conftest import GAPS, Cli
from tracker.services.wording import CAUTION

SIDES = json.dumps(
    [{"key": each[0], "title": each, "settings": {"side": each}} for each in ("left", "right")]
)


def test_try_has_the_promised_keys_and_stores_nothing(cli: Cli, head: Callable[[], str]) -> None:
    before = head()
    told = cli("try", "volume=30000", "--json")
    ripple = told.json
    assert told.code == 1  # 360,000 pieces need six sets at 78,000: 468,000 against 200,000
    assert ripple["broken"] == ["D-1"]
    assert ripple["strained"] == ripple["restored"] == ripple["look"] == []
    assert (ripple["ran"], ripple["checks_total"]) == (1, 1)
    finding = ripple["findings"][0]
    assert finding["requirement"] == "COST-1"
    assert (finding["before"]["value"], finding["before"]["verdict"]) == (78000.0, "met")
    assert (finding["after"]["value"], finding["after"]["verdict"]) == (468000.0, "missed")
    assert finding["after"]["margin"] == pytest.approx((200000 - 468000) / 200000)
    assert ripple["caution"] == CAUTION
    assert head() == before


def test_try_exits_0_when_nothing_breaks(cli: Cli) -> None:
    told = cli("try", "volume=3600 vehicle/year")
    assert told.code == 0
    assert "Tried, not stored" in told.out
    assert CAUTION in told.out


def test_try_of_a_leaning(cli: Cli, head: Callable[[], str]) -> None:
    before = head()
    told = cli("try", "--lean", "D-1=b", "--json")
    assert (told.code, told.json["broken"]) == (1, ["D-1"])
    assert head() == before


@pytest.mark.parametrize("command", [("try",), ("set", "--why", "why not")], ids=" ".join)
def test_there_must_be_something_to_change(cli: Cli, command: tuple[str, ...]) -> None:
    told = cli(*command)
    assert told.code == 2
    assert "--lean DECISION=OPTION" in told.err


TOGETHER = ("volume=30000", "width=101", "--lean", "D-1=b")


def test_values_and_options_are_tried_together(cli: Cli, head: Callable[[], str]) -> None:
    """30,000 a year alone breaks COST-1, option b alone GAP-1 (6 mm where 8 are asked for)."""
    before = head()
    told = cli("try", *TOGETHER, "--json")
    assert (told.code, told.json["broken"]) == (1, ["D-1"])
    after = {each["requirement"]: each["after"]["value"] for each in told.json["findings"]}
    assert after == {"COST-1": 468000.0, "GAP-1": 6.0}
    assert head() == before


def test_set_stores_what_try_showed_as_one_change(cli: Cli) -> None:
    tried = cli("try", *TOGETHER, "--json").json
    stored = cli("set", *TOGETHER, "--why", "thin and many", "--basis", "quoted", "--json").json
    assert stored["revision"] == 4
    told = {name: stored["ripple"][name] for name in ("broken", "findings", "ran", "standings")}
    assert told == {name: tried[name] for name in told}
    assert "quoted" in cli("show", "width").out
    (decision,) = cli("status", "--json").json["decisions"]
    assert (decision["key"], decision["state"], decision["chosen"]) == ("D-1", "leaning", "b")


def test_an_option_of_a_settled_decision_is_set_by_reopening_it(cli: Cli) -> None:
    assert cli("settle", "D-1", "a", "--why", "safe", "--against", "b=too thin").code == 0
    stored = cli("set", "--lean", "D-1=b", "--why", "thin after all")
    assert stored.code == 0, stored.err
    assert "leaning" in cli("show", "D-1").out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--lean", "width=101"), "width is a quantity, not a decision"),
        (("--lean", "D-9=b"), "no decision is called 'D-9'"),
        (("--lean", "D-1"), "is not DECISION=OPTION"),
        (("--lean", "D-1=z"), "Options: a, b"),
        (("D-1=a", "--lean", "D-1=b"), "it stands twice"),
        (("--lean", "D-1=a", "--lean", "D-1=b"), "it stands twice"),
    ],
)
def test_what_cannot_lean_is_refused(cli: Cli, words: tuple[str, ...], said: str) -> None:
    for command in (("try", *words), ("set", *words, "--why", "why not")):
        told = cli(*command)
        assert told.code == 2
        assert said in told.err


def test_set_stores_value_basis_source_and_date(cli: Cli) -> None:
    told = cli(
        "set", "width=4.5 in", "--why", "measured it", "--basis", "measured",
        "--source", "prototype 2", "--dated", "2031-03-04", "--json",
    )  # fmt: skip
    assert told.code == 0
    assert told.json["revision"] == 4
    page = cli("show", "width", "--json").json
    # an inch is 25.4 mm exactly (ISO 80000-3, annex)
    assert page["value"] == pytest.approx(114.3)
    facts = {each["label"]: each["text"] for each in page["facts"]}
    assert (facts["basis"], facts["from"], facts["dated"]) == (
        "measured",
        "prototype 2",
        "2031-03-04",
    )
    assert page["history"][-1]["reason"] == "measured it"


def test_set_reaches_components_cells_bounds_and_options(cli: Cli) -> None:
    told = cli(
        "set", "joint.z=207", "parts[knuckle].set_cost=80000", "COST-1.upper=300000",
        "D-1/b.gap=9 mm", "--why", "supplier's second offer",
    )  # fmt: skip
    assert told.code == 0, told.err
    assert cli("show", "joint", "--json").json["value"] == [8.0, 728.0, 207.0]
    assert cli("show", "tooling", "--json").json["value"] == 80000.0
    found = {each["key"]: each for each in cli("status", "--json").json["requirements"]}
    assert found["COST-1"]["upper"] == 300000.0
    assert cli("try", "--lean", "D-1=b").code == 0


def test_set_takes_rows_as_json(cli: Cli) -> None:
    row = '[["knuckle", "casting", 90000, 60000, 46, 2, false, true]]'
    assert cli("set", f"parts={row}", "--why", "new quote").code == 0
    assert cli("show", "tooling", "--json").json["value"] == 90000.0


def test_the_receipt_tells_what_broke(cli: Cli) -> None:
    told = cli("set", "volume=30000", "--why", "a new customer")
    assert told.code == 0
    assert "Stored as revision 4" in told.out
    assert "COST-1" in told.out
    assert CAUTION in told.out


def test_add_and_amend_every_kind(cli: Cli) -> None:
    steps = [
        ("add", "gate", "G2", "title=Release", "date=2032-06-01"),
        ("add", "quantity", "stiff", "title=Roll stiffness", "unit=N/mm", "value=120"),
        ("add", "quantity", "side", "title=Side", "type=choice", 'choices=["left", "right"]'),
        (
            "add", "requirement", "STIFF-1", "statement=Stiff enough", "quantity=stiff",
            "lower=100", "gate=G2", "parents=GAP-1,COST-1",
        ),
        (
            "add", "decision", "D-2", "question=Which side?", "serves=STIFF-1", "rests_on=D-1",
            f"options={SIDES}",
        ),
        (
            "add", "quantity", "tooling2", "title=Tooling again", "unit=EUR"
        ),
        (
            "add", "check", "C-2", "check=tooling-budget", "decision=D-2",
            'inputs={"parts": "parts", "volume_per_year": {"value": 70000}, "years": "years"}',
            'outputs={"tooling_total": "tooling2"}',
        ),
        ("amend", "STIFF-1", "key=STIFF-A", "lower=110 N/mm", "--why", "heavier body"),
    ]  # fmt: skip
    for step in steps:
        told = cli(*step)
        assert told.code == 0, (step, told.err)
    assert cli("show", "tooling2", "--json").json["value"] == 14 * 78000.0
    decision = cli("show", "D-2", "--json").json
    assert "STIFF-A" in [each["key"] for each in decision["upstream"]]  # renaming breaks nothing
    assert cli("show", "STIFF-A", "--json").json["history"][-1]["reason"] == "heavier body"


def test_a_decision_from_open_to_withdrawn(cli: Cli) -> None:
    assert cli("settle", "D-1", "a", "--why", "clear", "--against", "b=too near").code == 0
    page = cli("show", "D-1").out
    assert "Rationale" in page
    assert "too near" in page
    assert cli("set", "volume=3600", "--why", "plan of May").code == 0
    shifted = cli("status", "--json").json["decisions"][0]
    assert (shifted["state"], shifted["shifted"]) == ("settled", True)
    assert "shifted" in cli("status").out
    assert cli("review", "D-1", "--why", "still holds").code == 0
    assert cli("status", "--json").json["decisions"][0]["shifted"] is False
    assert cli("reopen", "D-1", "--why", "new offer").code == 0
    assert cli("lean", "D-1", "b", "--why", "cheaper").code == 0
    assert cli("withdraw", "D-1", "--why", "the arm is carried over").code == 0
    gone = cli("status", "--json").json["decisions"][0]
    assert (gone["state"], gone["standing"]) == ("withdrawn", "")
    assert "withdrawn" in cli("status").out


def test_set_then_undo_restores_everything_bit_for_bit(cli: Cli) -> None:
    def look() -> tuple[object, ...]:
        page = cli("status", "--json").json
        values = [cli("show", key, "--json").json["value"] for key in ("volume", "tooling", "gap")]
        return page["requirements"], page["decisions"], page["checks"], values

    before, revision = look(), cli("log", "--json").json["revision"]
    assert cli("set", "volume=29999.123456789", "--why", "what if").code == 0
    assert look() != before
    assert cli("undo").code == 0
    assert look() == before  # JSON writes floats so that they read back to the same bits
    journal = cli("log", "--json").json
    assert journal["revision"] == revision + 2
    assert journal["changes"][0]["undoes"] == revision + 1


def test_undo_of_an_undo_is_redo(cli: Cli) -> None:
    cli("set", "width=7", "--why", "first")
    cli("undo")
    assert cli("undo", "5").code == 0
    assert cli("show", "width", "--json").json["value"] == 7.0


def test_undo_under_later_changes_is_a_conflict(cli: Cli, head: Callable[[], str]) -> None:
    cli("set", "width=7", "--why", "first")
    cli("set", "width=8", "--why", "second")
    before = head()
    told = cli("undo", "4", "--json")
    assert told.code == 3
    assert told.json["error"]["code"] == "undo-conflict"
    assert "5" in told.json["error"]["item"]
    assert head() == before


def test_the_author_can_be_told(cli: Cli) -> None:
    cli("set", "width=7", "--why", "first", "--author", "Ilse")
    assert cli("log", "--json").json["changes"][0]["author"] == "Ilse"
    cli("undo")  # Mara's own latest change, not Ilse's
    assert cli("log", "--json").json["changes"][0]["undoes"] == 3


def test_gaps_are_what_the_options_say(cli: Cli) -> None:
    for option, gap in GAPS.items():
        cli("lean", "D-1", option)
        assert cli("show", "gap", "--json").json["value"] == float(gap.split()[0])


DEVIATION = (
    *("add", "deviation", "DEV-1", "requirement=GAP-1", "reason=No room before series"),
    *("approver=Board", "extent=two millimetres less", "lower=5 mm", "expires=G1"),
)


def test_what_a_gate_is_walked_through_with(cli: Cli) -> None:
    assert cli("lean", "D-1", "b", "--why", "thin").code == 0
    assert cli("status", "--json").json["decisions"][0]["standing"] == "broken"
    receipt = cli(*DEVIATION, "--json").json
    assert receipt["what"] == [
        "DEV-1 accepted: GAP-1 missed down to 5 mm until G1 (approver Board)"
    ]
    (finding,) = receipt["ripple"]["findings"]
    assert finding["after"]["deviation"] == "DEV-1"
    shown = cli("show", "D-1").out
    assert "strained: GAP-1 is missed, accepted by DEV-1" in shown
    assert cli("try", "D-1/b.gap=4 mm").code == 1, "beyond what is accepted"
    assert cli("add", "action", "A-1", "title=Find room", "gate=G1", "about=GAP-1").code == 0
    assert cli("add", "risk", "K-1", "title=No room", "likelihood=high").code == 0
    for kind, key in (("deviation", "DEV-1"), ("action", "A-1"), ("risk", "K-1")):
        assert key in cli("list", kind).out
        assert cli("show", key).code == 0
    assert cli("amend", "A-1", "closed=Found some", "--why", "done").code == 0
    assert "closed; due at G1" in cli("list", "action").out


def test_a_file_that_is_evidence_is_read_for_its_hash(cli: Cli, tmp_path: Path) -> None:
    """SHA-256 of `abc`: FIPS 180-4, example of NIST."""
    digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    (tmp_path / "abc.txt").write_bytes(b"abc")
    place = f"place={tmp_path / 'abc.txt'}"
    assert cli("add", "evidence", "E-1", "title=Letters", place, "about=GAP-1").code == 0
    assert digest in cli("show", "E-1").out


def test_a_baseline_is_not_added_by_hand(cli: Cli) -> None:
    refused = cli("add", "baseline", "B-1", "gate=G1")
    assert refused.code == 2
    assert "neither added nor amended by hand" in refused.err
    assert cli("list", "baseline").code == 0


def test_one_decision_takes_the_place_of_another(cli: Cli) -> None:
    assert cli("add", "decision", "D-2", "question=Which boot?").code == 0
    assert cli("supersede", "D-1", "D-2", "--why", "asked otherwise").code == 0
    assert "superseded by" in cli("show", "D-1").out
    assert cli("supersede", "D-1", "D-2", "--why", "again").code == 2


def test_a_review_says_what_came_of_it(cli: Cli) -> None:
    assert cli("settle", "D-1", "a", "--why", "room", "--against", "b=tight").code == 0
    assert cli("amend", "GAP-1", "lower=9 mm", "--why", "more").code == 0
    told = cli("review", "D-1", "--why", "too near", "--outcome", "reopen needed", "--json").json
    assert told["what"] == ["D-1 reviewed by Mara: reopen needed, too near"]
    assert cli("status", "--json").json["decisions"][0]["shifted"] is True
    refused = cli("review", "D-1", "--why", "x", "--outcome", "maybe")
    assert refused.code == 2
    assert "Say confirmed or reopen needed" in refused.err
