"""Read models as JSON data. The keys of `status`, `try`, `calc` and `audit` stay stable."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from tracker.services.wording import CAUTION

if TYPE_CHECKING:
    from tracker.contract.check import Manifest
    from tracker.services.calc_views import CalcResult, CaseResult
    from tracker.services.change_views import (
        Committed,
        Comparison,
        FindingChange,
        JournalPage,
        Ripple,
    )
    from tracker.services.ports import AuditReport
    from tracker.services.views import (
        FindingView,
        ItemPage,
        Listing,
        Overview,
        RequirementLine,
    )

__all__ = [
    "audit_json",
    "calc_json",
    "committed_json",
    "comparison_json",
    "item_json",
    "journal_json",
    "listing_json",
    "manifest_json",
    "plain",
    "ripple_json",
    "status_json",
]


def plain(value: Any) -> Any:  # noqa: ANN401 - any read model
    """Turn a read model into JSON data; a number that is not finite becomes null."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {each.name: plain(getattr(value, each.name)) for each in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(name): plain(each) for name, each in value.items()}
    if isinstance(value, tuple | list):
        return [plain(each) for each in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def status_json(page: Overview) -> dict[str, Any]:
    """Describe the opening page."""
    return {
        "program": page.store,
        "title": page.title,
        "currency": page.currency,
        "revision": page.revision,
        "head": page.head,
        "requirements": [_requirement(each) for each in page.requirements],
        "decisions": plain(page.decisions),
        "checks": plain(page.checks),
        "gates": plain(page.gates),
        "next_gate": page.next_gate.key if page.next_gate else None,
        "due": plain(page.due),
        "quantities": page.quantities,
        "caution": page.caution,
    }


def _requirement(line: RequirementLine) -> dict[str, Any]:
    finding = plain(line.finding)
    del finding["judge"], finding["rule"]
    return {"key": line.key, **finding, "gate": line.gate, "owner": line.owner}


def listing_json(page: Listing) -> dict[str, Any]:
    """Describe a list of one kind."""
    items = plain(page.lines)
    return {"revision": page.revision, "kind": page.kind, "items": items, "caution": CAUTION}


def item_json(page: ItemPage) -> dict[str, Any]:
    """Describe an item's page."""
    document: dict[str, Any] = plain(page)
    for name in ("facts", "paragraphs"):
        document[name] = [{"label": label, "text": text} for label, text in getattr(page, name)]
    return document


def _finding(view: FindingView | None) -> dict[str, Any] | None:
    if view is None:
        return None
    return {
        "value": plain(view.value),
        "unit": view.unit,
        "verdict": view.verdict,
        "margin": plain(view.margin),
        "reason": view.reason,
        "deviation": view.deviation,
    }


def _finding_change(change: FindingChange) -> dict[str, Any]:
    return {
        "requirement": change.judge,
        "before": _finding(change.before),
        "after": _finding(change.after),
    }


def ripple_json(ripple: Ripple) -> dict[str, Any]:
    """Describe a ripple."""
    return {**plain(ripple), "findings": [_finding_change(each) for each in ripple.findings]}


def committed_json(receipt: Committed) -> dict[str, Any]:
    """Describe the receipt of a stored change."""
    return {
        "revision": receipt.revision,
        "head": receipt.hash,
        "what": list(receipt.what),
        "ripple": ripple_json(receipt.ripple) if receipt.ripple else None,
    }


def journal_json(page: JournalPage) -> dict[str, Any]:
    """Describe a stretch of the journal."""
    return {"revision": page.revision, "head": page.head, "changes": plain(page.lines)}


def comparison_json(view: Comparison) -> dict[str, Any]:
    """Describe a comparison of two revisions."""
    return {**plain(view), "findings": [_finding_change(each) for each in view.findings]}


def audit_json(report: AuditReport) -> dict[str, Any]:
    """Describe what an audit found."""
    return {
        "ok": report.ok,
        "revisions": report.revisions,
        "head": report.head,
        "problems": list(report.problems),
    }


def calc_json(result: CalcResult) -> dict[str, Any]:
    """Describe the cases of a check run on its own."""
    return {
        "check": result.check,
        "version": result.version,
        "cases": [_case(each) for each in result.cases],
        "cautions": list(result.cautions),
    }


def _case(case: CaseResult) -> dict[str, Any]:
    return {
        "outputs": {
            port: {"value": plain(value), "unit": unit}
            for port, (value, unit) in case.outputs.items()
        },
        "rules": plain(case.rules),
        "problems": list(case.problems),
    }


def manifest_json(manifest: Manifest) -> dict[str, Any]:
    """Describe an installed check."""
    document: dict[str, Any] = plain(manifest)
    return document
