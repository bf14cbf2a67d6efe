"""at REVISION gate list, show: how ready the gates were."""

from __future__ import annotations

from tracker.cli.lazy import LazyGroup

__all__ = ["gate_command"]

_GATES = "tracker.cli.commands.gates"

gate_command = LazyGroup(
    "gate",
    table={
        "list": (_GATES, "All gates: which were ready, which were frozen."),
        "show": (_GATES, "One gate: every criterion with what offended it then."),
    },
    help="How ready the gates were.",
)
