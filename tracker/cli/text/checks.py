"""Manifests and results of checks run on their own, as text."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.cli.page import Cell, Page
from tracker.contract.check import Manifest, Port
from tracker.services.calc_views import CalcResult, CaseResult
from tracker.services.wording import visible

__all__ = ["calc_text", "manifest_text"]

_DIGITS = 9


def manifest_text(page: Page, manifest: Manifest) -> None:
    """Write what a check is: ports, units, rules, sources, cautions."""
    page.text(visible(f"{manifest.key} {manifest.version}: {manifest.title}"), word="bold")
    page.text(visible(manifest.purpose))
    _ports(page, "Inputs", manifest.inputs)
    _ports(page, "Outputs", manifest.outputs)
    if manifest.rules:
        page.heading("Rules")
        page.rows([[e.output, visible(e.reason), visible(e.source)] for e in manifest.rules])
    page.heading("Sources")
    for each in manifest.sources:
        page.text(visible(str(each)), indent=2)
    page.heading("Cautions")
    for text in manifest.cautions:
        page.text(visible(text), indent=2)


def _ports(page: Page, heading: str, ports: Sequence[Port]) -> None:
    page.heading(heading)
    rows: list[list[Cell | str]] = []
    for port in ports:
        rows.append([port.key, _kind(port), visible(port.doc)])
        rows.extend(
            ["", f"  {each.name}: {each.kind} {each.unit}".rstrip(), visible(each.doc)]
            for each in port.columns
        )
    page.rows(rows)


def _kind(port: Port) -> str:
    words = [port.kind.value, port.unit, " or ".join(port.choices)]
    if port.optional:
        words.append("optional" if port.default is None else f"default {port.default}")
    return visible(" ".join(each for each in words if each))


def calc_text(page: Page, result: CalcResult) -> None:
    """Write the outputs and rules of each case."""
    page.text(f"{result.check} {result.version}", word="bold")
    for number, case in enumerate(result.cases, 1):
        if len(result.cases) > 1:
            page.heading(f"Case {number}")
        _case(page, case)
    page.blank()
    for each in result.cautions:
        page.text(visible(each))


def _case(page: Page, case: CaseResult) -> None:
    page.rows([[port, _shown(value), unit] for port, (value, unit) in case.outputs.items()])
    page.rows([[page.sign(e.verdict), e.output, visible(e.reason)] for e in case.rules])
    for each in case.problems:
        page.text(visible(each), indent=2, word="unknown")


def _shown(value: object) -> str:
    """Write a result: nine digits, so that a figure can be checked by hand."""
    if value is None:
        return "unknown"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.{_DIGITS}g}"
    if isinstance(value, tuple):
        return "[" + ", ".join(_shown(each) for each in value) + "]"
    return visible(str(value))
