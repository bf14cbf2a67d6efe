"""What cannot be done while an earlier revision is open to look at."""

from __future__ import annotations

from tracker.tui.desk import Where

__all__ = ["CHANGING", "why_not_then"]

CHANGING = frozenset(
    {
        "adopt", "decide", "edit", "freeze", "go_to_trial", "lean", "mend", "nudge", "points",
        "put_back", "redo", "reopen", "review", "settle", "store", "trial", "try", "undo",
        "undo_this", "withdraw",
        "place('add')", "place('amend')", "place('supersede')", "place('take-in')",
        "place('trials')",
    }
)  # fmt: skip
"""Actions that change the programme or try something on it."""


def why_not_then(where: Where, action: object) -> str:
    """Say why an action cannot be done while an earlier revision is open; nothing where it can."""
    name = str(action).rpartition("app.")[2].rpartition("screen.")[2]
    if not where.newest or not CHANGING & {name, name.partition("(")[0]}:
        return ""
    return (
        f"Revision {where.revision} is open to look at only: nothing can be changed or tried "
        "there. R leads back to the present"
    )
