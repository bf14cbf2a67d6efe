"""What moves cost, for mending: typed by the engineer, used once, never stored."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from tracker.tui.screens.form import Form
from tracker.tui.widgets.field import Field

__all__ = ["PricesScreen"]

Prices = Mapping[str, float]


class PricesScreen(Form):
    """A cost for a move by one unit, for each number that may be moved.

    Parameters
    ----------
    movers : sequence of (str, str)
        Address and unit of each number.
    prices : mapping of str to float
        What was said before.
    then : callable
        Gets the prices, once the form is gone.
    """

    CAUTIOUS = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("ctrl+s", "use", "mend with these")]

    def __init__(
        self,
        movers: Sequence[tuple[str, str]],
        prices: Prices,
        then: Callable[[Prices], object],
    ) -> None:
        super().__init__("what moves cost")
        self._movers = movers
        self._prices = prices
        self._then = then

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return "What moves cost, nothing is stored"

    def heading(self) -> str:
        """Return what the form is about."""
        return (
            "What a move by one unit costs, in shares of a whole range; where nothing is typed, a "
            "move through the whole range costs 1"
        )

    def fields(self) -> ComposeResult:
        """Compose a field for each number."""
        for address, unit in self._movers:
            held = self._prices.get(address)
            value = self.typed.get(address, "" if held is None else f"{held:g}")
            tail = f"a {unit}" if unit else "a unit"
            yield Field(self.host.face, address, address, value, tail=tail)

    def on_mount(self) -> None:
        """Begin."""
        self.query(Field).first().take_focus()

    def action_use(self) -> None:
        """Mend with what is typed."""
        typed = {each.name or "": each.value.strip() for each in self.query(Field)}
        read = {address: _price(text) for address, text in typed.items() if text}
        wrong = {
            address: "it is no number of at least 0"
            for address, price in read.items()
            if price is None
        }
        self.blame(wrong, "")
        if wrong:
            return
        self.host.forget(self._draft)
        self.host.back()
        prices = {address: price for address, price in read.items() if price is not None}
        self.app.call_later(self._then, prices)


def _price(text: str) -> float | None:
    try:
        price = float(text)
    except ValueError:
        return None
    return price if math.isfinite(price) and price >= 0 else None
