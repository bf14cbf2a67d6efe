"""What lists of items are called."""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["PLURALS"]

PLURALS: Mapping[str, str] = {
    "requirement": "Requirements",
    "decision": "Decisions",
    "quantity": "Quantities",
    "check": "Checks",
    "gate": "Gates",
}
