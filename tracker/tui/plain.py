"""What went wrong, in words that fit a screen."""

from __future__ import annotations

from tracker.errors import ManyProblemsError, WhyboneError

__all__ = ["plain", "problems"]


def problems(error: BaseException) -> tuple[BaseException, ...]:
    """Return the single problems of an error."""
    return error.problems if isinstance(error, ManyProblemsError) else (error,)


def plain(error: BaseException, *, named: bool = True) -> str:
    """Say what is wrong.

    Parameters
    ----------
    error : BaseException
        What was raised.
    named : bool
        Name the item and the field; not wanted where the words stand beside them.
    """
    if not isinstance(error, WhyboneError):
        return f"whybone itself stumbled, and stored nothing: {type(error).__name__}: {error}"
    if isinstance(error, ManyProblemsError):
        return "; ".join(plain(each, named=named) for each in error.problems)
    where = ", ".join(part for part in (error.item, error.field) if part) if named else ""
    text = f"{where}: {error.message}" if where else error.message
    return f"{text}. {error.remedy}" if error.remedy and not _typed(error.remedy) else text


def _typed(remedy: str) -> bool:
    """Tell whether a remedy is something to type at a shell."""
    return "--" in remedy or "`whybone" in remedy
