"""An item's page: its whole why, for every kind."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict

import pytest

from tests.unit.services.small import AGAINST, Document, near
from tracker.errors import UnknownKeyError
from tracker.services.actions import (
    add_items,
    amend_item,
    lean,
    reopen,
    set_values,
    settle,
    undo,
    withdraw,
)
from tracker.services.item import item_page
from tracker.services.session import Session, past
from tracker.services.views import ItemPage
from tracker.services.wording import CAUTION


def links(page: ItemPage, way: str) -> list[tuple[str, str, str]]:
    return [(each.key, each.role, each.text) for each in getattr(page, way)]


def actions(page: ItemPage) -> dict[str, str]:
    return {each.name: each.why_not for each in page.actions if not each.enabled}


def test_a_given_quantity(settled: Session) -> None:
    page = item_page(settled, "load")
    assert (page.kind, page.key, page.title) == ("quantity", "load", "Load on the arm")
    assert (page.value, page.unit, page.sign, page.shifted) == (100.0, "N", "", False)
    assert page.facts == (
        ("value", "100 N"),
        ("source", "given"),
        ("typed as", "100 N"),
        ("basis", "quoted"),
        ("from", "Supplier sheet 7"),
        ("dated", "2030-11-02"),
        ("tolerance", "± 5 N (normal)"),
        ("may move", "50 to 200 N"),
    )
    assert links(page, "upstream") == []
    assert links(page, "downstream") == [("C-LEVER", "takes it as force for D-ARM", "current")]
    assert [(each.name, each.enabled) for each in page.actions] == [("set", True)]
    assert page.revision == settled.head.revision
    assert (len(page.paragraphs), len(page.options), len(page.shifts)) == (0, 0, 0)
    assert page.figures == ()
    assert "no substitute" in page.cautions[0]


def test_quantities_of_other_kinds(settled: Session) -> None:
    side, hub, parts = (item_page(settled, key) for key in ("side", "hub", "parts"))
    assert ("choices", "left, right") in side.facts
    assert ("columns", "part, mass, count, spare") in parts.facts
    assert ("value", "2 rows") in parts.facts
    assert ("value", "[0, 600, 300] mm") in hub.facts
    assert [each.judge for each in hub.findings] == ["R-HUB"]
    assert [each.judge for each in parts.findings] == ["R-CELL"]
    assert links(parts, "downstream") == [
        ("R-CELL", "judges it", "met"),
        ("C-MASS", "takes it as parts for D-MASS", "current"),
    ]
    assert item_page(settled, "sealed").value is True
    amend_item(settled, "load", {"low": None}, "x")
    assert ("may move", "at most 200 N") in item_page(settled, "load").facts


def test_an_unknown_quantity_says_why(small: Session) -> None:
    facts = dict(item_page(small, "tread").facts)
    assert facts == {"value": "unknown mm", "unknown because": "not chosen", "source": "given"}
    assert dict(item_page(small, "arm").facts)["unknown because"] == "D-ARM: the decision is open"
    lean(small, "D-ARM", "later")
    page = item_page(small, "torque")
    assert dict(page.facts)["unknown because"] == "D-ARM: the supplier has not answered"
    add_items(small, [{"kind": "quantity", "key": "q", "title": "Q"}], "one")
    assert dict(item_page(small, "q").facts)["unknown because"] == "no value is given"


def test_an_owned_and_a_computed_quantity(settled: Session) -> None:
    arm, torque = item_page(settled, "arm"), item_page(settled, "torque")
    assert dict(arm.facts)["source"] == "decision D-ARM"
    assert dict(arm.facts)["from"] == "Sketch 3"
    assert links(arm, "upstream") == [("D-ARM", "sets it", "stands")]
    assert actions(arm) == {"set": "decision D-ARM owns it: change its option's value"}
    assert dict(torque.facts)["source"] == "check C-LEVER"
    assert "basis" not in dict(torque.facts)
    assert links(torque, "upstream") == [("C-LEVER", "sets it", "current")]
    assert links(torque, "downstream") == [("R-TORQUE", "judges it", "met")]
    assert [each.judge for each in torque.findings] == ["R-TORQUE", "C-LEVER.torque"]
    assert actions(torque) == {"set": "check C-LEVER computes it: change its inputs"}


def test_a_requirement(settled: Session) -> None:
    page = item_page(settled, "R-TORQUE")
    assert (page.kind, page.title, page.sign) == (
        "requirement",
        "The lock must not be forced",
        "met",
    )
    assert page.facts == (
        ("required", "at most 16 N*m"),
        ("guard", "10 % of the band's scale"),
        ("judges", "torque"),
        ("verified by", "test"),
        ("source", "Lock drawing"),
        ("owner", "Steering"),
        ("due at", "G1"),
    )
    assert links(page, "upstream") == [
        ("torque", "is judged", "12 N*m"),
        ("G1", "it is due there", "2031-03-01"),
    ]
    assert links(page, "downstream") == [
        ("D-ARM", "serves it", "stands"),
        ("R-ARM", "derives from it", "met"),
    ]
    assert actions(page) == {}


def test_requirements_of_other_kinds(settled: Session) -> None:
    hub, cell, side, arm = (
        dict(item_page(settled, key).facts) for key in ("R-HUB", "R-CELL", "R-SIDE", "R-ARM")
    )
    assert (hub["required"], hub["target"], hub["judges"]) == ("290 to 310 mm", "300 mm", "hub.z")
    assert (cell["required"], cell["judges"]) == ("at most 2 kg", "parts[arm].mass")
    assert (side["required"], "guard" in side) == ("left", False)
    assert arm["derives from"] == "R-TORQUE"
    assert links(item_page(settled, "R-ARM"), "upstream") == [
        ("arm", "is judged", "120 mm"),
        ("R-TORQUE", "it derives from this", "met"),
    ]
    assert links(item_page(settled, "R-CELL"), "downstream") == [
        ("C-MASS", "takes it as limit for D-MASS", "current")
    ]
    set_values(settled, {"R-HUB.scale": "5 mm"}, "x")
    assert dict(item_page(settled, "R-HUB").facts)["scale"] == "5 mm"


def test_a_decision_shows_every_option_with_its_findings(settled: Session) -> None:
    page = item_page(settled, "D-ARM")
    assert (page.sign, page.title) == ("stands", "How long is the arm?")
    assert page.facts == (
        ("state", "settled"),
        ("standing", "stands"),
        ("chosen", "short"),
        ("owner", "Lead"),
        ("due at", "G1"),
    )
    assert page.paragraphs == (
        ("rationale", "The short arm holds"),
        ("against long", "It bends"),
        ("against later", "The tool must be ordered"),
    )
    short, long, later = page.options
    assert [each.chosen for each in page.options] == [True, False, False]
    assert [each.standing for each in page.options] == ["stands", "strained", "unproven"]
    assert (short.title, short.notes, short.against) == ("Short arm", "Forged", "")
    assert long.against == "It bends"
    setting = short.settings[0]
    assert (setting.quantity, setting.text, setting.basis, setting.source) == (
        "arm",
        "120 mm",
        "calculated",
        "Sketch 3",
    )
    assert later.settings[0].text == "unknown: the supplier has not answered"
    assert later.settings[0].basis == ""
    judges = ["R-TORQUE", "C-LEVER.torque", "C-LEVER.dead"]
    assert all([each.judge for each in option.findings] == judges for option in page.options)
    torque = [option.findings[0] for option in page.options]
    assert [each.text for each in torque] == ["12", "15", "—"]
    assert [each.verdict for each in torque] == ["met", "tight", "unknown"]
    assert torque[2].reason == "D-ARM: the supplier has not answered"
    assert links(page, "upstream") == [
        ("R-TORQUE", "it serves this", "met"),
        ("G1", "it is due there", "2031-03-01"),
    ]
    assert links(page, "downstream") == [
        ("arm", "is set by it", "120 mm"),
        ("C-LEVER", "is carried by it", "current"),
        ("D-MASS", "rests on it", "stands"),
    ]
    assert links(item_page(settled, "D-MASS"), "upstream")[0] == (
        "D-ARM",
        "it rests on this",
        "stands",
    )


def test_looking_at_options_moves_nothing(settled: Session) -> None:
    before = item_page(settled, "torque"), dict(settled.engine.state.standings)
    item_page(settled, "D-ARM")
    assert (item_page(settled, "torque"), dict(settled.engine.state.standings)) == before
    withdraw(settled, "D-ARM", "gone")
    page = item_page(settled, "D-ARM")
    assert [each.standing for each in page.options] == ["stands", "strained", "unproven"]
    assert (page.sign, item_page(settled, "torque").value) == ("withdrawn", None)
    assert links(item_page(settled, "arm"), "upstream") == [("D-ARM", "sets it", "withdrawn")]


def test_an_option_that_does_not_state_a_value_says_so(small: Session) -> None:
    told = [{"key": "any", "title": "Any"}]
    amend_item(small, "D-ARM", {"options": told}, "x")
    setting = item_page(small, "D-ARM").options[0].settings[0]
    assert setting.text == "unknown: this option does not state it"
    lean(small, "D-ARM", "any")
    reason = dict(item_page(small, "arm").facts)["unknown because"]
    assert reason == "D-ARM: option any does not state it"


@pytest.mark.parametrize(
    ("moves", "refused"),
    [
        ([], {"reopen": "it is open", "review": "it is open, not settled"}),
        (["lean"], {"reopen": "it is leaning", "review": "it is leaning, not settled"}),
        (
            ["settle"],
            {
                "lean": "it is settled; reopen it first",
                "settle": "it is settled; reopen it first",
                "review": "its ground has not moved",
            },
        ),
        (
            ["settle", "shift"],
            {
                "lean": "it is settled; reopen it first",
                "settle": "it is settled; reopen it first",
            },
        ),
        (
            ["withdraw"],
            {
                "lean": "it is withdrawn; reopen it first",
                "settle": "it is withdrawn; reopen it first",
                "review": "it is withdrawn, not settled",
                "withdraw": "it is withdrawn",
            },
        ),
        (["settle", "reopen"], {"reopen": "it is leaning", "review": "it is leaning, not settled"}),
    ],
)
def test_a_disabled_action_says_why(
    small: Session, moves: list[str], refused: dict[str, str]
) -> None:
    for move in moves:
        {
            "lean": lambda: lean(small, "D-ARM", "short"),
            "settle": lambda: settle(small, "D-ARM", "short", "It holds", AGAINST),
            "shift": lambda: set_values(small, {"load": "101 N"}, "x"),
            "withdraw": lambda: withdraw(small, "D-ARM", "x"),
            "reopen": lambda: reopen(small, "D-ARM", "x"),
        }[move]()
    assert actions(item_page(small, "D-ARM")) == refused


def test_a_decision_without_options_cannot_be_decided(small: Session) -> None:
    add_items(small, [{"kind": "decision", "key": "D-X", "question": "Colour?"}], "x")
    refused = actions(item_page(small, "D-X"))
    assert refused["lean"] == refused["settle"] == "it has no options"


def test_a_check(settled: Session) -> None:
    page = item_page(settled, "C-LEVER")
    assert (page.kind, page.title, page.sign) == ("check", "Torque of the arm", "current")
    assert page.facts == (
        ("check", "lever 1"),
        ("state", "current"),
        ("under", "D-ARM"),
        ("note", "static"),
        ("angle", "90 deg"),
    )
    assert page.paragraphs == (
        ("purpose", "Torque of a force on an arm"),
        ("source", "Any text on statics, moment of a force; recalled"),
    )
    assert [(each.judge, each.rule, each.verdict) for each in page.findings] == [
        ("C-LEVER.torque", True, "met"),
        ("C-LEVER.dead", True, "met"),
    ]
    torque, dead = page.findings
    assert (torque.subject, torque.required, torque.unit) == ("torque", "at least 1 N*m", "N*m")
    assert (dead.subject, dead.required, dead.text) == ("C-LEVER.dead", "no", "no")
    assert torque.statement == "It must move the lock"
    assert links(page, "upstream") == [
        ("load", "feeds force", "100 N"),
        ("arm", "feeds arm", "120 mm"),
    ]
    assert links(page, "downstream") == [("torque", "gets torque", "12 N*m")]
    assert page.cautions[1:] == ("The arm is rigid.",)
    assert [each.key for each in page.figures] == ["arm"]
    assert page.figures[0].series[0].x == (0.0, 120.0)
    assert page.actions == ()
    amend_item(settled, "C-LEVER", {"inputs": {"force": "load", "arm": "arm"}}, "x")
    assert dict(item_page(settled, "C-LEVER").facts)["angle"] == "90 deg (default)"
    assert links(item_page(settled, "C-MASS"), "upstream") == [
        ("parts", "feeds parts", "2 rows"),
        ("R-CELL", "feeds limit as R-CELL.upper", "met"),
        ("side", "feeds side", "left"),
        ("hub", "feeds at", "[0, 600, 300] mm"),
    ]


def test_figures_are_left_out_where_they_cannot_be_drawn(settled: Session) -> None:
    assert item_page(settled, "C-MASS").figures == ()
    set_values(settled, {"load": "-5 N"}, "a pull")
    page = item_page(settled, "C-LEVER")
    assert (page.sign, page.figures) == ("current", ())
    set_values(settled, {"load": ""}, "lost")
    page = item_page(settled, "C-LEVER")
    assert (page.sign, page.figures) == ("waiting", ())
    assert ("state", "waiting: load: taken away") in page.facts


def test_a_check_that_fails_says_how(small: Session) -> None:
    documents: list[Document] = [
        {"kind": "quantity", "key": "x", "title": "X", "unit": "mm", "value": -1},
        {"kind": "quantity", "key": "half", "title": "H", "unit": "mm"},
        {"kind": "quantity", "key": "root", "title": "R"},
        {
            "kind": "check",
            "key": "C-X",
            "check": "fickle",
            "decision": "D-MASS",
            "inputs": {"x": "x"},
            "outputs": {"half": "half", "root": "root"},
        },
    ]
    add_items(small, documents, "x")
    page = item_page(small, "C-X")
    assert page.sign == "failed"
    reason = "the check failed: ValueError: no root of a negative number"
    assert ("state", f"failed: {reason}") in page.facts
    assert dict(item_page(small, "half").facts)["unknown because"] == f"C-X: {reason}"
    set_values(small, {"x": "2000"}, "far")
    assert item_page(small, "half").value is None
    assert item_page(small, "root").value == near(2000**0.5)
    set_values(small, {"x": "4"}, "near")
    assert (item_page(small, "half").value, item_page(small, "C-X").sign) == (2.0, "current")


def test_a_check_that_is_not_installed_any_more_is_told_as_unbound(
    settled: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    from dataclasses import replace

    from tests.unit.services.small import UNITS, toy_tools
    from tests.unit.services.toys import CHECKS
    from tracker.host.catalogue import EntryPoints

    monkeypatch.setattr("tracker.host.catalogue.entry_points", lambda **_: ())
    rest = EntryPoints(UNITS, {key: each for key, each in CHECKS.items() if key != "lever"})
    session = Session(settled.store, replace(toy_tools(), catalogue=rest), "Ann")
    page = item_page(session, "C-LEVER")
    assert page.sign == "unbound"
    assert "no such check is installed" in dict(page.facts)["state"]
    assert dict(page.facts)["check"] == "lever"
    assert (page.paragraphs, page.figures, page.findings) == ((), (), ())
    assert len(page.cautions) == 1
    assert item_page(session, "torque").value is None
    assert item_page(session, "D-ARM").sign == "unproven"


def test_a_gate_and_the_programme(settled: Session) -> None:
    page = item_page(settled, "G1")
    assert (page.title, page.facts) == ("Concept", (("date", "2031-03-01"),))
    assert page.cautions == (CAUTION,)
    assert links(page, "downstream") == [
        ("R-TORQUE", "is due", "met"),
        ("D-ARM", "is due", "stands"),
    ]
    assert links(page, "upstream") == []
    assert page.actions == ()
    page = item_page(settled, "programme")
    assert (page.kind, page.title, page.facts) == ("programme", "Small", (("money", "EUR"),))
    assert page.downstream == ()


def test_the_history_tells_who_when_why_and_what(settled: Session) -> None:
    set_values(settled, {"load": "110 N"}, "weighed")
    told = item_page(settled, "load").history
    assert [(each.revision, each.author, each.reason, each.what) for each in told] == [
        (2, "Ann", "begin", ("new quantity load",)),
        (5, "Ann", "weighed", ("load: 100 N → 110 N (guess)",)),
    ]
    assert told[1].at == "2031-01-15T08:00:00Z"


def test_what_moved_under_a_decision_is_told_with_units(settled: Session) -> None:
    edits = {"load": "0.11 kN", "R-TORQUE.upper": "15", "R-TORQUE.scale": "8"}
    set_values(settled, edits, "news")
    amend_item(settled, "C-LEVER", {"inputs": {"force": "load", "arm": "arm"}}, "x")
    page = item_page(settled, "D-ARM")
    assert page.shifted
    assert [(each.what, each.before, each.after) for each in page.shifts] == [
        (
            "band of R-TORQUE",
            "at most 16 N*m (guard 0.1)",
            "at most 15 N*m (guard 0.1, scale 8 N*m)",
        ),
        ("C-LEVER.angle", "90 deg", "no part of it"),
        ("load", "100 N", "110 N"),
    ]


def test_shifts_of_bounds_choices_tables_and_versions(settled: Session) -> None:
    amend_item(settled, "D-MASS", {"serves": ["R-MASS", "R-SIDE"]}, "x")
    edits = {"R-CELL.upper": "3", "side": "right", "hub.x": "1", "parts[1].count": "1"}
    set_values(settled, edits, "news")
    reopen(settled, "D-ARM", "news")
    told = {each.what: (each.before, each.after) for each in item_page(settled, "D-MASS").shifts}
    assert told == {
        "band of R-SIDE": ("no part of it", "left"),
        "R-CELL.upper": ("2 kg", "3 kg"),
        "side": ("left", "right"),
        "hub": ("[0, 600, 300] mm", "[1, 600, 300] mm"),
        "parts[arm].count": ("2", "1"),
        "choice of D-ARM": ("short, settled", "short, not settled"),
    }
    withdraw(settled, "D-ARM", "gone")
    told = {each.what: (each.before, each.after) for each in item_page(settled, "D-MASS").shifts}
    assert told["choice of D-ARM"] == ("short, settled", "none, not settled")


def test_a_check_taken_away_or_added_is_a_shift(settled: Session) -> None:
    amend_item(settled, "C-LEVER", {"decision": "D-MASS"}, "x")
    told = {each.what: (each.before, each.after) for each in item_page(settled, "D-ARM").shifts}
    assert told["version of C-LEVER"] == ("lever 1", "no part of it")


def test_shifts_name_what_is_unknown_gone_or_no_part_any_more(small: Session) -> None:
    """What a footing remembers may have left the programme by undoing."""
    q = {"kind": "quantity", "key": "q", "title": "Q", "unit": "N", "value": 100}
    band = {"kind": "requirement", "key": "R-X", "statement": "S", "quantity": "q", "upper": 200}
    other = {"kind": "decision", "key": "D-X", "question": "Colour?"}
    revisions = [add_items(small, [each], "one more").revision for each in (q, band, other)]
    held = {"force": "q", "arm": "arm", "angle": 90}
    amend_item(small, "C-LEVER", {"inputs": held}, "x")
    amend_item(small, "D-ARM", {"serves": ["R-TORQUE", "R-X"], "rests_on": ["D-X"]}, "x")
    ids = [small.programme.find(key).id for key in ("q", "R-X", "D-X")]  # type: ignore[union-attr] # they are there
    settle(small, "D-ARM", "short", "It holds", AGAINST)
    amend_item(small, "C-LEVER", {"inputs": {**held, "force": "load"}}, "x")
    amend_item(small, "D-ARM", {"serves": ["R-TORQUE"], "rests_on": []}, "x")
    set_values(small, {"load": ""}, "lost")
    told = {each.what: (each.before, each.after) for each in item_page(small, "D-ARM").shifts}
    gone = "no part of it"
    assert told == {
        "band of R-X": ("at most 200 N (guard 0.1)", gone),
        "q": ("100 N", gone),
        "load": (gone, "unknown"),
        "binding of C-LEVER": ("as it was bound", "bound otherwise"),
        "choice of D-X": ("none, not settled", gone),
    }
    for revision in reversed(revisions):
        undo(small, revision)
    told = {each.what: (each.before, each.after) for each in item_page(small, "D-ARM").shifts}
    assert told == {
        f"band of {ids[1]}": ("(None, 200.0, None, 0.1)", gone),
        ids[0]: ("100.0", gone),
        "load": (gone, "unknown"),
        "binding of C-LEVER": ("as it was bound", "bound otherwise"),
        f"choice of {ids[2]}": ("none, not settled", gone),
    }


def test_an_optional_output_may_be_absent_with_its_reason(settled: Session) -> None:
    add_items(settled, [{"kind": "quantity", "key": "slack", "title": "S", "unit": "kg"}], "x")
    outputs = {"mass": "mass", "pieces": "pieces", "slack": "slack"}
    amend_item(settled, "C-MASS", {"outputs": outputs}, "x")
    assert item_page(settled, "slack").value == near(0.4)
    done = set_values(settled, {"parts": []}, "nothing to lift")
    change = next(each for each in done.ripple.quantities if each.key == "slack")
    assert (change.before, change.after) == ("0.4", "absent")
    facts = dict(item_page(settled, "slack").facts)
    assert facts["value"] == "absent kg"
    assert facts["unknown because"] == "there is nothing to lift"
    assert item_page(settled, "C-MASS").sign == "current"


def test_the_page_of_an_earlier_revision_knows_nothing_of_later_ones(settled: Session) -> None:
    page = item_page(past(settled, 3), "D-ARM")
    assert [each.revision for each in page.history] == [2, 3]
    assert len(item_page(past(settled, 2), "D-ARM").history) == 1


def test_nothing_has_no_page(small: Session) -> None:
    with pytest.raises(UnknownKeyError) as caught:
        item_page(small, "nothing" * 50)
    assert len(caught.value.message) < 120


def test_hostile_texts_are_made_visible(settled: Session) -> None:
    bad, good = "a\u202eb", "a<U+202E>b"
    reopen(settled, "D-ARM", bad)
    told = [
        {
            "key": "x",
            "title": bad,
            "notes": bad,
            "settings": {"arm": {"value": 1, "source": bad}},
        },
        {"key": "y", "title": "Y", "settings": {"arm": {"unknown": bad}}},
    ]
    withdraw(settled, "D-ARM", "x")
    amend_item(settled, "D-ARM", {"options": told}, bad)
    reopen(settled, "D-ARM", "x")
    settle(settled, "D-ARM", "x", bad, {"y": bad})
    amend_item(settled, "C-LEVER", {"config": {"note": bad}, "title": bad}, "x")
    amend_item(settled, "load", {"source": bad, "title": bad}, "x")
    amend_item(settled, "R-TORQUE", {"source": bad, "owner": bad, "statement": bad}, "x")
    for key in ("D-ARM", "C-LEVER", "load", "R-TORQUE", "arm", "G1"):
        texts = list(_texts(asdict(item_page(settled, key))))
        assert any(good in text for text in texts)
        assert not any("\u202e" in text for text in texts)


def _texts(plain: object) -> Iterator[str]:
    if isinstance(plain, str):
        yield plain
    elif isinstance(plain, dict):
        for each in plain.values():
            yield from _texts(each)
    elif isinstance(plain, list | tuple):
        for each in plain:
            yield from _texts(each)
