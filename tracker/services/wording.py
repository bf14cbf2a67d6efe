"""How values, bands, verdicts and changes read. Both front ends show these texts.

Nothing here is markup. Text from records passes through `visible` so that no character can hide,
turn the line around or drive a terminal.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping

from tracker.evaluate.verdict import Band
from tracker.model.units import Unit
from tracker.model.values import Kind, Value

__all__ = [
    "CAUTION",
    "SIGNS",
    "band_text",
    "limits_text",
    "margin_text",
    "number_text",
    "value_text",
    "value_with_unit",
    "visible",
    "with_unit",
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
_BLANK = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u3164\uffa0")
"""Letters and marks that are drawn as nothing."""


def visible(text: str) -> str:
    """Return the text with every invisible or line-breaking character spelt out.

    New lines and tabs stay; control, format (bidi, zero-width), separator and unassigned characters
    become `<U+202E>`.
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(f"<U+{ord(char):04X}>" if _hidden(char) else char for char in text)


def _hidden(char: str) -> bool:
    return char not in "\n\t" and (unicodedata.category(char) in _HIDDEN or char in _BLANK)


def number_text(value: float, unit: Unit) -> str:
    """Write a number for display: six significant digits, money in hundredths, grouped."""
    if unit.money:
        text = f"{value:,.2f}".replace(",", " ").removesuffix(".00")
        return text.removeprefix("-") if text in ("-0", "-0.00") else text
    if isinstance(value, int):
        return f"{value}"
    value += 0.0  # no negative zero
    text = f"{value:.{_DIGITS}g}"
    if "e+" in text and abs(value) < 10**_DIGITS:  # it rounds up to the first that is written so
        return f"{value:.0f}"
    return text


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
        return "1 row" if len(value) == 1 else f"{len(value)} rows"
    return number_text(value, unit)


def with_unit(value: float, unit: Unit) -> str:
    """Write a number with its unit."""
    return f"{number_text(value, unit)} {unit.text}".rstrip()


def value_with_unit(value: Value | None, kind: Kind, unit: Unit) -> str:
    """Write a value with its unit."""
    return f"{value_text(value, kind, unit)} {unit.text}".rstrip()


def band_text(band: Band, unit: Unit) -> str:
    """Write a band: `at most 1.5 g`, `left or right`."""
    if band.allowed:
        return visible(" or ".join(band.allowed))
    return limits_text(band.lower, band.upper, unit)


def limits_text(lower: float | None, upper: float | None, unit: Unit) -> str:
    """Write two limits, either of which may be missing."""
    if lower is not None and upper is not None:
        if lower == upper:
            return with_unit(lower, unit)
        return f"{number_text(lower, unit)} to {with_unit(upper, unit)}"
    if lower is not None:
        return f"at least {with_unit(lower, unit)}"
    if upper is not None:
        return f"at most {with_unit(upper, unit)}"
    return "anything"


def margin_text(distance: float | None, margin: float | None, unit: Unit) -> str:
    """Write a margin in the unit and as a share: `+0.12 g (+12 %)`."""
    if distance is None:
        return ""
    sign = "+" if distance >= 0 else "−"
    share = "" if margin is None else f" ({margin * 100:+.0f} %)".replace("-", "−")
    return f"{sign}{with_unit(abs(distance), unit)}{share}"
