"""Answers to questions of many values: right, within their lines, nothing hidden in them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from rich.cells import cell_len

from tracker.services.change_views import Comparison, ItemChange, StandingChange
from tracker.services.explore_views import (
    ChanceView,
    DriversView,
    DriverView,
    HeadroomView,
    IntervalView,
    OwnerView,
    PairView,
    ScatterView,
    SpreadView,
    StretchView,
    SummaryView,
)
from tracker.services.mending_views import (
    CauseView,
    EditView,
    MendedView,
    MendView,
    ProposalView,
    RangeView,
    WhyView,
    WorseView,
)
from tracker.services.set_views import (
    BesideView,
    ConflictView,
    GroupView,
    KilledView,
    OpenDecisionView,
    SetsView,
    SetView,
    ShareView,
)
from tracker.services.views import HistoryLine
from tracker.tui.desk import Where
from tracker.tui.face import Face
from tracker.tui.layout.asking import Asked, item_of, percent, revision_at, status_lines
from tracker.tui.layout.comparing import comparison_lines
from tracker.tui.layout.drivers import drivers_lines
from tracker.tui.layout.headroom import Reach, headroom_lines, nearness, reach_bar
from tracker.tui.layout.mending import mending_lines
from tracker.tui.layout.option_sets import set_at, sets_lines
from tracker.tui.layout.paper import Paper
from tracker.tui.layout.reasons import Reasons, reasons_lines
from tracker.tui.layout.spread import chance_bar, moving, spread_lines
from tracker.tui.looking import CHANGING, why_not_then
from tracker.tui.places.index import BY_NAME
from tracker.tui.visits import visited_words

WIDE, PLAIN = Face(), Face(ascii_only=True)
CAUTION = "Screening calculations."
HOSTILE = (
    "D-1",
    "[red]x[/red]",
    "[@click=app.quit]go[/]",
    "\x1b[2J\x1b]0;t\x07",
    "\u202egnitsixe",
    "a\u2028b\u2029c\u0085d",
    "zero\u200bwidth\ufeff",
    "e\u0301\u0301\u0301\u0301",
    "漢字" * 40,
    "x" * 500,
    "",
)
Lay = Callable[[Paper], None]


def texts(lay: Lay, width: int = 100, face: Face = WIDE) -> list[str]:
    paper = Paper(width, face)
    lay(paper)
    return [each.text.rstrip() for each in paper.lines]


# --- the views, with a text wherever the programme's own texts go


def interval(text: str = "volume") -> IntervalView:
    stretch = StretchView(
        key=text, low=3000.0, high=5000.0, breaks_low=False, breaks_high=True, certified=True
    )
    return IntervalView(
        key=text, value=4000.0, unit=text, low=3000.0, high=5000.0, breaks_low=(),
        breaks_high=(text,), because_low=(), because_high=(text,), certified=False,
        resolution=12.5, decisions=(stretch,), kept=(), lost=(), text="4000",
        low_text="3000", high_text="5000",
    )  # fmt: skip


def choice(kept: tuple[str, ...], lost: tuple[str, ...], text: str = "gear") -> IntervalView:
    return replace(
        interval(text), value="ahead", low=None, high=None, breaks_high=(), because_high=(),
        kept=kept, lost=lost, decisions=(), text=text, certified=True, resolution=None,
    )  # fmt: skip


def flag(text: str = "turned") -> IntervalView:
    return replace(choice((), (), text), value=True, kept=(True,), lost=(False,))


def head_view(text: str = "D-1") -> HeadroomView:
    calm = replace(interval(text), high=None, breaks_high=(), because_high=(), certified=True)
    unknown = replace(interval(text), because_high=(), low=None)
    return HeadroomView(
        revision=7, standing=(text,), caution=CAUTION,
        intervals=(
            interval(text), choice((text,), (text, "b"), text), flag(text), calm, unknown,
            replace(choice((text,), (), text), lost=()),
            replace(interval(text), key=f"{text}.upper"),
        ),
    )  # fmt: skip


def driver(text: str, effect: float | None, slope: float | None = -0.5) -> DriverView:
    return DriverView(
        key=text, text=text, unit=text, slope=slope, slope_unit=text,
        slope_text="" if slope is None else "−0.5", doubt=1e-9, analytic=effect == 1.0,
        swing=2.0, by="tolerance", effect=effect, share=0.5, words=text or "nothing",
    )  # fmt: skip


def drivers_view(text: str = "a") -> DriversView:
    return DriversView(
        revision=7, requirement=text, subject=text, text=text, unit=text, verdict="tight",
        drivers=(driver(text, -2.0), driver(text, 1.0, 0.5), driver(text, None, None)),
        caution=CAUTION,
    )  # fmt: skip


def owners(text: str) -> tuple[OwnerView, ...]:
    return (OwnerView(key=text, first=0.6, total=0.7), OwnerView(key=text, first=0, total=0.001))


def chance(text: str = "D-1", low: float = 0.4, high: float = 0.6) -> ChanceView:
    return ChanceView(
        key=text, standing="stands", p_stands=(low + high) / 2, low=low, high=high, n=4096,
        owners=owners(text),
    )  # fmt: skip


def summary(text: str = "R-1", missed: float = 0.25) -> SummaryView:
    return SummaryView(
        judge=text, subject=text, required=text, unit=text, missed=missed, unknown=0.1, mean=2.0,
        deviation=0.5, low=1.0, high=3.0, edges=(1.0, 2.0, 3.0), counts=(5, 5),
        owners=owners(text), lower=1.5,
    )  # fmt: skip


def spread_view(text: str = "a") -> SpreadView:
    return SpreadView(
        revision=7, n=4096, reached=False, half_width=0.005, confidence=0.95, seed=1,
        decisions=(chance(text), chance(text, 0.995, 1.0)),
        quantities=(summary(text), replace(summary(text, 0.0), deviation=None), summary(text, 0.0)),
        scatter=(
            ScatterView(key=text, text=text, unit=text, half_width=2.0, shape="normal",
                        meaning=text),
        ),
        idle=(text,), correlated=(PairView(one=text, other=text, coefficient=0.5),),
        unpaired=(text,), caution=CAUTION,
    )  # fmt: skip


def proposal(text: str, *, leans: bool = False, proven: bool = False, n: int = 1) -> ProposalView:
    edit = EditView(key=text, before=6.0, after=3.75, unit=text, before_text="6", after_text=text)
    return ProposalView(
        decision=text, edits=(edit,) * n, cost=0.25, money=0.1, proven=proven, restores=(text,),
        breaks=(text,), worsens=(WorseView(judge=text, before="met", after="tight", text=text),),
        look=(text,), values={} if leans else {text: "3.75"}, leans={text: "b"} if leans else {},
    )  # fmt: skip


def mend_view(text: str = "D-1") -> MendView:
    found = MendedView(
        decision=text, standing="broken", why=text, stands=False, mended=True,
        proposals=(
            proposal(text), proposal(text, proven=True), proposal(text, n=2),
            proposal(text, leans=True),
        ),
        ranges=(RangeView(key=text, low=1.0, high=10.0, unit=text),), paired=True, options=2,
    )  # fmt: skip
    none = replace(found, mended=False, proposals=(), ranges=(), paired=False, options=0)
    return MendView(
        revision=7, caution=CAUTION, decisions=(found, none, replace(none, stands=True, why=""))
    )


def sets_view(text: str = "D-1") -> SetsView:
    conflict = ConflictView(
        requirement=text, verdict="missed", choices=(), itself=True, words=text or "it is missed"
    )
    return SetsView(
        revision=7, count=2, total=12345, evaluated=6, goal=text,
        decisions=(
            OpenDecisionView(
                key=text, question=text, state="open",
                options=(
                    ShareView(option=text, title=text, count=2, group_count=2),
                    ShareView(option="hard", title=text, count=0, group_count=0),
                    ShareView(option="other", title=text, count=0, group_count=3),
                ),
            ),
        ),
        groups=(
            GroupView(decisions=(text,), total=3, count=2),
            GroupView(decisions=(text,), total=2, count=0),
        ),
        killed=(
            KilledView(decision=text, option="hard", others=(), conflicts=(conflict,) * 6,
                       left_out=3, smallest=False),
        ),
        sets=(
            SetView(options={text: text}, margin=0.25, closest=text, value=1.0, text=text),
            SetView(options={text: text}, margin=None, closest="", value=None, text=""),
        ),
        beside=(BesideView(requirement=text, verdict="unknown"),), caution=CAUTION,
    )  # fmt: skip


def history(text: str) -> HistoryLine:
    return HistoryLine(revision=8, at="2026-01-05T08:00:00Z", author=text, reason=text, what=())


def why_view(text: str = "R-1") -> Reasons:
    cause = CauseView(key=text, then=text, now=text, unit=text)
    view = WhyView(
        revision=9, requirement=text, verdict="missed", text=text, unit=text, required=text,
        met_at=7, broken_by=text, sets=((cause,), (cause, cause)), smallest=False,
        changed=(cause, replace(cause, key="other")), checks=(text,), caution=CAUTION,
    )  # fmt: skip
    return Reasons(view, {text: (history(text),)})


def comparison(text: str = "D-1") -> Comparison:
    return Comparison(
        earlier=7, later=9, look=(text,), findings=(), caution=CAUTION,
        standings=(
            StandingChange(decision=text, before="stands", after="broken", why=text),
            StandingChange(decision=text, before="", after=""),
        ),
        items=(
            ItemChange(key=text, kind="quantity", what=(text,), title=text,
                       consequence="restored", reasons=(history(text),)),
            ItemChange(key=text, kind="decision", what=(), consequence="broken"),
        ),
    )  # fmt: skip


PAGES: dict[str, Callable[[Paper, str], None]] = {
    "headroom": lambda paper, text: headroom_lines(paper, head_view(text)),
    "drivers": lambda paper, text: drivers_lines(paper, drivers_view(text)),
    "spread": lambda paper, text: spread_lines(paper, spread_view(text), 0, owners=False),
    "mend": lambda paper, text: mending_lines(paper, mend_view(text)),
    "sets": lambda paper, text: sets_lines(paper, sets_view(text)),
    "why": lambda paper, text: reasons_lines(paper, why_view(text)),
    "compare": lambda paper, text: comparison_lines(paper, comparison(text)),
    "status": lambda paper, text: status_lines(
        paper, Asked(text, words=text, failed=True, answered=7, revision=8)
    ),
}


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("width", [76, 158])
@pytest.mark.parametrize("face", [WIDE, PLAIN], ids=["wide", "plain"])
def test_no_text_leaves_its_line_hides_a_character_or_is_anything_but_text(
    page: str, width: int, face: Face
) -> None:
    for text in HOSTILE:
        paper = Paper(width, face)
        PAGES[page](paper, text)
        for line in paper.lines:
            assert cell_len(line.text) <= width, (text, line.text)
            assert all(char.isprintable() for char in line.text), line.text
            assert not face.ascii_only or line.text.isascii(), line.text
        if text == "[red]x[/red]":
            assert any("[red]" in line.text for line in paper.lines)


# --- headroom


@pytest.mark.parametrize("face", [WIDE, PLAIN], ids=["wide", "plain"])
@pytest.mark.parametrize("width", [8, 20, 61])
@pytest.mark.parametrize("value", [3000.0, 3999.0, 5000.0])
@pytest.mark.parametrize(("low", "high"), [(3000.0, 5000.0), (None, 5000.0), (3000.0, None)])
def test_a_bar_marks_the_present_value_between_its_ends(
    face: Face, width: int, value: float, low: float | None, high: float | None
) -> None:
    bar = reach_bar(Reach(value, low, high, breaks_low=True, breaks_high=True), width, face)
    assert len(bar) == width
    bound, outside, now = ("|", "x", "O") if face.ascii_only else ("│", "▓", "◆")
    assert bar.count(now) == 1
    assert bar.count(bound) == (low is not None) + (high is not None)
    assert (bar[0] == outside) == (low is not None)
    assert (bar[-1] == outside) == (high is not None)


def test_what_lies_beyond_is_free_where_nothing_breaks() -> None:
    bar = reach_bar(Reach(5.0, 0.0, 10.0, breaks_low=False, breaks_high=True), 40, WIDE)
    assert bar.startswith("    │━")
    assert bar.endswith("━│▓▓▓▓")
    assert abs(bar.index("◆") - 20) <= 1  # half way


def test_on_a_common_scale_the_narrower_reach_is_the_shorter_bar() -> None:
    scale = (0.0, 100.0)
    lengths = [
        reach_bar(Reach(50.0, 50.0 - half, 50.0 + half, breaks_low=True, breaks_high=True), 70,
                  WIDE, scale).count("━")
        for half in (10.0, 20.0, 40.0)
    ]  # fmt: skip
    assert lengths == sorted(lengths)
    assert lengths[2] == pytest.approx(4 * lengths[0], abs=4)


def test_a_value_that_cannot_move_has_a_bar_all_the_same() -> None:
    bar = reach_bar(Reach(0.0, 0.0, 0.0, breaks_low=True, breaks_high=True), 20, WIDE)
    assert bar.count("◆") == 1


def test_the_nearest_to_breaking_comes_first() -> None:
    assert nearness(interval()) == pytest.approx(0.5)  # 1000 of 2000
    assert nearness(replace(interval(), value=4800.0)) == pytest.approx(0.1)
    assert nearness(replace(interval(), breaks_high=())) == 1.0
    assert nearness(choice(("a",), ("b",))) == 0.0
    assert nearness(choice(("a",), ())) == 1.0
    near = replace(interval("near"), value=4900.0, text="4900")
    view = replace(head_view(), intervals=(interval("far"), near))
    lines = texts(lambda paper: headroom_lines(paper, view))
    assert next(each.split()[0] for each in lines if "4900" in each or "4000" in each) == "near"


def test_headroom_says_what_breaks_and_how_sure_it_is() -> None:
    view = replace(head_view(), intervals=(interval(),))
    shown = " ".join(texts(lambda paper: headroom_lines(paper, view)))
    assert "above 5000 volume first volume breaks, on volume" in shown
    assert "sampled at most 12.5 volume apart" in shown
    assert "below" not in shown
    shown = " ".join(texts(lambda paper: headroom_lines(paper, head_view())))
    assert "stands with yes; breaks with no" in shown
    assert "on a value that becomes unknown" in shown
    assert "Nothing breaks as far as these may move" in shown
    assert "Bounds" in shown


def test_headroom_of_nothing_and_of_what_does_not_stand_says_so() -> None:
    empty = HeadroomView(revision=7, standing=(), caution=CAUTION, intervals=())
    assert "Nothing is adjustable" in texts(lambda paper: headroom_lines(paper, empty))[0]
    shown = texts(lambda paper: headroom_lines(paper, empty, decision="D-1"))
    assert shown == ["D-1 does not stand now: there is no headroom to keep."]
    stands = replace(empty, standing=("D-1",))
    shown = texts(lambda paper: headroom_lines(paper, stands, decision="D-1"))
    assert shown[0].startswith("Nothing that D-1 depends on is adjustable")


def test_money_keeps_its_thousands() -> None:
    money = replace(interval(), high=534800.0, value=500000.0)
    view = replace(head_view(), intervals=(money,))
    assert any("534 800" in each for each in texts(lambda paper: headroom_lines(paper, view)))


# --- the others


def test_drivers_are_as_long_as_their_effects_and_differ_by_direction() -> None:
    lines = texts(lambda paper: drivers_lines(paper, drivers_view()), 138)
    lowering = next(each for each in lines if "▓▓" in each)
    raising = next(each for each in lines if "██" in each)
    assert lowering.count("▓") == pytest.approx(2 * raising.count("█"), abs=1)
    assert any("exact" in each for each in lines)
    assert any("known to ±1e-09 from differences" in each for each in lines)
    none = replace(drivers_view(), drivers=())
    assert texts(lambda paper: drivers_lines(paper, none))[-1] == "It depends on no other value."


def test_a_probability_is_a_share_of_its_bar() -> None:
    assert chance_bar(chance(low=0.5, high=0.75), 20, WIDE) == "█" * 10 + "░" * 5 + " " * 5
    assert chance_bar(chance(low=0.0, high=1.0), 4, PLAIN) == "----"


@pytest.mark.parametrize(
    ("share", "text"),
    [(0.0, "0 %"), (1.0, "100 %"), (0.8333, "83.3 %"), (1e-6, "0.0001 %"),
     (0.9999999, ">99.99 %"), (0.995, "99.50 %")],
)  # fmt: skip
def test_a_doubt_is_never_rounded_away(share: float, text: str) -> None:
    assert percent(share) == text


def test_what_scatters_is_drawn_and_listed() -> None:
    view = spread_view()
    assert len(moving(view)) == 2
    shown = texts(lambda paper: spread_lines(paper, view, 5, owners=False))
    assert any("2 of 2 judged values" in each for each in shown)  # going round
    alone = replace(view, correlated=(), quantities=(summary(),), decisions=())
    shown = texts(lambda paper: spread_lines(paper, alone, 0, owners=False))
    assert any("o works out whose scatter it is" in each for each in shown)
    assert not any("All judged values" in each for each in shown)


def test_a_mending_says_how_sure_it_is() -> None:
    shown = " ".join(texts(lambda paper: mending_lines(paper, mend_view())))
    for words in (
        "the nearest found, not proven to be the nearest", "proven: no smaller move of it mends",
        "a pair, not proven to be the smallest", "another option", "There is nothing to mend.",
        "It cannot be mended within the adjustable ranges.",
        "No adjustable number has a say in it.",
    ):  # fmt: skip
        assert words in shown
    none = MendView(revision=7, decisions=(), caution=CAUTION)
    assert texts(lambda paper: mending_lines(paper, none)) == ["Nothing is broken."]


def test_a_dead_option_names_what_rules_it_out() -> None:
    view = sets_view()
    shown = " ".join(texts(lambda paper: sets_lines(paper, view)))
    assert "2 of 12 345 combinations are alive" in shown
    assert "and 5 more" in shown  # two conflicts and three left out
    assert "fewer decisions may be enough to rule it out" in shown
    assert "but nothing is left of D-1" in shown
    assert set_at(view, "=1") is view.sets[1]
    assert set_at(view, "D-1") is None
    one = replace(view, groups=view.groups[:1], sets=(), beside=(), killed=())
    shown = " ".join(texts(lambda paper: sets_lines(paper, one)))
    assert "Independent" not in shown
    assert "Best" not in shown


def test_why_tells_what_to_put_back() -> None:
    found = why_view()
    shown = " ".join(texts(lambda paper: reasons_lines(paper, found)))
    assert "Put back, these would have it met again" in shown
    assert "Or these" in shown
    assert "Upstream also differs since then" in shown
    none = Reasons(replace(found.view, sets=(), checks=(), changed=()), {})
    shown = " ".join(texts(lambda paper: reasons_lines(paper, none)))
    assert "No values put back would have it met again." in shown


def test_a_comparison_of_the_same_says_so() -> None:
    same = Comparison(
        earlier=7, later=7, look=(), findings=(), caution=CAUTION, standings=(), items=()
    )
    assert texts(lambda paper: comparison_lines(paper, same))[-1] == "Nothing differs."


def test_a_change_that_led_to_an_item_in_several_ways_is_told_once() -> None:
    view = comparison()
    item = replace(view.items[0], reasons=(history("Ada"), history("Ada")))
    shown = texts(lambda paper: comparison_lines(paper, replace(view, items=(item,))))
    assert sum("revision 8, Ada" in each for each in shown) == 1


def test_how_it_stands_is_said() -> None:
    shown = texts(lambda paper: status_lines(paper, Asked("How far?", running=True)))
    assert shown == ["How far?", "⋯ Begun. Esc stops.", ""]
    shown = texts(lambda paper: status_lines(paper, Asked("How far?", running=True)), face=PLAIN)
    assert shown[1] == "... Begun. Esc stops."


def test_addresses_lead_to_their_items() -> None:
    for address in ("rod.x", "parts[knuckle].cost", "D-1/own.x", "SENS.upper"):
        assert item_of(address) in ("rod", "parts", "D-1", "SENS")
    assert revision_at("=12") == 12
    assert revision_at("D-1") is None


def test_an_earlier_revision_is_named_and_nothing_is_changed_there() -> None:
    then = Where("Cart", 5, "0123456789ab", newest=9)
    now = Where("Cart", 9, "0123456789ab")
    assert then.words == "revision 5 of 9, look only · 01234567"
    assert now.words == "revision 9 · 01234567"
    assert Where().words == ""
    for action in ("undo", "app.undo", "screen.settle", "place('trials')"):
        assert "Revision 5 is open to look at only" in why_not_then(then, action)
        assert not why_not_then(now, action)
    for action in ("list('requirement')", "place('headroom')", "back"):
        assert not why_not_then(then, action)
    assert "R leads back" in visited_words(5)
    assert visited_words(None) == "This is the present again"


def test_every_place_kept_from_an_earlier_revision_is_one() -> None:
    names = {each.split("'")[1] for each in CHANGING if each.startswith("place(")}
    assert names
    assert names <= set(BY_NAME)
