"""How much a question looks at: whole numbers and shares, typed by the engineer, never stored."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from tracker.tui.screens.form import Form
from tracker.tui.widgets.field import Field

__all__ = ["Amount", "Amounts", "AmountsScreen"]

Amounts = Mapping[str, float]
"""Name of an amount → what it is; whole numbers stand for themselves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """A number that says how much is looked at.

    Parameters
    ----------
    name : str
        Its name among the amounts.
    label : str
        What it is for.
    value : float
        What it is now.
    least, most : float
        What it may be, both included; a number that is not whole stays above the least.
    whole : bool
        Whether it is a whole number.
    power : bool
        Whether it is 0 or a power of two.
    """

    name: str
    label: str
    value: float
    least: float
    most: float
    whole: bool = True
    power: bool = False

    def read(self, text: str) -> float | None:
        """Return the number a text holds, nothing where it may not be that."""
        try:
            number = int(text) if self.whole else float(text)
        except ValueError:
            return None
        fits = self.least <= number <= self.most and math.isfinite(number)
        open_end = not self.whole and number == self.least
        odd = self.power and int(number) & (int(number) - 1)
        return number if fits and not open_end and not odd else None

    def reach(self) -> str:
        """Return from where to where it may be."""
        if self.whole:
            return f"{self.least:.0f} to {self.most:.0f}"
        return f"above {self.least:g}, at most {self.most:g}"

    def rule(self) -> str:
        """Return in words what it may be."""
        if not self.whole:
            return self.reach()
        what = "0 or a power of two" if self.power else "a whole number"
        return f"{what}, {self.reach()}"


class AmountsScreen(Form):
    """Numbers that say how much a question looks at.

    Parameters
    ----------
    title : str
        What the title line calls it.
    amounts : sequence of Amount
        What is asked for.
    then : callable
        Gets the numbers, once the form is gone.
    """

    CAUTIOUS = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("ctrl+s", "use", "ask with these")]

    def __init__(
        self, title: str, amounts: Sequence[Amount], then: Callable[[Amounts], object]
    ) -> None:
        super().__init__(title)
        self._title = title
        self._amounts = amounts
        self._then = then

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"{self._title}, nothing is stored"

    def heading(self) -> str:
        """Return what the form is about."""
        return "Larger numbers take longer; Esc stops an answer that is on its way"

    def fields(self) -> ComposeResult:
        """Compose a field for each number."""
        for each in self._amounts:
            now = f"{each.value:.0f}" if each.whole else f"{each.value:g}"
            value = self.typed.get(each.name, now)
            yield Field(self.host.face, each.name, each.label, value, tail=each.reach())

    def on_mount(self) -> None:
        """Begin."""
        self.query(Field).first().take_focus()

    def action_use(self) -> None:
        """Ask again with what is typed."""
        typed = {each.name or "": each.value.strip() for each in self.query(Field)}
        read = {each.name: each.read(typed[each.name]) for each in self._amounts}
        wrong = {
            each.name: f"it has to be {each.rule()}"
            for each in self._amounts
            if read[each.name] is None
        }
        self.blame(wrong, "")
        if wrong:
            return
        self.host.forget(self._draft)
        self.host.back()
        found = {name: number for name, number in read.items() if number is not None}
        self.app.call_later(self._then, found)
