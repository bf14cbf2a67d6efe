"""Errors as the user sees them: one message on standard error, one document under --json."""

from __future__ import annotations

import sys
from typing import Any

import click

from tracker.cli.terminal import emit, look_of
from tracker.cli.work import Work
from tracker.errors import InputError, ManyProblemsError, WhyboneError
from tracker.services.wording import visible

__all__ = ["BUG", "bug", "error_json", "report", "usage_error"]

BUG = 70
"""Exit code after an error in whybone itself (EX_SOFTWARE of sysexits.h)."""


class _UsageError(InputError):
    code = "usage"


class _BugError(WhyboneError):
    code = "bug"
    exit_code = BUG


def usage_error(error: click.ClickException) -> WhyboneError:
    """Turn what click says into an error of ours."""
    ctx = getattr(error, "ctx", None)
    path = ctx.command_path if ctx else "whybone"
    param = getattr(error, "param", None)
    field = param.opts[0] if isinstance(param, click.Option) else getattr(param, "name", "") or ""
    message = error.format_message().rstrip(".")
    return _UsageError(message, item=path, field=field, remedy=f"`{path} --help` shows how")


def bug(error: Exception) -> WhyboneError:
    """Turn an unexpected error into one that can be told."""
    return _BugError(
        f"whybone itself failed: {type(error).__name__}: {error}",
        remedy="Nothing half-done was stored. Set WHYBONE_TRACEBACK=1 to see where, and report it",
    )


def report(work: Work, error: WhyboneError) -> int:
    """Tell an error and return its exit code."""
    emit(sys.stderr, f"whybone: {visible(str(error))}\n", look_of(sys.stderr))
    if work.json:
        work.tell_json({"error": error_json(error)})
    return error.exit_code


def error_json(error: WhyboneError) -> dict[str, Any]:
    """Describe an error as JSON data."""
    document: dict[str, Any] = {
        "code": error.code,
        "message": visible(error.message),
        "item": visible(error.item),
        "field": visible(error.field),
        "remedy": visible(error.remedy),
    }
    if isinstance(error, ManyProblemsError):
        document["problems"] = [error_json(each) for each in error.problems]
    return document
