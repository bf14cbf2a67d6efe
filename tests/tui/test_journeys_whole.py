"""The five journeys of an engineer's week, each by keyboard and again by mouse.

What the tools cost is counted by hand from the table of the test programme: a set of tools is
bought anew for as many pieces as it is good for.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui.conftest import Documents, OpenApp
from tests.tui.driving import Driver, app_of, page, seen, settled, type_text
from tests.tui.hands import Hand, Keyboard, Mouse
from tracker.services.actions import add_items, amend_item, review, set_values
from tracker.services.session import Session
from tracker.services.wording import CAUTION
from tracker.tui.screens.choose import ChooseScreen, FindScreen
from tracker.tui.screens.comparing import CompareScreen
from tracker.tui.screens.deciding import AdoptScreen, SettleScreen
from tracker.tui.screens.decision import DecisionScreen
from tracker.tui.screens.freezing import FreezeScreen, PackScreen
from tracker.tui.screens.gate import GateScreen, SinceScreen
from tracker.tui.screens.headroom import HeadroomScreen
from tracker.tui.screens.home import HomeScreen
from tracker.tui.screens.item import ItemScreen
from tracker.tui.screens.listing import ListScreen
from tracker.tui.screens.revisions import EarlierScreen, RevisionsScreen
from tracker.tui.screens.roots import RootsScreen
from tracker.tui.screens.trial import TrialScreen
from tracker.tui.widgets.roll import Roll

SIZE = (170, 70)

SPRING: Documents = [
    {"kind": "quantity", "key": "spring_rate", "title": "Rate of the spring", "unit": "N/mm"},
    {"kind": "requirement", "key": "RIDE-2", "statement": "The spring is soft enough",
     "quantity": "spring_rate", "upper": "30 N/mm", "lower": "10 N/mm", "gate": "G2"},
]  # fmt: skip

by_either_hand = pytest.mark.parametrize(
    "hand", [Keyboard(), Mouse()], ids=["by keyboard", "by mouse"]
)


def told(pilot: Driver) -> str:
    """Everything the page that is up says, in one line."""
    return " ".join(" ".join(each.text for each in pilot.app.screen.query(Roll)).split())


async def begin(pilot: Driver) -> None:
    await settled(pilot)
    page(pilot, HomeScreen)


async def find(hand: Hand, pilot: Driver, key: str) -> None:
    """Go to an item from anywhere."""
    await hand.do(pilot, "find")
    page(pilot, FindScreen)
    await type_text(pilot, key)
    await hand.open(pilot, key)
    assert page(pilot, ItemScreen).key == key


async def describe_the_spring(hand: Hand, pilot: Driver) -> None:
    """Fill the form: the question, what it serves and sets, and two options with a number each."""
    typed = {
        "key": "D-SPRING", "question": "How stiff is the front spring?", "serves": "RIDE-2",
        "sets": "spring_rate", "owner": "chassis", "gate": "G2",
        "1 key": "soft", "1 title": "The softer one", "1 value spring_rate": "24 N/mm",
        "2 key": "firm", "2 title": "The firmer one", "2 value spring_rate": "34 N/mm",
    }  # fmt: skip
    for name, text in typed.items():
        await hand.put(pilot, name, text)


@by_either_hand
async def test_logging_a_trade_off(hand: Hand, make_app: OpenApp, other: Session) -> None:
    """24 N/mm is 6 below the upper bound, 60 % of half the band of 20; 34 is 4 above it."""
    add_items(other, SPRING, "a spring is wanted")
    async with make_app().run_test(size=SIZE) as pilot:
        await begin(pilot)
        await hand.do(pilot, "new decision")
        page(pilot, DecisionScreen)
        await describe_the_spring(hand, pilot)
        await hand.do(pilot, "store")
        assert "new decision D-SPRING" in seen(pilot)
        await find(hand, pilot, "D-SPRING")
        assert "missed RIDE-2" in told(pilot)  # under the firm one
        await hand.do(pilot, "settle")
        page(pilot, SettleScreen)
        await hand.pick(pilot, "option", "soft")
        await hand.put(pilot, "why", "it rides well")
        await hand.do(pilot, "store")
        page(pilot, SettleScreen)
        assert "a reason is wanted here" in seen(pilot)
        await hand.put(pilot, "against firm", "it misses RIDE-2 by 4 N/mm")
        await hand.do(pilot, "store")
        assert page(pilot, ItemScreen).key == "D-SPRING"
        assert "D-SPRING settled on soft" in seen(pilot)
        for text in (
            "it rides well",
            "it misses RIDE-2 by 4 N/mm",
            "stands",
            "+6 N/mm (+60 %)",
            "-40 %",
        ):
            assert text in told(pilot)
        assert CAUTION in " ".join(seen(pilot).split())


@by_either_hand
async def test_typing_a_number_and_seeing_at_once(
    hand: Hand, make_app: OpenApp, other: Session
) -> None:
    """8000 a year for 6 years are 48 000 vehicles; each tool counts in thousands of EUR.

    Two knuckle tools, one a side, good for 60 000 each: 2 x 78. Arms fit both sides, 96 000 of
    them from tools good for 80 000: 2 x 128. Frames from tools good for 30 000: 2 x 92. In all
    596, which passes the budget of 400 by 196, 49 % of it.
    """
    async with make_app().run_test(size=SIZE) as pilot:
        await begin(pilot)
        await hand.do(pilot, "quantities")
        page(pilot, ListScreen)
        await hand.open(pilot, "volume")
        await hand.do(pilot, "edit and try")
        page(pilot, TrialScreen)
        await hand.put(pilot, "volume", "8000")
        ripple = told(pilot)
        assert "would break: COST-1 is missed" in ripple
        assert "376 000 → 596 000 EUR" in ripple
        assert "−196 000 EUR (−49 %)" in ripple
        other.refresh()
        assert other.head.revision == 6  # nothing is stored yet
        await hand.do(pilot, "adopt")
        page(pilot, AdoptScreen)
        await hand.put(pilot, "why", "a second plant")
        await hand.pick(pilot, "basis", "quoted")
        await hand.do(pilot, "store")
        assert page(pilot, ItemScreen).key == "volume"
        assert "volume: 4000 vehicle/year → 8000 vehicle/year (quoted)" in seen(pilot)
        await hand.do(pilot, "undo my last change")
        assert "Undid change 7 (a second plant)" in seen(pilot)
        assert "4000 vehicle/year" in told(pilot)


@by_either_hand
async def test_can_we_change_this_requirement(
    hand: Hand, make_app: OpenApp, other: Session
) -> None:
    """The tools cost 596 000 EUR, which is tight below 700 000 with its guard of a fifth.

    A tool of 30 000 frames lasts 8000 a year for 3.75 years.
    """
    amend_item(other, "years", {"low": "1", "high": "10"}, "as far as anybody plans")
    amend_item(other, "COST-1", {"upper": "900000 EUR"}, "a wide budget to begin with")
    set_values(other, {"volume": "8000"}, "the market says so")
    review(other, "D-TOOLS", "it holds with these, too")
    async with make_app().run_test(size=SIZE) as pilot:
        await begin(pilot)
        await hand.do(pilot, "requirements")
        await hand.open(pilot, "COST-1")
        assert page(pilot, ItemScreen).key == "COST-1"
        await hand.do(pilot, "edit and try")
        page(pilot, ChooseScreen)
        await hand.open(pilot, "COST-1.upper")
        page(pilot, TrialScreen)
        await hand.put(pilot, "COST-1.upper", "800000 EUR")
        assert "D-TOOLS would need another look" in told(pilot)
        assert "would break" not in told(pilot)
        await hand.put(pilot, "COST-1.upper", "700000 EUR")
        assert "D-TOOLS would be strained: COST-1 is tight" in told(pilot)
        await hand.put(pilot, "COST-1.upper", "400000 EUR")
        assert "D-TOOLS would break: COST-1 is missed" in told(pilot)
        await hand.do(pilot, "what mends it")
        assert "years: 6 → 3.75 year" in told(pilot)
        await hand.open(pilot, "=0/0")
        assert "Taken into the trial: years" in seen(pilot)
        assert set(app_of(pilot).trial.edits) == {"COST-1.upper", "years"}
        assert "would break" not in told(pilot)
        await hand.do(pilot, "drop all")
        assert "nothing was stored" in seen(pilot)
        await hand.view(pilot, "headroom")
        assert page(pilot, HeadroomScreen).key == "COST-1"
        await settled(pilot)
        assert "596 000" in told(pilot)  # no budget below what the tools cost
        other.refresh()
        assert other.head.revision == 10


async def write_the_pack(hand: Hand, pilot: Driver, folder: Path) -> None:
    await hand.do(pilot, "pack")
    page(pilot, PackScreen)
    await hand.put(pilot, "path", str(folder))
    await hand.put(pilot, "formats", "md, json")
    await hand.do(pilot, "store")
    page(pilot, GateScreen)


@by_either_hand
async def test_defending_at_a_gate(
    hand: Hand, make_app: OpenApp, other: Session, tmp_path: Path
) -> None:
    folder = tmp_path / "pack"
    async with make_app().run_test(size=SIZE) as pilot:
        await begin(pilot)
        await hand.view(pilot, "gates")
        assert page(pilot, GateScreen).key == "G1"
        assert "not ready" in told(pilot)
        await hand.open(pilot, "D-GEAR")
        assert page(pilot, ItemScreen).key == "D-GEAR"
        await hand.do(pilot, "back")
        await hand.do(pilot, "freeze")
        page(pilot, FreezeScreen)
        await hand.do(pilot, "store")
        page(pilot, FreezeScreen)  # it is not ready: that wants a reason
        await hand.put(pilot, "why", "the gear is on order")
        await hand.do(pilot, "store")
        page(pilot, GateScreen)
        assert "is frozen as G1-1" in seen(pilot)
        assert "the gear is on order" in told(pilot)
        await write_the_pack(hand, pilot, folder)
        assert "Wrote G1-1.md, G1-1.json" in seen(pilot)
        written = (folder / "G1-1.md").read_text(encoding="utf-8")
        assert "the gear is on order" in written
        assert "D-GEAR" in written
        other.refresh()
        set_values(other, {"volume": "5000"}, "sales again")
        app_of(pilot)._look_around()
        await settled(pilot)
        await hand.do(pilot, "what changed since it was frozen")
        page(pilot, SinceScreen)
        assert "4000 vehicle/year → 5000 vehicle/year" in told(pilot)
        assert "sales again" in told(pilot)


@by_either_hand
async def test_explaining_two_years_later(hand: Hand, make_app: OpenApp) -> None:
    async with make_app().run_test(size=SIZE) as pilot:
        await begin(pilot)
        await find(hand, pilot, "tooling")
        await hand.do(pilot, "why is this so")
        page(pilot, RootsScreen)
        await hand.open(pilot, "C-TOOLS")
        await hand.open(pilot, "volume")
        assert "4000 vehicle/year" in told(pilot)
        assert "sales asked for more" in told(pilot)
        await hand.do(pilot, "open its page")
        assert page(pilot, ItemScreen).key == "volume"
        history = told(pilot)
        for text in ("Ada", "start the programme", "sales asked for more"):
            assert text in history
        await hand.do(pilot, "look at an earlier revision, or back to now")
        page(pilot, EarlierScreen)
        await hand.open(pilot, "5")
        assert app_of(pilot).where.revision == 5
        await find(hand, pilot, "volume")
        assert "3500 vehicle/year" in told(pilot)
        assert "4000 vehicle/year" not in told(pilot)
        await hand.do(pilot, "look at an earlier revision, or back to now")
        assert app_of(pilot).where.revision == 6
        await hand.view(pilot, "compare")
        page(pilot, CompareScreen)
        await hand.do(pilot, "earlier revision")
        page(pilot, RevisionsScreen)
        await hand.open(pilot, "2")
        differing = told(pilot)
        assert "What differs between revision 2 and now?" in differing
        assert "3500 vehicle/year → 4000 vehicle/year" in differing
        assert "D-TOOLS" in differing
