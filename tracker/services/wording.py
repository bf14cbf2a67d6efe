"""How values, bands, verdicts and changes read. Both front ends show these texts.

Nothing here is markup. Text from records passes through `visible` so that no character can hide,
turn the line around or drive a terminal.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Mapping

from tracker.model.records import Bound, Requirement
from tracker.model.units import Unit
from tracker.model.values import Kind, Value

__all__ = [
    "CAUTION",
    "SIGNS",
    "band_text",
    "margin_text",
    "number_text",
    "value_text",
    "visible",
]

CAUTION = (
    "Screening calculations: no substitute for validated analysis, physical test, applicable "
    "regulation and the sign-off of a responsible engineer."
)

SIGNS: Mapping[str, tuple[str, str]] = {
    "met": ("●", "o"),
    "tight": ("◑", "~"),
    "missed": ("✕", "x"),
    "unknown": ("◌", "?"),
    "stands": ("■", "[#]"),
    "strained": ("◧", "[~]"),
    "broken": ("⊠", "[X]"),
    "unproven": ("□", "[ ]"),
    "shifted": ("↷", ">>"),
    "current": ("∙", "-"),
    "waiting": ("…", "."),
    "failed": ("!", "!"),
    "unbound": ("∅", "0"),
}
"""Word → (symbol, ASCII symbol). The word always stands beside it."""

_DIGITS = 6
_HIDDEN = {"Cc", "Cf", "Zl", "Zp", "Cs", "Co", "Cn"}
_TABLE_SHOWN = 3


def visible(text: str) -> str:
    """Return the text with every invisible or line-breaking character spelt out.

    New lines and tabs stay; control, format (bidi, zero-width), separator and unassigned characters
    become `<U+202E>`.
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        f"<U+{ord(char):04X}>"
        if unicodedata.category(char) in _HIDDEN and char not in "\n\t"
        else char
        for char in text
    )


def number_text(value: float, unit: Unit) -> str:
    """Write a number for display: six significant digits, money in hundredths, grouped."""
    if unit.money:
        return f"{value:,.2f}".replace(",", " ").removesuffix(".00")
    if isinstance(value, int):
        return f"{value}"
    magnitude = abs(value)
    if magnitude >= 10**_DIGITS or (0 < magnitude < 10 ** -(_DIGITS - 2)):
        return f"{value:.{_DIGITS}g}"
    places = _DIGITS - 1 - (math.floor(math.log10(magnitude)) if magnitude else 0)
    text = f"{value:.{min(max(places, 0), _DIGITS)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def value_text(value: Value | None, kind: Kind, unit: Unit) -> str:
    """Write a value for display, without its unit; unknown is a dash."""
    if value is None:
        return "—"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return visible(value)
    if isinstance(value, tuple):
        if kind is Kind.POINT:
            return "[" + ", ".join(number_text(each, unit) for each in value) + "]"  # type: ignore[arg-type] # a point
        return f"{len(value)} rows"
    return number_text(value, unit)


def band_text(requirement: Requirement, unit: Unit) -> str:
    """Write a requirement's band: `at most 1.5 g`."""
    if requirement.allowed:
        return visible(" or ".join(requirement.allowed))
    return limits_text(_value(requirement.lower), _value(requirement.upper), unit)


def _value(bound: Bound | None) -> float | None:
    return None if bound is None else bound.value


def limits_text(lower: float | None, upper: float | None, unit: Unit) -> str:
    """Write two limits, either of which may be missing."""
    tail = f" {unit.text}" if unit.text else ""
    if lower is not None and upper is not None:
        if lower == upper:
            return f"{number_text(lower, unit)}{tail}"
        return f"{number_text(lower, unit)} to {number_text(upper, unit)}{tail}"
    if lower is not None:
        return f"at least {number_text(lower, unit)}{tail}"
    if upper is not None:
        return f"at most {number_text(upper, unit)}{tail}"
    return "anything"


def margin_text(distance: float | None, margin: float | None, unit: Unit) -> str:
    """Write a margin in the unit and as a share: `+0.12 g (12 %)`."""
    if distance is None:
        return ""
    tail = f" {unit.text}" if unit.text else ""
    sign = "+" if distance >= 0 else "−"
    share = "" if margin is None else f" ({margin * 100:+.0f} %)".replace("-", "−")
    return f"{sign}{number_text(abs(distance), unit)}{tail}{share}"
