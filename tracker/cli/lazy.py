"""A group whose commands are imported when they are called, not before."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from typing import Any

import click

__all__ = ["LazyGroup"]


class LazyGroup(click.Group):
    """A group of commands known by name, module and one line of help.

    Parameters
    ----------
    table : mapping of str to (str, str)
        Command name → module that holds it (as `NAME_command`), and its one line of help.
    """

    def __init__(self, *args: Any, table: Mapping[str, tuple[str, str]], **kwargs: Any) -> None:  # noqa: ANN401 - handed on to click
        super().__init__(*args, **kwargs)
        self._table = table

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's protocol
        """Return the names in the order of the table."""
        return list(self._table)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 - click's protocol
        """Import a command."""
        if cmd_name not in self._table:
            return None
        module, _ = self._table[cmd_name]
        command: click.Command = getattr(import_module(module), f"{cmd_name}_command")
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 - click's protocol
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in self._table.items()])
