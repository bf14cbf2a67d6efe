"""What of an item can be set, and what it is now."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from tracker.services.views import ItemPage

__all__ = ["Settable", "settables", "why_nothing"]

_GROUPED = re.compile(r"(?<=\d) (?=\d{3})")
"""Money is shown with its thousands apart, and read without."""


@dataclass(frozen=True, slots=True)
class Settable:
    """A value that can be set.

    Parameters
    ----------
    address : str
        How edits name it.
    now : str
        Its present text, as it would be typed.
    unit : str
        What a number without a unit means.
    title : str
        What it is, in words.
    options : tuple of str
        What there is to pick from; empty where it is typed.
    """

    address: str
    now: str
    unit: str
    title: str
    options: tuple[str, ...] = ()

    @property
    def shown(self) -> str:
        """What it is now, with its unit; empty where it is not set."""
        told = not self.now or self.now.endswith(self.unit)
        return self.now if told else f"{self.now} {self.unit}"


def settables(page: ItemPage) -> tuple[Settable, ...]:
    """Return what can be set on an item's page."""
    match page.kind:
        case "quantity" if _enabled(page, "set"):
            return tuple(_quantity(page))
        case "requirement":
            return tuple(_requirement(page))
        case "decision":
            return tuple(_decision(page))
        case _:
            return ()


def why_nothing(page: ItemPage) -> str:
    """Say why nothing can be set."""
    if page.kind == "decision":
        return next((each.why_not for each in page.actions if each.name == "lean"), "")
    why = next((each.why_not for each in page.actions if each.name == "set"), "")
    return why or f"a {page.kind} has no value to set"


def _enabled(page: ItemPage, name: str) -> bool:
    return any(each.name == name and each.enabled for each in page.actions)


def _quantity(page: ItemPage) -> Iterator[Settable]:
    facts = dict(page.facts)
    value = page.value
    if not isinstance(value, tuple):
        now = facts.get("typed as", "") or _plain(value)
        yield Settable(page.key, now, page.unit, page.title)
    elif "columns" in facts:
        names = facts["columns"].split(", ")
        for number, cells in enumerate(value, 1):
            if not isinstance(cells, tuple):
                continue  # a point has no rows
            row = _row_name(number, cells)
            for name, cell in zip(names, cells, strict=False):
                yield Settable(f"{page.key}[{row}].{name}", _plain(cell), "", f"{row} {name}")
    else:
        now = "[" + ", ".join(map(_plain, value)) + "]"
        yield Settable(page.key, now, page.unit, page.title)
        for axis, at in zip("xyz", value, strict=True):
            yield Settable(f"{page.key}.{axis}", _plain(at), page.unit, f"{page.title} {axis}")


def _row_name(number: int, cells: tuple[object, ...]) -> str:
    """Name a row as addresses do: by its first text, or by its number where that cannot be."""
    first = cells[0] if cells else None
    usable = isinstance(first, str) and first and not set(first) & set("[]/=")
    return str(first) if usable else str(number)


def _plain(value: object) -> str:
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case float():
            return str(int(value)) if value.is_integer() and abs(value) < 2**53 else repr(value)
        case _:
            return str(value)


def _requirement(page: ItemPage) -> Iterator[Settable]:
    finding, facts = page.findings[0], dict(page.facts)
    if isinstance(finding.value, str | bool):
        yield Settable(f"{page.key}.allowed", finding.required.replace(" or ", ", "), "", "allowed")
        return
    bounds = ("upper", "lower", "target")
    for name in sorted(bounds, key=lambda each: getattr(finding, each) is None):
        now = _plain(getattr(finding, name))
        yield Settable(f"{page.key}.{name}", now, finding.unit, name)
    guard = facts.get("guard", "").partition(" ")[0]
    yield Settable(f"{page.key}.guard", _plain(float(guard or 0) / 100), "", "guard")


def _decision(page: ItemPage) -> Iterator[Settable]:
    """Yield the option applied, and what the options state; a trial may reopen what is settled."""
    movable = _enabled(page, "lean")
    if not page.options or dict(page.facts).get("state") == "withdrawn":
        return
    keys = tuple(each.key for each in page.options)
    chosen = next((each.key for each in page.options if each.chosen), "")
    yield Settable(page.key, chosen, "", "the option applied", keys)
    for option in page.options if movable else ():
        for each in option.settings:
            now = "" if each.text.startswith("unknown:") else _GROUPED.sub("", each.text)
            address = f"{page.key}/{option.key}.{each.quantity}"
            yield Settable(address, now, "", f"{each.quantity} under {option.title}")
