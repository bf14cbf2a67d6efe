"""mend and why: what they tell, as text and as JSON, what can be adopted, and how they stop."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Callable

import pytest

from tests.integration.cli.conftest import Cli
from tracker.bootstrap import open_session
from tracker.cli.commands import mending
from tracker.cli.page import Page
from tracker.cli.terminal import look_of
from tracker.cli.text.mending import why_text
from tracker.errors import CancelledError
from tracker.services.explaining import why
from tracker.services.mending import mend
from tracker.services.mending_views import CauseView, WhyView
from tracker.services.wording import CAUTION


@pytest.fixture
def overrun(cli: Cli) -> Cli:
    """Make 12,000 a year, for which two sets of tools are not enough."""
    fields = ("low=1000", "high=15000", "tolerance=500")
    assert cli("amend", "volume", *fields, "--why", "what the line can do").code == 0
    assert cli("set", "volume=12000", "--why", "the plan grows").code == 0
    return cli


def test_mend_has_the_promised_keys(overrun: Cli, head: Callable[[], str]) -> None:
    """Two sets are enough for 120,000 pieces: 10,000 vehicles a year for six years."""
    before = head()
    told = overrun("mend", "--json")
    assert told.code == 0
    proposal = told.json["proposals"][0]
    edit = proposal["edits"][0]
    assert (edit["key"], edit["from"], edit["unit"]) == ("volume", 12_000, "vehicle/year")
    assert edit["to"] == pytest.approx(10_000, rel=1e-9)
    assert proposal["cost"] == pytest.approx(2 / 14, rel=1e-8)
    assert (proposal["restores"], proposal["breaks"]) == (["D-1"], [])
    assert told.json["decisions"][0]["ranges"][0]["key"] == "volume"
    assert told.json["caution"] == CAUTION
    assert head() == before


def test_mend_as_text_can_be_adopted(overrun: Cli) -> None:
    told = overrun("mend", "D-1")
    assert told.code == 0
    assert "D-1  broken: COST-1 is missed" in told.out
    assert "move      volume 12000 → 10000 vehicle/year" in told.out
    assert "proven: no smaller move of it mends" in told.out
    assert "Moved: volume 1000 to 15000 vehicle/year; 1 other options" in told.out
    assert CAUTION in told.out
    line = next(each for each in told.out.splitlines() if "adopt" in each)
    words = shlex.split(line.partition("whybone ")[2].replace("…", "'less will do'"))
    assert overrun(*words).code == 0
    assert "There is nothing to mend" in overrun("mend", "D-1").out
    assert "Nothing is broken" in overrun("mend").out


def test_another_option_mends(cli: Cli) -> None:
    cli("lean", "D-1", "b")
    told = cli("mend")
    assert told.code == 0
    assert "1. costs 1; another option" in told.out
    assert "lean      D-1 b → a" in told.out
    assert "No adjustable number has a say in it; 1 other options" in told.out
    assert "adopt     whybone lean D-1 a" in told.out
    found = cli("mend", "--json").json["proposals"][0]
    assert found["leans"] == {"D-1": "a"}
    assert (found["edits"][0]["from"], found["edits"][0]["to"]) == ("b", "a")


def test_it_cannot_be_mended(cli: Cli) -> None:
    cli("set", "GAP-1.lower=50 mm", "--why", "the disc grows")
    told = cli("mend")
    assert told.code == 1
    assert "It cannot be mended within the adjustable ranges." in told.out
    assert cli("mend", "--json").json["proposals"] == []


def test_an_open_decision_is_unproven_and_mended_by_an_option(cli: Cli) -> None:
    cli("withdraw", "D-1", "--why", "not now")
    refused = cli("mend", "D-1")
    assert (refused.code, "Reopen D-1 first" in refused.err) == (2, True)
    cli("reopen", "D-1", "--why", "again")
    assert cli("mend", "D-1", "--json").json["proposals"][0]["edits"][0]["from"] is None
    assert "lean      D-1 open → a" in cli("mend", "D-1").out


def test_a_strained_decision_is_mended_when_told_to(overrun: Cli) -> None:
    overrun("set", "volume=9000", "COST-1.upper=160000 EUR", "--why", "a tight budget")
    assert "Nothing is broken" in overrun("mend").out
    told = overrun("mend", "--strained", "--json").json["proposals"][0]
    assert told["restores"] == ["D-1"]
    assert told["edits"][0]["to"] == pytest.approx(5000, rel=1e-9)


def test_components_of_points_move(cli: Cli) -> None:
    """A given point is set by its component, an option's whole; settled options stay."""
    cli("amend", "joint", "low=150", "high=260", "--why", "what the knuckle allows")
    cli("add", "requirement", "R-Z", "statement=Low", "quantity=joint.z", "upper=200 mm")
    cli("amend", "D-1", 'serves=["COST-1", "GAP-1", "R-Z"]', "--why", "it must sit low")
    found = cli("mend", "--json").json["proposals"][0]
    assert found["values"] == {"joint.z": "200.0"}
    assert found["proven"]
    assert "proven: no smaller move of it mends" in cli("mend").out
    option = '[{"key": "x", "title": "X", "settings": {"ball": {"value": "[1, 2, 30] mm"}}}]'
    cli("add", "quantity", "ball", "title=Ball", "type=point", "unit=mm", "low=10", "high=40")
    cli("add", "requirement", "R-B", "statement=Low", "quantity=ball.z", "upper=25 mm")
    cli("add", "decision", "D-B", "question=Where?", "serves=R-B", f"options={option}")
    cli("lean", "D-B", "x")
    ball = cli("mend", "D-B", "--json").json["proposals"][0]
    assert ball["values"] == {"D-B/x.ball": "[1.0, 2.0, 25.0]"}
    assert ball["edits"][0]["key"] == "ball.z"


def pairing(cli: Cli) -> None:
    """n whole pieces, two of them wanted up to 6, and a factor of up to 1.5: 12 needs both."""
    cli("add", "quantity", "n", "title=N", "type=integer", "value=3", "low=1", "high=6")
    cli("add", "quantity", "k", "title=K", "value=1", "low=1", "high=1.5")
    cli("add", "quantity", "made", "title=Made")
    cli("add", "requirement", "R-N", "statement=Many", "quantity=made", "lower=7.5")
    cli("add", "quantity", "few", "title=Few")
    cli("add", "requirement", "R-F", "statement=Few", "quantity=n", "upper=5")
    option = 'options=[{"key": "x", "title": "X"}]'
    cli("add", "decision", "D-N", "question=Many?", 'serves=["R-N", "R-F"]', option)
    config = '{"expression": "n * k", "inputs": "n, k", "unit": ""}'
    added = cli(
        "add", "check", "C-N", "title=N", "check=formula", "decision=D-N", f"config={config}",
        'inputs={"n": "n", "k": "k"}', 'outputs={"result": "made"}',
    )  # fmt: skip
    assert added.code == 0, added.err


def test_a_pair_mends_and_says_what_gets_worse(cli: Cli) -> None:
    pairing(cli)
    told = cli("mend", "D-N")
    assert "a pair, not proven to be the smallest" in told.out
    assert "worsens   R-F met → tight at 5" in told.out
    assert "pairs of these" in told.out
    found = cli("mend", "D-N", "--json").json["proposals"][0]
    assert found["values"]["n"] == "5"
    assert float(found["values"]["k"]) == pytest.approx(1.5, abs=1e-9)


def test_what_is_sampled_is_not_called_proven(cli: Cli) -> None:
    pairing(cli)
    cli("set", "R-N.lower=4", "--why", "fewer will do")
    told = cli("mend", "D-N").out
    assert "the nearest found, not proven to be the nearest" in told
    assert "move      k 1 → 1.33333" in told


def test_prices_are_read_and_refused(overrun: Cli) -> None:
    priced = overrun("mend", "--price", "volume=0.001", "--json").json["proposals"][0]
    assert priced["cost"] == pytest.approx(2.0, rel=1e-6)
    assert "it is no number" in overrun("mend", "--price", "volume=dear").err
    assert "zero or more" in overrun("mend", "--price", "volume=-1").err
    assert overrun("mend", "--price", "nobody=1").code == 2


def test_why_as_text_and_as_json(overrun: Cli, head: Callable[[], str]) -> None:
    overrun("set", "years=5.9", "--why", "sooner")
    before = head()
    told = overrun("why", "COST-1")
    assert told.code == 0
    assert "Last met at revision 4; then Mara, revision 5: the plan grows" in told.out
    assert "volume  3500 → 12000 vehicle/year" in told.out
    assert "Upstream differs since then: volume, years" in told.out
    assert CAUTION in told.out
    found = overrun("why", "COST-1", "--json").json
    assert (found["met_at"], found["smallest"]) == (4, True)
    assert found["sets"] == [
        [{"key": "volume", "then": "3500", "now": "12000", "unit": "vehicle/year"}]
    ]
    assert head() == before


def test_why_names_options_bands_and_checks(cli: Cli) -> None:
    cli("lean", "D-1", "b")
    assert "D-1  a → b" in cli("why", "GAP-1").out
    cli("lean", "D-1", "a")
    cli("set", "GAP-1.lower=20 mm", "--why", "the disc grows")
    assert "GAP-1  at least 8 mm → at least 20 mm" in cli("why", "GAP-1").out
    cli("withdraw", "D-1", "--why", "not now")
    told = cli("why", "GAP-1").out
    assert "D-1    a → no option" in told
    assert "GAP-1  at least 8 mm → at least 20 mm" in told
    cli("set", "volume=", "--why", "nobody knows")
    assert "volume  3500 → unknown vehicle/year" in cli("why", "COST-1").out


def test_why_where_another_check_is_the_cause(cli: Cli) -> None:
    inputs = '{"parts": "parts", "volume_per_year": "volume", "years": {"value": "60 year"}}'
    made = cli("amend", "C-1", f"inputs={inputs}", "--why", "far ahead")
    assert made.code == 0, made.err
    told = cli("why", "COST-1").out
    assert "No values put back would have it met again." in told
    assert "Checks upstream that are new or bound otherwise: C-1" in told


def test_why_has_nothing_to_explain_or_nothing_to_compare_with(cli: Cli) -> None:
    assert "There is nothing to explain" in cli("why", "GAP-1").out
    cli("add", "requirement", "R-W", "statement=Wide", "quantity=width", "lower=200 mm")
    assert "It was never met" in cli("why", "R-W").out
    assert cli("why", "nobody").code == 2


def test_why_stops_when_asked(overrun: Cli, program: str) -> None:
    assert "broken" in overrun("status").out
    session = open_session(program, "Mara")
    with pytest.raises(CancelledError, match="stopped at revision 5"):
        why(session, "COST-1", cancel=lambda: True)
    with pytest.raises(CancelledError):
        mend(session, "D-1", cancel=lambda: True)
    assert why(session, "COST-1").met_at == mend(session, "D-1").revision - 1
    session.store.close()


def test_a_shrunk_set_says_so() -> None:
    cause = CauseView(key="p", then="1", now="2", unit="mm")
    view = WhyView(
        revision=9, requirement="R", verdict="missed", text="7", unit="mm", required="at most 5 mm",
        met_at=3, broken_by="Mara, revision 4: why not", sets=((cause,),), smallest=False,
        changed=(cause,), checks=(), caution=CAUTION,
    )  # fmt: skip
    page = Page(look_of(sys.stdout))
    why_text(page, view)
    assert "No part of these would do; a smaller set of others might." in str(page)


def test_ctrl_c_says_how_far_it_got(
    overrun: Cli, monkeypatch: pytest.MonkeyPatch, head: Callable[[], str]
) -> None:
    def stopped(*_: object, progress: Callable[[str], None], **__: object) -> None:
        progress("129 values looked at")
        raise KeyboardInterrupt

    before = head()
    for name in ("mend", "why"):
        monkeypatch.setattr(mending, name, stopped)
        told = overrun(name, "COST-1")
        assert told.code == 130
        assert "got as far as: 129 values looked at. The programme is untouched" in told.err
    assert head() == before
