"""Gates, freezes and packs as text."""

from __future__ import annotations

from tracker.cli.page import Cell, Page
from tracker.services.gates.views import (
    CriterionView,
    FrozenView,
    GateList,
    GatePage,
    GateStanding,
    PackedView,
)

__all__ = ["frozen_text", "gate_list_text", "gate_page_text", "packed_text"]

_SHORT_HASH = 12
_COLOURS = {"met": "met", "not met": "missed", "set aside": ""}


def gate_list_text(page: Page, view: GateList) -> None:
    """Write all gates, and what blocks the next."""
    page.text(f"Gates at revision {view.revision}", word="bold")
    page.rows([_gate(each, view.next) for each in view.gates], fold=3)
    if not view.gates:
        page.text("None yet.")
    upcoming = next((each for each in view.gates if each.key == view.next), None)
    if upcoming is not None:
        page.blank()
        said = ", ".join(upcoming.blocked_by)
        page.text(
            f"{upcoming.key} is next; {f'blocked by {said}' if said else 'nothing blocks it'}."
        )
    page.blank()
    page.text(view.caution)


def _gate(line: GateStanding, upcoming: str) -> list[Cell | str]:
    if line.baseline:
        state = f"frozen as {line.baseline}"
    else:
        state = "next" if line.key == upcoming else ""
    return [line.key, line.date, _ready(line.ready), state, line.title]


def _ready(ready: bool) -> Cell:
    return Cell("ready", "met") if ready else Cell("not ready", "missed")


def gate_page_text(page: Page, view: GatePage) -> None:
    """Write a gate's readiness and its baselines."""
    page.text(f"{view.key}  {view.title}, {view.date}", word="bold")
    state = "ready" if view.ready else "not ready"
    page.text(f"{state} at revision {view.revision}; {len(view.due)} items due here or earlier")
    _criteria(page, view.criteria)
    if view.baselines:
        page.heading("Baselines")
        for each in view.baselines:
            state = "ready" if each.ready else "not ready"
            page.text(
                f"{each.key}  revision {each.revision}, head {each.head[:_SHORT_HASH]}, {state}",
                indent=2,
            )
            page.text(f"{each.at}  {each.author}: {each.reason}", indent=4)
    page.blank()
    page.text(view.caution)


def _criteria(page: Page, criteria: tuple[CriterionView, ...]) -> None:
    page.heading("Criteria")
    rows: list[list[Cell | str]] = []
    for each in criteria:
        asked = f" ({each.setting})" if each.setting not in ("yes", "no") else ""
        rows.append([Cell(each.result, _COLOURS[each.result]), each.name, each.title + asked])
        rows.extend(["", one.key, one.why] for one in each.offenders)
    page.rows(rows, fold=2)


def frozen_text(page: Page, view: FrozenView) -> None:
    """Write the receipt of a freeze."""
    state = "ready" if view.ready else "not ready"
    page.text(f"{view.gate} frozen as {view.baseline}, {state}", word="bold")
    page.text(f"revision {view.revision}, head {view.head}", indent=2)
    page.text(f"content {view.content}", indent=2)
    page.text(f"stored as revision {view.stored}, head {view.hash}", indent=2)
    unmet = [each for each in view.criteria if each.result == "not met"]
    if unmet:
        _criteria(page, tuple(unmet))
    page.blank()
    page.text(view.caution)


def packed_text(page: Page, view: PackedView) -> None:
    """Write which files a pack went into."""
    page.text(f"{view.gate}, baseline {view.baseline}, revision {view.revision}", word="bold")
    page.text(f"head {view.head}", indent=2)
    page.rows([[each.path, f"{each.bytes} bytes", each.sha256] for each in view.files], fold=2)
    page.blank()
    page.text(view.caution)
