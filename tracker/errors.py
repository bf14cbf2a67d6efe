"""Every error whybone raises on purpose, with its stable code and exit code.

::

    WhyboneError
    ├── InputError                 exit 2   the request cannot be understood or is not allowed
    │   ├── BadKeyError            bad-key            a key or address breaks the grammar
    │   ├── UnknownKeyError        unknown-key        nothing has this key
    │   ├── DuplicateKeyError      duplicate-key      the key is taken
    │   ├── BadTextError           bad-text           too long, or control characters
    │   ├── BadValueError          bad-value          not a value of the item's kind
    │   ├── BadUnitError           bad-unit           the unit text cannot be read
    │   ├── DimensionError         wrong-dimension    a unit of another dimension
    │   ├── SourceError            second-source      the value has another source already
    │   ├── CycleError             cycle              checks would feed each other
    │   ├── BindingError           bad-binding        a check cannot be bound like this
    │   ├── DecisionError          decision-rule      a rule of deciding is broken
    │   ├── InUseError             in-use             something else refers to it
    │   ├── UnknownRevisionError   unknown-revision   the journal has no such revision
    │   ├── FileFormatError        bad-file           a file cannot be read as what it should be
    │   └── ManyProblemsError      many-problems      several of the above at once
    ├── ConflictError              exit 3   somebody else's change stands in the way
    │   ├── StaleChangeError       stale-change       the records moved since the change was based
    │   └── UndoConflictError      undo-conflict      later changes touched the same records
    ├── StoreError                 exit 4   the programme's store is damaged or out of reach
    │   ├── StoreUnreachableError  store-unreachable  cannot be opened, locked or found
    │   ├── StoreWriteError        store-write        a write or its sync failed; nothing was stored
    │   └── StoreDamagedError      store-damaged      the journal or its projection does not hold
    ├── NotReadyError              exit 1   not-ready                a gate is not ready to freeze
    └── CancelledError             exit 1   cancelled                work stopped at the user's wish
"""

from __future__ import annotations

from typing import ClassVar

__all__ = [
    "BadKeyError",
    "BadTextError",
    "BadUnitError",
    "BadValueError",
    "BindingError",
    "CancelledError",
    "ConflictError",
    "CycleError",
    "DecisionError",
    "DimensionError",
    "DuplicateKeyError",
    "FileFormatError",
    "InUseError",
    "InputError",
    "ManyProblemsError",
    "NotReadyError",
    "SourceError",
    "StaleChangeError",
    "StoreDamagedError",
    "StoreError",
    "StoreUnreachableError",
    "StoreWriteError",
    "UndoConflictError",
    "UnknownKeyError",
    "UnknownRevisionError",
    "WhyboneError",
]


class WhyboneError(Exception):
    """Base of every deliberate error.

    Parameters
    ----------
    message : str
        What is wrong, in one sentence without a full stop.
    item : str, optional
        Key, file or position of the thing that is wrong.
    field : str, optional
        The field of that item.
    remedy : str, optional
        What the user can do about it.
    """

    code: ClassVar[str] = "whybone"
    exit_code: ClassVar[int] = 1

    def __init__(self, message: str, *, item: str = "", field: str = "", remedy: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.item = item
        self.field = field
        self.remedy = remedy

    def __str__(self) -> str:
        where = ", ".join(part for part in (self.item, self.field) if part)
        text = f"{where}: {self.message}" if where else self.message
        return f"{text}. {self.remedy}" if self.remedy else text


class InputError(WhyboneError):
    """The request cannot be understood or is not allowed."""

    code = "input"
    exit_code = 2


class BadKeyError(InputError):
    """A key or an address breaks the grammar."""

    code = "bad-key"


class UnknownKeyError(InputError):
    """Nothing in the programme has this key."""

    code = "unknown-key"


class DuplicateKeyError(InputError):
    """The key is already taken."""

    code = "duplicate-key"


class BadTextError(InputError):
    """A text is too long or carries control characters."""

    code = "bad-text"


class BadValueError(InputError):
    """The text or object is not a value of the item's kind."""

    code = "bad-value"


class BadUnitError(InputError):
    """A unit text cannot be read."""

    code = "bad-unit"


class DimensionError(InputError):
    """A unit of another dimension than the one wanted."""

    code = "wrong-dimension"


class SourceError(InputError):
    """The quantity already has its one source."""

    code = "second-source"


class CycleError(InputError):
    """Checks would feed each other in a ring."""

    code = "cycle"


class BindingError(InputError):
    """A check cannot be bound in this way."""

    code = "bad-binding"


class DecisionError(InputError):
    """A rule of deciding is broken (rationale, reasons, state)."""

    code = "decision-rule"


class InUseError(InputError):
    """Something else refers to the item."""

    code = "in-use"


class UnknownRevisionError(InputError):
    """The journal has no such revision."""

    code = "unknown-revision"


class FileFormatError(InputError):
    """A file cannot be read as what it should be."""

    code = "bad-file"


class ManyProblemsError(InputError):
    """Several problems found in one request; nothing was done.

    Parameters
    ----------
    problems : sequence of WhyboneError
        At least one problem, in the order found.
    """

    code = "many-problems"

    def __init__(self, problems: list[WhyboneError]) -> None:
        super().__init__(f"{len(problems)} problems, nothing was changed")
        self.problems = tuple(problems)

    def __str__(self) -> str:
        return "\n".join([self.message + ":", *(f"  {problem}" for problem in self.problems)])


class ConflictError(WhyboneError):
    """Somebody else's change stands in the way."""

    code = "conflict"
    exit_code = 3


class StaleChangeError(ConflictError):
    """The records moved since the change was based."""

    code = "stale-change"


class UndoConflictError(ConflictError):
    """Later changes touched the same records."""

    code = "undo-conflict"


class StoreError(WhyboneError):
    """The programme's store is damaged or out of reach."""

    code = "store"
    exit_code = 4


class StoreUnreachableError(StoreError):
    """The store cannot be found, opened or locked."""

    code = "store-unreachable"


class StoreWriteError(StoreError):
    """A write or its sync failed; nothing was stored."""

    code = "store-write"


class StoreDamagedError(StoreError):
    """The journal or its projection does not hold."""

    code = "store-damaged"


class NotReadyError(WhyboneError):
    """A gate is not ready, and nothing was said to freeze it all the same."""

    code = "not-ready"


class CancelledError(WhyboneError):
    """Work stopped at the user's wish; nothing was stored."""

    code = "cancelled"
