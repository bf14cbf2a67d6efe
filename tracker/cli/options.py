"""Options every command takes, before or after its name."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from tracker.cli.work import Work

__all__ = ["Command", "shared_options"]


def _remember(name: str) -> Callable[[click.Context, click.Parameter, Any], None]:
    def callback(ctx: click.Context, _: click.Parameter, value: Any) -> None:  # noqa: ANN401 - click's protocol
        if value:
            setattr(ctx.ensure_object(Work), name, value)

    return callback


def shared_options() -> list[click.Parameter]:
    """Return the options every command takes; they write into the context's `Work`."""
    return [
        click.Option(
            ["--program"],
            metavar="PATH_OR_URL",
            expose_value=False,
            callback=_remember("program"),
            help="Programme to work on: a file or a PostgreSQL URL; else WHYBONE_PROGRAM.",
        ),
        click.Option(
            ["--author"],
            metavar="NAME",
            expose_value=False,
            callback=_remember("author"),
            help="Who makes the change; else WHYBONE_AUTHOR, else the login name.",
        ),
        click.Option(
            ["--json"],
            is_flag=True,
            is_eager=True,
            expose_value=False,
            callback=_remember("json"),
            help="Answer with one JSON document, an error included; the text of an error still "
            "goes to standard error.",
        ),
    ]


class Command(click.Command):
    """A command that takes the shared options."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 - handed on to click
        super().__init__(*args, **kwargs)
        self.params = [*self.params, *shared_options()]
