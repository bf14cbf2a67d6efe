"""A bad configuration, told field by field.

A wrong *configuration* is the user's to mend and is refused when a check is bound. A check that
*fails* on some input is a result: unknown, with its reason.
"""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["ConfigError", "UnitTextError"]


class ConfigError(ValueError):
    """The configuration of a check is wrong.

    Parameters
    ----------
    fields : mapping of str to str
        Path of each wrong field → what is wrong with it.
    """

    def __init__(self, fields: Mapping[str, str]) -> None:
        super().__init__("; ".join(f"{path}: {reason}" for path, reason in fields.items()))
        self.fields = dict(fields)


class UnitTextError(ValueError):
    """A text is no unit; the message says why."""
