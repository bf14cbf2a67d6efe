"""Deviations, actions, evidence, risks and baselines as items: in, out, shown, told, taken back."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import pytest

from tests.unit.services.gate_world import Shelf
from tests.unit.services.small import AGAINST, empty_session, near
from tracker.errors import (
    BadValueError,
    DimensionError,
    InputError,
    InUseError,
    ManyProblemsError,
    UnknownKeyError,
)
from tracker.exchange.item_files import items_text, read_items
from tracker.model.changes import Entry
from tracker.model.records import (
    Action,
    Baseline,
    Decision,
    Deviation,
    Evidence,
    Footing,
    Gate,
    Level,
    Outcome,
    Quantity,
    Range,
    Record,
    Requirement,
    Review,
    Risk,
)
from tracker.services.actions import (
    add_items,
    amend_item,
    lean,
    review,
    set_values,
    settle,
    supersede,
    try_values,
    undo,
)
from tracker.services.documents import document_of
from tracker.services.item import item_page
from tracker.services.journal import compare, journal_page
from tracker.services.overview import listing, overview
from tracker.services.session import Session
from tracker.services.words import describe

Document = dict[str, Any]

DEVIATION: Document = {
    "kind": "deviation",
    "key": "DEV-1",
    "requirement": "R-TORQUE",
    "reason": "No other lock before series",
    "approver": "Chief engineer",
    "extent": "A fifth more on the long arm",
    "upper": "20 N*m",
    "expires": "G2",
    "consequences": "Stiffer key",
    "decision": "D-ARM",
}
ACTION: Document = {
    "kind": "action",
    "key": "A-1",
    "title": "Measure the lock",
    "owner": "Lab",
    "gate": "G2",
    "about": ["R-TORQUE", "D-ARM"],
}
EVIDENCE: Document = {
    "kind": "evidence",
    "key": "E-1",
    "title": "Test of the lock",
    "about": ["R-TORQUE"],
    "place": "reports/lock.pdf",
    "sha256": "0A" * 32,
    "dated": "2031-01-02",
    "note": "Page 4",
}
RISK: Document = {
    "kind": "risk",
    "key": "K-1",
    "title": "The lock freezes",
    "about": ["R-TORQUE"],
    "owner": "Lab",
    "gate": "G2",
    "likelihood": "low",
    "consequence": "high",
    "response": "Test it cold",
}
ALL = [DEVIATION, ACTION, EVIDENCE, RISK]


def id_of(session: Session, key: str) -> str:
    record = session.programme.find(key)
    assert record is not None, key
    return record.id


def freeze(session: Session, gate: str, key: str = "B-1") -> Baseline:
    """Freeze something at a gate, as a change with its content."""
    content = b"{}"
    digest = "44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"  # of `{}`
    made = Baseline(
        id=session.tools.ids(),
        key=key,
        gate=id_of(session, gate),
        revision=session.head.revision,
        head=session.head.hash,
        content=digest,
        ready=True,
        criteria={"requirements": "met"},
        versions={"whybone": "1.2"},
    )
    session.commit((Entry(None, made),), f"freeze {gate}", contents={digest: content})
    return made


@pytest.fixture
def gated(small: Session) -> Session:
    """The small programme, leaning to the long arm under a load that is too high, all accepted."""
    lean(small, "D-ARM", "long", "for now")
    set_values(small, {"load": "120 N"}, "weighed again")  # 18 N·m against 16 at most
    add_items(small, ALL, "walk up to the gate")
    return small


def named(session: Session, key: str, cls: type[Any]) -> Any:  # noqa: ANN401 - a record of that type
    return session.programme.named(key, cls)


@contextmanager
def refused(error: type[InputError], says: str, item: str, field: str) -> Iterator[None]:
    with pytest.raises(error) as caught:
        yield
    assert says in caught.value.message
    assert (caught.value.item, caught.value.field) == (item, field)


# ---------------------------------------------------------------- coming in


def test_they_come_in_with_their_references_and_units(gated: Session) -> None:
    held = named(gated, "DEV-1", Deviation)
    assert held.requirement == id_of(gated, "R-TORQUE")
    assert held.expires == id_of(gated, "G2")
    assert held.decision == id_of(gated, "D-ARM")
    assert (held.lower, held.upper.value, held.upper.typed) == (None, 20.0, "20 N*m")
    action = named(gated, "A-1", Action)
    assert action.about == (id_of(gated, "R-TORQUE"), id_of(gated, "D-ARM"))
    assert (action.closed, action.closed_on) == ("", "")
    assert named(gated, "E-1", Evidence).sha256 == "0a" * 32
    risk = named(gated, "K-1", Risk)
    assert (risk.likelihood, risk.consequence) == (Level.LOW, Level.HIGH)


def test_they_come_in_together_with_what_they_refer_to() -> None:
    session = empty_session()
    documents: list[Document] = [
        *({**each, "about": ["R"]} for each in (ACTION, EVIDENCE, RISK)),
        {**DEVIATION, "requirement": "R", "upper": "3 m", "decision": ""},
        {"kind": "requirement", "key": "R", "statement": "S", "quantity": "q", "upper": "200 cm"},
        {"kind": "quantity", "key": "q", "title": "Q", "unit": "m", "value": 2.5},
        {"kind": "gate", "key": "G2", "title": "G", "date": "2031-09-01"},
    ]
    add_items(session, documents, "all at once")
    assert named(session, "DEV-1", Deviation).upper.value == 3.0
    assert item_page(session, "R").findings[0].deviation == "DEV-1"


@pytest.mark.parametrize(
    ("document", "error", "says", "item", "field"),
    [
        ({**DEVIATION, "reason": ""}, BadValueError, "it is missing", "DEV-9", "reason"),
        ({**DEVIATION, "upper": "20 mm"}, DimensionError, "mm", "DEV-9", "upper"),
        ({**DEVIATION, "upper": "16 N*m"}, BadValueError, "itself lets", "DEV-9", "upper"),
        ({**DEVIATION, "lower": "1 N*m"}, BadValueError, "no lower bound", "DEV-9", "lower"),
        (
            {**DEVIATION, "requirement": "R-HUB", "lower": "30 cm", "upper": None},
            BadValueError,
            "itself lets",
            "DEV-9",
            "lower",
        ),
        ({**DEVIATION, "requirement": "R-SIDE"}, InputError, "", "DEV-9", "upper"),
        (
            {**DEVIATION, "requirement": "load"},
            UnknownKeyError,
            "a quantity",
            "DEV-9",
            "requirement",
        ),
        ({**DEVIATION, "expires": "G9"}, UnknownKeyError, "nothing is called", "DEV-9", "expires"),
        ({**ACTION, "about": ["X"]}, UnknownKeyError, "nothing is called", "A-9", "about"),
        ({**ACTION, "closed_on": "2031-01-01"}, BadValueError, "how it was", "A-9", "closed"),
        ({**EVIDENCE, "about": ["G1"]}, UnknownKeyError, "G1 is a gate", "E-9", "about"),
        ({**EVIDENCE, "sha256": "0a"}, BadValueError, "not a SHA-256", "E-9", "sha256"),
        ({**RISK, "likelihood": "often"}, BadValueError, "'often' is not", "K-9", "likelihood"),
        ({**RISK, "colour": "red"}, BadValueError, "no field 'colour'", "K-9", "colour"),
        (
            {"kind": "baseline", "key": "B-9"},
            BadValueError,
            "neither added nor amended by hand",
            "B-9",
            "kind",
        ),
    ],
)
def test_what_does_not_fit_is_refused(
    small: Session, document: Document, error: type[InputError], says: str, item: str, field: str
) -> None:
    key = str(document["key"]).rpartition("-")[0] + "-9"
    with refused(error, says, item, field):
        add_items(small, [{**document, "key": key}], "try")


def test_all_that_is_wrong_is_told_at_once(small: Session) -> None:
    with pytest.raises(ManyProblemsError) as caught:
        add_items(small, [{**DEVIATION, "expires": "G9"}, {**RISK, "about": ["X"]}], "try")
    assert [each.item for each in caught.value.problems] == ["DEV-1", "K-1"]


def test_dates_of_today_come_by_themselves(small: Session) -> None:
    add_items(small, [{**EVIDENCE, "dated": ""}, {**ACTION, "closed": "Measured"}], "today")
    assert named(small, "E-1", Evidence).dated == "2031-01-15"
    assert named(small, "A-1", Action).closed_on == "2031-01-15"


def test_a_file_without_a_hash_is_read_for_it(small: Session) -> None:
    small.tools = replace(small.tools, files=Shelf(**{"reports/lock.pdf": "1b" * 32}))
    bare = {name: each for name, each in EVIDENCE.items() if name != "sha256"}
    add_items(small, [bare], "by its file")
    assert named(small, "E-1", Evidence).sha256 == "1b" * 32
    amend_item(small, "E-1", {"place": "https://example.org/lock"}, "moved")
    assert named(small, "E-1", Evidence).sha256 == ""
    amend_item(small, "E-1", {"place": "reports/gone.pdf"}, "moved again")
    assert named(small, "E-1", Evidence).sha256 == ""
    amend_item(small, "E-1", {"place": "x", "sha256": "2c" * 32}, "with its own")
    assert named(small, "E-1", Evidence).sha256 == "2c" * 32


def test_a_page_of_evidence_says_whether_the_file_is_what_it_was(gated: Session) -> None:
    gated.tools = replace(gated.tools, files=Shelf(**{"reports/lock.pdf": "0a" * 32}))
    assert facts(gated, "E-1")["file"] == "intact"
    gated.tools = replace(gated.tools, files=Shelf(**{"reports/lock.pdf": "1b" * 32}))
    assert facts(gated, "E-1")["file"] == "changed"
    gated.tools = replace(gated.tools, files=Shelf())
    assert facts(gated, "E-1")["file"] == "missing"


# ---------------------------------------------------------------- changing


def test_amending_keeps_what_is_not_named(gated: Session) -> None:
    before = named(gated, "DEV-1", Deviation)
    amend_item(gated, "DEV-1", {"approver": "Board"}, "escalated")
    assert named(gated, "DEV-1", Deviation) == replace(before, approver="Board")
    amend_item(gated, "A-1", {"closed": "Measured: 17.8 N*m"}, "done")
    closed = named(gated, "A-1", Action)
    assert (closed.closed, closed.closed_on) == ("Measured: 17.8 N*m", "2031-01-15")
    amend_item(gated, "A-1", {"closed": ""}, "wrong lock")
    assert named(gated, "A-1", Action) == replace(closed, closed="", closed_on="")
    amend_item(gated, "K-1", {"closed": "It did not"}, "winter is over")
    assert item_page(gated, "K-1").facts[0] == ("state", "closed")


def test_renaming_breaks_nothing(gated: Session) -> None:
    for old, new in (("DEV-1", "DEV-X"), ("R-TORQUE", "R-T"), ("G2", "G-NEXT"), ("A-1", "A-X")):
        amend_item(gated, old, {"key": new}, "another name")
    page = item_page(gated, "R-T")
    assert page.findings[0].deviation == "DEV-X"
    assert ("expires at", "G-NEXT") in item_page(gated, "DEV-X").facts


def test_what_they_refer_to_stays(gated: Session) -> None:
    with pytest.raises(InUseError, match="still used by"):
        gated.commit((Entry(gated.programme.find("G2"), None),), "drop the gate")


def test_all_of_it_can_be_undone_and_done_again(gated: Session) -> None:
    top = gated.head.revision
    undo(gated, top)
    assert gated.programme.find("DEV-1") is None
    assert overview(gated).decisions[0].standing == "broken"
    undo(gated, top + 1)
    assert gated.programme.find("DEV-1") is not None
    assert overview(gated).decisions[0].standing == "strained"


# ---------------------------------------------------------------- what an accepted miss does


def test_an_accepted_miss_strains_the_decision_and_says_why(gated: Session) -> None:
    line = overview(gated).decisions[0]
    assert (line.standing, line.why) == ("strained", "R-TORQUE is missed, accepted by DEV-1")
    found = item_page(gated, "R-TORQUE").findings[0]
    assert (found.verdict, found.deviation) == ("missed", "DEV-1")
    assert found.value == near(18.0)
    assert found.distance_text == "−2 N*m (−12 %), accepted by DEV-1"
    assert listing(gated, "requirement").lines[0].text.endswith("at most 16 N*m, accepted by DEV-1")


def test_a_trial_beyond_what_is_accepted_breaks(gated: Session) -> None:
    assert try_values(gated, {"load": "133 N"}).broken == ()
    ripple = try_values(gated, {"load": "134 N"})  # 20.1 N·m
    assert ripple.broken == ("D-ARM",)
    (change,) = [each for each in ripple.findings if each.judge == "R-TORQUE"]
    assert change.before is not None
    assert change.after is not None
    assert (change.before.deviation, change.after.deviation) == ("DEV-1", "")


def test_what_is_accepted_is_not_pending_at_the_gate(gated: Session) -> None:
    assert [each.key for each in overview(gated).due] == ["D-ARM"]
    set_values(gated, {"load": "140 N"}, "heavier still")
    assert [each.key for each in overview(gated).due] == ["D-ARM", "R-TORQUE"]


def test_freezing_the_gate_it_expires_at_bites(gated: Session) -> None:
    freeze(gated, "G1")
    assert overview(gated).decisions[0].standing == "strained"
    assert item_page(gated, "DEV-1").facts[0] == ("state", "in force")
    freeze(gated, "G2", "B-2")
    assert overview(gated).decisions[0].standing == "broken"
    assert item_page(gated, "DEV-1").facts[0] == ("state", "expired")
    assert compare(gated, gated.head.revision - 1, gated.head.revision).standings[0].after == (
        "broken"
    )


def test_a_deviation_that_would_have_expired_is_refused(gated: Session) -> None:
    freeze(gated, "G2")
    for gate in ("G1", "G2"):
        with refused(BadValueError, "G2 is frozen as B-1", "DEV-2", "expires"):
            add_items(gated, [{**DEVIATION, "key": "DEV-2", "expires": gate}], "too late")
    amend_item(gated, "DEV-1", {"consequences": "None seen"}, "words may still change")
    with refused(BadValueError, "G2 is frozen as B-1", "DEV-1", "expires"):
        amend_item(gated, "DEV-1", {"expires": "G1"}, "back")
    later = {"kind": "gate", "key": "G3", "title": "Series", "date": "2032-01-01"}
    add_items(gated, [later], "one more gate")
    amend_item(gated, "DEV-1", {"expires": "G3"}, "prolonged")
    assert overview(gated).decisions[0].standing == "strained"


# ---------------------------------------------------------------- baselines


def test_a_baseline_is_kept_for_good(gated: Session) -> None:
    held = freeze(gated, "G1")
    assert gated.store.content(held.content) == b"{}"
    with refused(InUseError, "never changed or removed", "B-1", ""):
        amend_item(gated, "B-1", {"key": "B-9"}, "rename")
    with pytest.raises(InUseError, match="never changed or removed"):
        undo(gated, gated.head.revision)
    assert gated.programme.find("B-1") == held


# ---------------------------------------------------------------- showing


def facts(session: Session, key: str) -> dict[str, str]:
    return dict(item_page(session, key).facts)


def test_each_kind_has_a_page(gated: Session) -> None:
    freeze(gated, "G1")
    page = item_page(gated, "DEV-1")
    assert page.title == "R-TORQUE missed up to 20 N*m"
    assert dict(page.facts) == {
        "state": "in force",
        "accepts a miss of": "R-TORQUE",
        "extent": "up to 20 N*m",
        "approver": "Chief engineer",
        "expires at": "G2",
        "for": "D-ARM",
    }
    assert [heading for heading, _ in page.paragraphs] == ["extent", "reason", "consequences"]
    assert facts(gated, "A-1") == {
        "state": "open", "owner": "Lab", "due at": "G2", "about": "R-TORQUE, D-ARM",
    }  # fmt: skip
    assert facts(gated, "E-1") == {
        "place": "reports/lock.pdf", "SHA-256": "0a" * 32, "dated": "2031-01-02",
        "file": "not checked", "about": "R-TORQUE",
    }  # fmt: skip
    assert facts(gated, "K-1")["consequence"] == "high"
    page = item_page(gated, "B-1")
    assert page.title == "G1 at revision 5"
    assert dict(page.facts)["requirements"] == "met"
    assert dict(page.facts)["whybone"] == "1.2"
    assert page.actions == ()


def test_an_unlimited_deviation_is_told_by_its_extent(small: Session) -> None:
    unlimited = {**DEVIATION, "requirement": "R-SIDE", "upper": None, "decision": ""}
    add_items(small, [unlimited], "whatever the side")
    assert item_page(small, "DEV-1").title == "R-SIDE missed A fifth more on the long arm"
    wide = {**DEVIATION, "key": "DEV-2", "requirement": "R-HUB", "lower": "280 mm", "upper": None}
    add_items(small, [wide, {**wide, "key": "DEV-3", "upper": "320 mm"}], "two more")
    assert item_page(small, "DEV-2").title == "R-HUB missed down to 280 mm"
    assert item_page(small, "DEV-3").title == "R-HUB missed 280 to 320 mm"


def test_neighbours_know_each_other(gated: Session) -> None:
    freeze(gated, "G2")
    below = {each.key: each.role for each in item_page(gated, "R-TORQUE").downstream}
    assert below["DEV-1"] == "accepts its miss"
    assert (below["E-1"], below["A-1"], below["K-1"]) == ("shows it", "is about it", "is about it")
    below = {each.key: each.role for each in item_page(gated, "G2").downstream}
    assert (below["DEV-1"], below["A-1"], below["K-1"]) == ("expires there", "is due", "is due")
    assert below["B-1"] == "was shown there"
    below = {each.key: each.role for each in item_page(gated, "D-ARM").downstream}
    assert (below["DEV-1"], below["A-1"]) == ("accepts a miss for it", "is about it")
    links = {each.key: (each.role, each.text) for each in item_page(gated, "DEV-1").upstream}
    assert links["R-TORQUE"] == ("it accepts a miss of this", "missed")
    assert links["G2"] == ("it expires there", "2031-09-01")
    assert links["D-ARM"][0] == "it is for this"
    above = {each.key: each.role for each in item_page(gated, "A-1").upstream}
    assert above == {
        "R-TORQUE": "it is about this", "D-ARM": "it is about this", "G2": "it is due there",
    }  # fmt: skip
    assert item_page(gated, "E-1").upstream[0].role == "it shows this"
    (shown,) = item_page(gated, "B-1").upstream
    assert (shown.key, shown.role) == ("G2", "it was shown there")
    told = {each.key: (each.text, each.title) for each in item_page(gated, "G2").downstream}
    assert told["DEV-1"] == ("expired", "R-TORQUE missed up to 20 N*m")
    assert told["B-1"] == ("ready", "G2 at revision 5")
    assert told["A-1"] == ("open", "Measure the lock")
    assert item_page(gated, "programme").downstream == ()


def test_they_are_listed(gated: Session) -> None:
    freeze(gated, "G1")
    rows = {
        kind: [(each.key, each.title, each.text) for each in listing(gated, kind).lines]
        for kind in ("deviation", "action", "evidence", "risk", "baseline")
    }
    assert rows == {
        "deviation": [
            (
                "DEV-1",
                "R-TORQUE missed up to 20 N*m",
                "in force; until G2; approver Chief engineer",
            )
        ],
        "action": [("A-1", "Measure the lock", "open; Lab; due at G2")],
        "evidence": [("E-1", "Test of the lock", "reports/lock.pdf; 2031-01-02")],
        "risk": [("K-1", "The lock freezes", "open; likelihood low, consequence high; Lab")],
        "baseline": [("B-1", "G1 at revision 5", f"ready; head {0:012}")],
    }
    amend_item(gated, "A-1", {"gate": "", "owner": "", "closed": "Done"}, "done")
    assert listing(gated, "action").lines[0].text == "closed"


def test_hidden_characters_show(gated: Session) -> None:
    amend_item(gated, "DEV-1", {"approver": "Bo\u202e", "extent": "far\u200b"}, "hide")
    amend_item(gated, "A-1", {"title": "Do\u202e", "owner": "\u200b"}, "hide")
    texts = repr([item_page(gated, key) for key in ("DEV-1", "A-1")])
    texts += repr([listing(gated, kind) for kind in ("deviation", "action")])
    texts += repr(journal_page(gated))
    assert "\\u202e" not in texts
    assert "\\u200b" not in texts
    assert "<U+202E>" in texts


# ---------------------------------------------------------------- in words


def said(session: Session) -> tuple[str, ...]:
    return journal_page(session, 1).lines[0].what


def test_the_journal_tells_them(gated: Session) -> None:
    assert said(gated) == (
        "DEV-1 accepted: R-TORQUE missed up to 20 N*m until G2 (approver Chief engineer)",
        "new action A-1",
        "new evidence E-1",
        "new risk K-1",
    )
    freeze(gated, "G1")
    assert said(gated) == ("B-1 frozen at G1: revision 5, ready",)


@pytest.mark.parametrize(
    ("key", "fields", "words"),
    [
        (
            "DEV-1",
            {"upper": "25 N*m"},
            ("DEV-1 extent: A fifth more on the long arm (up to 25 N*m)",),
        ),
        ("DEV-1", {"extent": "More", "upper": None}, ("DEV-1 extent: More",)),
        ("DEV-1", {"expires": "G1"}, ("DEV-1 expires at G1",)),
        ("DEV-1", {"decision": ""}, ("DEV-1 is for nothing",)),
        (
            "DEV-1",
            {"requirement": "R-SIDE", "upper": None},
            (
                "DEV-1 accepts a miss of R-SIDE",
                "DEV-1 extent: A fifth more on the long arm",
            ),
        ),
        (
            "DEV-1",
            {"reason": "Cost", "consequences": ""},
            ("DEV-1 reason: Cost", "DEV-1 consequences: nothing"),
        ),
        ("A-1", {"closed": "Done"}, ("A-1 closed: Done",)),
        (
            "A-1",
            {"owner": "", "gate": "", "about": [], "title": "Weigh"},
            (
                "A-1 title: Weigh",
                "A-1 is owned by nobody",
                "A-1 is due at no gate",
                "A-1 is about nothing",
            ),
        ),
        ("A-1", {"gate": "G1"}, ("A-1 is due at G1",)),
        (
            "E-1",
            {"dated": "2031-01-09", "sha256": "1b" * 32},
            ("E-1 is the state of 2031-01-09 (SHA-256 1b1b1b1b1b1b…)",),
        ),
        (
            "E-1",
            {"place": "elsewhere", "about": ["load"], "note": "Page 5"},
            (
                "E-1 place: elsewhere",
                "E-1 is the state of 2031-01-02",
                "E-1 is about load",
                "E-1 note: Page 5",
            ),
        ),
        ("K-1", {"likelihood": "high"}, ("K-1 likelihood: high",)),
        ("K-1", {"closed": "Gone", "response": "None"}, ("K-1 closed: Gone", "K-1 response: None")),
        (
            "G2",
            {"date": "2031-10-01", "criteria": {"bases": "quoted"}},
            ("G2 moved from 2031-09-01 to 2031-10-01", "G2 asks bases: nothing → quoted"),
        ),
        (
            "R-TORQUE",
            {"rationale": "Grip", "priority": "high", "risk": "Ice"},
            ("R-TORQUE rationale: Grip", "R-TORQUE priority: high", "R-TORQUE risk: Ice"),
        ),
        (
            "hub",
            {"ranges": {"y": ["590 mm", "61 cm"]}, "correlated": {"load": -0.5}},
            ("hub.y may move: 590 to 610 mm", "hub is correlated with load -0.5"),
        ),
        (
            "D-ARM",
            {"participants": "Ann, Bo", "dissent": {"Bo": "Thin"}, "assumptions": "One lock, new"},
            (
                "D-ARM participants: Ann, Bo",
                "D-ARM dissent of Bo: nothing → Thin",
                "D-ARM assumes: One lock, new",
            ),
        ),
    ],
)
def test_changes_in_words(
    gated: Session, key: str, fields: Document, words: tuple[str, ...]
) -> None:
    amend_item(gated, key, fields, "so")
    assert said(gated) == words


def test_what_is_taken_back_in_words(gated: Session) -> None:
    amend_item(gated, "A-1", {"closed": "Done"}, "so")
    amend_item(gated, "A-1", {"closed": ""}, "not so")
    assert said(gated) == ("A-1 is open again",)
    amend_item(gated, "hub", {"ranges": {"y": [1, 2]}, "correlated": {"load": 0.5}}, "so")
    amend_item(gated, "hub", {"ranges": None, "correlated": None}, "not so")
    assert said(gated) == ("hub.y may move: anything", "hub is correlated with nothing")
    amend_item(gated, "R-TORQUE", {"priority": "low"}, "so")
    amend_item(gated, "R-TORQUE", {"priority": ""}, "not so")
    assert said(gated) == ("R-TORQUE priority: nothing",)


# ---------------------------------------------------------------- new fields of old kinds


def test_ranges_and_correlations_of_a_quantity(small: Session) -> None:
    amend_item(
        small,
        "hub",
        {"ranges": {"y": ["590 mm", "0.61 m"], "z": [290, 310]}, "correlated": {"load": "0.8"}},
        "from the package",
    )
    held = named(small, "hub", Quantity)
    assert held.part_ranges == {"y": Range(low=590.0, high=610.0), "z": Range(low=290, high=310)}
    assert held.correlated == {id_of(small, "load"): 0.8}
    page = dict(item_page(small, "hub").facts)
    assert (page["y may move"], page["correlated with load"]) == ("590 to 610 mm", "0.8")
    amend_item(small, "hub", {"title": "Wheel centre"}, "named")
    assert named(small, "hub", Quantity).part_ranges == held.part_ranges


@pytest.mark.parametrize(
    ("fields", "says", "field"),
    [
        ({"ranges": {"y": "590"}}, "a range has two ends", "ranges.y"),
        ({"ranges": {"y": [1]}}, "a range has two ends", "ranges.y"),
        ({"ranges": {"y": ["1 kg", "2 kg"]}}, "kg", "ranges.y"),
        ({"ranges": {"w": [1, 2]}}, "no component 'w'", "ranges"),
        ({"correlated": {"nobody": 0.5}}, "nothing is called", "correlated"),
        ({"correlated": {"load": "0.5 mm"}}, "", "correlated.load"),
        ({"correlated": {"load": 2}}, "not between", "correlated"),
    ],
)
def test_bad_ranges_and_correlations(
    small: Session, fields: Document, says: str, field: str
) -> None:
    with refused(InputError, says, "hub", field):
        amend_item(small, "hub", fields, "try")


def test_the_attributes_of_a_requirement(small: Session) -> None:
    fields = {"rationale": "Hands", "priority": "high", "risk": "Ice"}
    amend_item(small, "R-TORQUE", fields, "asked for")
    held = named(small, "R-TORQUE", Requirement)
    assert (held.rationale, held.priority, held.risk) == ("Hands", Level.HIGH, "Ice")
    page = item_page(small, "R-TORQUE")
    assert ("priority", "high") in page.facts
    assert page.paragraphs == (("rationale", "Hands"), ("risk", "Ice"))
    with refused(BadValueError, "'must' is not one of its values", "R-TORQUE", "priority"):
        amend_item(small, "R-TORQUE", {"priority": "must"}, "try")


def test_criteria_of_a_gate_are_texts_by_name(small: Session) -> None:
    amend_item(small, "G1", {"criteria": {"bases": "calculated"}}, "stricter")
    assert named(small, "G1", Gate).criteria == {"bases": "calculated"}
    assert ("bases", "calculated") in item_page(small, "G1").facts
    with refused(BadValueError, "its values are not texts", "G1", "criteria"):
        amend_item(small, "G1", {"criteria": {"bases": 3}}, "try")
    with refused(InputError, "is no criterion", "G1", "criteria"):
        amend_item(small, "G1", {"criteria": {"no key": "x"}}, "try")


def test_who_took_part_in_a_decision_shows(small: Session) -> None:
    fields = {
        "participants": ["Ann", "Bo, the younger"],
        "dissent": {"Bo, the younger": "Too thin"},
        "assumptions": ["One lock, new", "No ice"],
    }
    amend_item(small, "D-ARM", fields, "minutes")
    page = item_page(small, "D-ARM")
    assert ("participants", "Ann, Bo, the younger") in page.facts
    told = dict(page.paragraphs)
    assert told["dissent of Bo, the younger"] == "Too thin"
    assert told["assumptions"] == "One lock, new\nNo ice"
    settle(small, "D-ARM", "short", "shorter", AGAINST)
    assert named(small, "D-ARM", Decision).assumptions == ("One lock, new", "No ice")


# ---------------------------------------------------------------- out and in again


def test_all_of_it_survives_an_export_and_an_import(gated: Session) -> None:
    amend_item(gated, "hub", {"ranges": {"y": [590, 610]}, "correlated": {"load": 0.5}}, "so")
    amend_item(gated, "R-TORQUE", {"rationale": "Grip", "priority": "low", "risk": "Ice"}, "so")
    amend_item(gated, "G1", {"criteria": {"bases": "quoted"}}, "so")
    amend_item(gated, "D-ARM", {"participants": ["Ann"], "assumptions": ["a, b"]}, "so")
    amend_item(gated, "A-1", {"closed": "Done"}, "so")
    settle(gated, "D-MASS", "forged", "lighter", {"cast": "heavy"})
    set_values(gated, {"R-CELL.upper": "2.5 kg"}, "moved under it")
    review(gated, "D-MASS", "still fine", outcome=Outcome.REOPEN)
    add_items(gated, [{"kind": "decision", "key": "D-NEW", "question": "Which lock?"}], "so")
    supersede(gated, "D-MASS", "D-NEW", "asked otherwise")
    freeze(gated, "G1")
    text = items_text(gated)
    other = empty_session()
    read = read_items(text.encode(), "items.json", other)
    add_items(other, read.documents, "import", read.places)
    mine = {each.key: document_of(gated.programme, each) for each in gated.programme}
    theirs = {each.key: document_of(other.programme, each) for each in other.programme}
    assert mine.pop("B-1")["gate"] == "G1"
    assert "B-1" not in theirs
    assert theirs == mine
    held = named(other, "D-MASS", Decision)
    assert held.superseded_by == id_of(other, "D-NEW")
    assert held.reviews == (
        Review(by="Ann", outcome=Outcome.REOPEN, reason="still fine", on="2031-01-15T08:00:00Z"),
    )


def test_reviews_that_come_in_are_read_strictly(small: Session) -> None:
    bad = {"kind": "decision", "key": "D-X", "question": "Q", "reviews": [{"by": "Ann"}]}
    with refused(BadValueError, "it is missing", "D-X", "reviews reason"):
        add_items(small, [bad], "try")


def test_every_kind_can_be_described(gated: Session) -> None:
    records: list[Record] = [*gated.programme, freeze(gated, "G1")]
    for each in records:
        document = document_of(gated.programme, each)
        assert document["key"] == each.key


def test_what_is_gone_is_told_by_its_id(gated: Session) -> None:
    held = named(gated, "DEV-1", Deviation)
    (told,) = describe(Entry(None, held), lambda _: None)
    assert told == (
        f"DEV-1 accepted: {held.requirement} missed up to 20 until {held.expires} "
        "(approver Chief engineer)"
    )


def test_what_never_happens_has_words_too(gated: Session) -> None:
    """A forged journal may change a baseline; a journal from before reviews has bare footings."""
    held = freeze(gated, "G1")
    nobody = gated.programme.get
    assert describe(Entry(held, replace(held, ready=False)), nobody) == ("B-1 reworded",)
    settle(gated, "D-MASS", "forged", "lighter", {"cast": "heavy"})
    settled = named(gated, "D-MASS", Decision)
    assert describe(Entry(settled, replace(settled, footing=Footing())), nobody) == (
        "D-MASS reviewed: it stands on what holds now",
    )
