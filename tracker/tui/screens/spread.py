"""How likely decisions are to stand, given the tolerances."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from textual.binding import Binding, BindingType

from tracker.evaluate.engine import Cancel
from tracker.services.explore_views import SpreadView
from tracker.services.item import item_page
from tracker.services.session import Session
from tracker.tui.layout.paper import Paper
from tracker.tui.layout.spread import moving, spread_lines
from tracker.tui.screens.amounts import Amount, Amounts, AmountsScreen
from tracker.tui.screens.asking import AskingPage, Tell

__all__ = ["SpreadScreen"]

_OWNER_SAMPLES = 4096
_MORE, _MOST = 4, 2**22
_LEAST, _MOST_OF_OWNERS, _MOST_SEED = 4096, 2**20, 2**31


@dataclass(frozen=True, slots=True)
class _Wanted:
    """How well it is to be known."""

    half_width: float = 0.005
    most: int = 131_072
    owner_samples: int = 0
    seed: int = 1


class SpreadScreen(AskingPage[SpreadView]):
    """The probability that each decision, or one, stands; histograms of what is judged.

    Parameters
    ----------
    key : str
        A decision or a requirement; all of them when empty.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "pick(-1)", "value drawn", priority=True),
        Binding("right", "pick(1)", "next value", show=False, priority=True),
        Binding("o", "owners", "whose scatter"),
        Binding("plus", "draw_more", "more samples"),
        Binding("m", "amounts", "samples, seed"),
    ]

    def __init__(self, key: str = "") -> None:
        super().__init__()
        self.key = key
        self._wanted = _Wanted()
        self._picked = -1

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Spread of {self.key}" if self.key else "Spread"

    def question(self) -> str:
        """Return what is asked, in words."""
        what = self.key or "each decision"
        close = f"to be known to ±{100 * self._wanted.half_width:g} %"
        return f"How likely does {what} hold, given the tolerances? ({close})"

    def work(self, session: Session, cancel: Cancel, tell: Tell) -> SpreadView:
        """Work the answer out, on the engine thread."""
        from tracker.services.exploring import Plan, spread  # late: read on the engine thread

        wanted = self._wanted
        plan = Plan(
            half_width=wanted.half_width,
            most=wanted.most,
            owner_samples=wanted.owner_samples,
            seed=wanted.seed,
        )
        view = spread(session, plan, cancel=cancel, progress=tell)
        if not self.key:
            return view
        judges = {each.judge for each in item_page(session, self.key).findings}
        return replace(
            view,
            decisions=tuple(each for each in view.decisions if each.key == self.key),
            quantities=tuple(each for each in view.quantities if each.judge in judges),
        )

    def found(self, view: SpreadView) -> None:
        """Begin with the judged value most in doubt, the same as before where there was one."""
        judged = moving(view)
        doubtful = (at for at, each in enumerate(judged) if 0.0 < each.missed < 1.0)
        if not 0 <= self._picked < len(judged):
            self._picked = next(doubtful, 0)

    def lay(self, paper: Paper, view: SpreadView) -> None:
        """Lay the answer out."""
        spread_lines(paper, view, self._picked, owners=bool(self._wanted.owner_samples))

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        name = action.partition("(")[0]
        if name == "pick" and (self.view is None or not moving(self.view)):
            return "no judged value that scatters is known yet"
        if name == "owners" and self.view is not None and self.view.correlated:
            return "some values scatter together, so no part of a risk is one's own"
        if name == "draw_more" and self._wanted.most >= _MOST:
            return "no more samples are drawn than these"
        return ""

    def action_pick(self, by: int) -> None:
        """Draw the next judged value, or the one before."""
        if self.allowed("pick") and self.view is not None:
            self._picked = (self._picked + by) % len(moving(self.view))
            self.paint()

    def action_owners(self) -> None:
        """Work out whose scatter makes each risk."""
        if self.allowed("owners"):
            self._wanted = replace(self._wanted, owner_samples=_OWNER_SAMPLES)
            self.ask()

    def action_draw_more(self) -> None:
        """Know every probability twice as well."""
        if self.allowed("draw_more"):
            most = min(self._wanted.most * _MORE, _MOST)
            half_width = self._wanted.half_width / 2
            self._wanted = replace(self._wanted, most=most, half_width=half_width)
            self.ask()

    def action_amounts(self) -> None:
        """Say how many samples are drawn, and which."""
        now = self._wanted
        amounts = (
            Amount(
                name="half_width",
                label="Known to within",
                value=now.half_width,
                least=0.0,
                most=0.5,
                whole=False,
            ),
            Amount(name="most", label="Samples at most", value=now.most, least=_LEAST, most=_MOST),
            Amount(name="seed", label="Seed", value=now.seed, least=0, most=_MOST_SEED),
            Amount(
                name="owner_samples",
                label="For whose scatter it is",
                value=now.owner_samples,
                least=0,
                most=_MOST_OF_OWNERS,
                power=True,
            ),
        )
        self.host.go(AmountsScreen("How many samples", amounts, self._draw))

    def _draw(self, amounts: Amounts) -> None:
        whole = {name: int(amounts[name]) for name in ("most", "seed", "owner_samples")}
        self._wanted = _Wanted(half_width=amounts["half_width"], **whole)
        self.ask()
