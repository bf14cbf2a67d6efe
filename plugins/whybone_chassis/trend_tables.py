"""Trends written as tables: which outputs rise and fall with an input, while all others stay."""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["Follows", "follows", "trend"]

Follows = Mapping[str, int | None]
"""Output → trend; an output that is not there stays."""


def follows(*, up: str = "", down: str = "", unclear: str = "") -> Follows:
    """Write the trends of one input.

    Parameters
    ----------
    up, down : str
        Outputs that never fall and never rise with it, separated by blanks.
    unclear : str
        Outputs of which nothing is said.
    """
    found: dict[str, int | None] = dict.fromkeys(up.split(), 1)
    found.update(dict.fromkeys(down.split(), -1))
    found.update(dict.fromkeys(unclear.split()))
    return found


def trend(table: Mapping[str, Follows], output: str, name: str) -> int | None:
    """Return a trend; None for an input that is not in the table.

    Parameters
    ----------
    table : mapping of str to Follows
        By input.
    output, name : str
        Output and input; a component of a point is named `port.x`.
    """
    return table[name].get(output, 0) if name in table else None
