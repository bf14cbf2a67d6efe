"""Read models of a check run on its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tracker.model.values import Value

__all__ = [
    "CalcResult",
    "CaseResult",
    "RuleResult",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleResult:
    """A rule of a check run on its own."""

    output: str
    verdict: str
    margin: float | None
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseResult:
    """One case of a check run on its own.

    Parameters
    ----------
    outputs : mapping of str to (value, unit)
        By output port; None where it is unknown or absent.
    problems : tuple of str
        Why something is unknown or absent.
    """

    outputs: Mapping[str, tuple[Value | None, str]]
    rules: tuple[RuleResult, ...]
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CalcResult:
    """Cases of a check run on its own, with its cautions."""

    check: str
    version: str
    cases: tuple[CaseResult, ...]
    cautions: tuple[str, ...]
