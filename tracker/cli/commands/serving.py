"""serve: the terminal UI in a browser on this machine."""

from __future__ import annotations

import os
import sys

import click

from tracker.cli.options import Command
from tracker.cli.terminal import emit
from tracker.cli.work import Work
from tracker.errors import InputError

__all__ = ["serve_command"]

_PORTS = click.IntRange(1, 65535)


@click.command("serve", cls=Command)
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    metavar="ADDRESS",
    help="Loopback address to serve on; any other is refused.",
)
@click.option("--port", type=_PORTS, default=8000, show_default=True, help="Port to serve on.")
@click.pass_obj
def serve_command(work: Work, host: str, port: int) -> None:
    """Show the terminal UI in a browser on this machine, until Ctrl+C.

    Open the address it prints: it holds a key that changes with every start, so that nobody else
    on the machine comes in. Needs the extra `serve`.
    """
    try:
        from tracker.cli.browser.guard import loopback
        from tracker.cli.browser.server import serve
    except ModuleNotFoundError as error:
        raise InputError(
            f"{error.name} is not installed", remedy="pip install 'whybone[serve]'"
        ) from error
    address = loopback(host)
    work.session().store.close()  # what is wrong with the programme is said here, not in a page
    os.environ["WHYBONE_PROGRAM"] = work.location
    if work.author:
        os.environ["WHYBONE_AUTHOR"] = work.author
    try:
        serve(address, port, lambda url: _tell(work, url))
    except OSError as error:
        raise InputError(
            f"port {port} cannot be had: {error.strerror}", field="--port", remedy="Try another"
        ) from error


def _tell(work: Work, url: str) -> None:
    if work.json:
        work.tell_json({"url": url})
    else:
        emit(sys.stdout, f"Open {url}\nCtrl+C ends it.\n", work.look)
    sys.stdout.flush()
