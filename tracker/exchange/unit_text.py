"""The grammar of unit texts: what may reach the unit library at all.

::

    unit     = factor { ("*" | "·" | "×" | "/" | blank) factor }
    factor   = symbol [ power ] | number | "(" unit ")"
    power    = ("^" | "**") [sign] exponent | superscript digits
    number   = whole number in brackets, as in g/(100 deg); outside only the 1 of 1/s

Imported texts are hostile. Length, number of parts, exponents and characters are bounded, powers
of brackets are refused, so nothing that passes can take long to work out.
"""

from __future__ import annotations

import re
from collections.abc import Set as AbstractSet
from typing import NoReturn

from tracker.errors import BadUnitError
from tracker.model.numbers import shown

__all__ = ["MAX_LENGTH", "normalise"]

MAX_LENGTH = 64
"""Longest unit text read, in characters."""

_HINT = (
    "Write it like mm, deg, N*m, mm/rev, m/s^2, deg/g. There are no automatic prefixes: "
    "g is standard gravity, mass is kg or gram, money its ISO 4217 code"
)
_SYMBOL = r"°[CF]?|%|[A-Za-zµμΩ]+(?:_[a-z]+)*"
_TOKEN = re.compile(
    rf"(?P<symbol>{_SYMBOL})|(?P<number>[1-9][0-9]{{0,5}}(?![0-9.]))|(?P<times>\*(?!\*)|[·⋅×])"
    r"|(?P<over>/)|(?P<open>\()|(?P<close>\))|(?P<blank>[ \t]+)"
)
_POWER = re.compile(r"(?:\^|\*\*)[ ]*(?P<plain>[+-]?[1-9](?:\.5)?|[+-]?0\.5)(?![0-9.])")
_SUPERSCRIPT = re.compile("(?P<raised>[⁺⁻]?[¹²³⁴⁵⁶⁷⁸⁹])(?![⁰¹²³⁴⁵⁶⁷⁸⁹])")
_PLAIN = str.maketrans("⁺⁻¹²³⁴⁵⁶⁷⁸⁹", "+-123456789")
_NAMES = {"°C": "degC", "°F": "degF", "°": "deg", "%": "percent", "Ω": "ohm"}
_OFFSET = ("degC", "degF")


def normalise(text: str, symbols: AbstractSet[str]) -> str:
    """Check a unit text against the grammar and rewrite it for the unit library.

    Parameters
    ----------
    text : str
        Unit text, not empty, without surrounding blanks.
    symbols : set of str
        The unit names there are.

    Returns
    -------
    str
        The same with explicit `*` and `**`, and temperature differences named where a temperature
        is part of a compound.

    Raises
    ------
    BadUnitError
        Too long, a character or construction outside the grammar, a name that is no unit.
    """
    if len(text) > MAX_LENGTH:
        raise BadUnitError(
            f"{shown(text)} is too long for a unit",
            remedy=f"A unit has at most {MAX_LENGTH} characters",
        )
    parts = _Parts(text, symbols)
    parts.read()
    joined = "".join(parts.done)
    if joined in _OFFSET:
        return joined
    return re.sub(r"\bdeg(?=[CF]\b)", "delta_deg", joined)


class _Parts:
    """Reads one text from left to right, alternating factors and operators."""

    def __init__(self, text: str, symbols: AbstractSet[str]) -> None:
        self.text = text
        self.symbols = symbols
        self.done: list[str] = []
        self.depth = 0
        self.wants_factor = True
        self.pending_blank = False

    def read(self) -> None:
        at = 0
        while at < len(self.text):
            match = _TOKEN.match(self.text, at)
            if match is None:
                self.refuse(f"character {self.text[at]!r} is not expected there")
            at = self.take(str(match.lastgroup), match.group(), match.end())
        if self.wants_factor or self.depth:
            self.refuse("it is not complete")

    def take(self, group: str, word: str, at: int) -> int:
        match group:
            case "blank":
                self.pending_blank = True
                return at
            case "symbol":
                return self.symbol(word, at)
            case "number":
                self.number(word)
            case "open":
                self.factor("(")
                self.depth += 1
                self.wants_factor = True
            case "close":
                self.close()
            case _:
                self.operator("/" if group == "over" else "*")
        self.pending_blank = False
        return at

    def factor(self, word: str) -> None:
        if not self.wants_factor:
            if not self.pending_blank or self.done == ["1"]:
                self.refuse("a sign is missing between two of its parts")
            self.done.append("*")  # a blank between two factors multiplies
        self.done.append(word)
        self.wants_factor = False

    def number(self, word: str) -> None:
        if self.depth == 0 and (self.done or word != "1"):
            self.refuse("a number belongs into brackets, as in g/(100 deg)")
        self.factor(word)

    def symbol(self, word: str, at: int) -> int:
        name = _NAMES.get(word, word.replace("µ", "u").replace("μ", "u"))
        if name not in self.symbols:
            self.unknown(word)
        self.factor(name)
        self.pending_blank = False
        power = _POWER.match(self.text, at) or _SUPERSCRIPT.match(self.text, at)
        if power is None:
            return at
        self.done.append("**" + power.group(str(power.lastgroup)).translate(_PLAIN))
        return power.end()

    def operator(self, sign: str) -> None:
        if self.wants_factor:
            self.refuse(f"{sign!r} has nothing before it")
        self.done.append(sign)
        self.wants_factor = True

    def close(self) -> None:
        if self.wants_factor or self.depth == 0:
            self.refuse("a bracket closes nothing")
        self.depth -= 1
        self.done.append(")")

    def unknown(self, word: str) -> NoReturn:
        alike = sorted(each for each in self.symbols if each.lower() == word.lower())
        hint = f"Did you mean {' or '.join(alike)}?" if alike else _HINT
        raise BadUnitError(f"{shown(word)} is not a known unit", remedy=hint)

    def refuse(self, reason: str) -> NoReturn:
        raise BadUnitError(f"{shown(self.text)} cannot be read as a unit: {reason}", remedy=_HINT)
