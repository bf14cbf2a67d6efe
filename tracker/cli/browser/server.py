"""Serves the terminal UI through the terminal framework's own web server.

Every browser tab gets a process of its own, as every terminal would; what they do meets in the
store. The programme and the author travel in the environment, which no other user can read.
"""

from __future__ import annotations

import logging
import secrets
import shlex
import sys
from collections.abc import Callable
from pathlib import Path

from aiohttp import web
from textual_serve.server import Server

from tracker.cli.browser.guard import HEADERS, guard

__all__ = ["serve"]

_HERE = Path(__file__).parent
_PATIENCE = 2.0
"""Seconds an open terminal gets to end by itself when the server is stopped."""


class _BrowserServer(Server):
    """The framework's server with our page and our guard."""

    def __init__(self, host: str, port: int, ready: Callable[[str], None]) -> None:
        self._address = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
        super().__init__(
            shlex.join([sys.executable, "-m", "tracker.app", "open"]),
            host=host,
            port=port,
            title="whybone",
            public_url=f"http://{self._address}",
            templates_path=_HERE,
        )
        self._key = secrets.token_urlsafe(24)
        self._ready = ready

    async def _make_app(self) -> web.Application:
        app = await super()._make_app()
        app.middlewares.append(guard(self._address, self._key))
        app.on_response_prepare.append(_say_rules)
        return app

    async def on_startup(self, app: web.Application) -> None:
        """Tell where to look, once the port is ours."""

    def run(self) -> None:
        """Serve until stopped."""
        logging.getLogger("textual-serve").setLevel(logging.ERROR)
        web.run_app(
            self._make_app(),
            host=self.host,
            port=self.port,
            print=lambda *_: self._ready(f"{self.public_url}/?key={self._key}"),
            access_log=None,
            shutdown_timeout=_PATIENCE,
        )


async def _say_rules(_: web.Request, response: web.StreamResponse) -> None:
    response.headers.update(HEADERS)


def serve(host: str, port: int, ready: Callable[[str], None]) -> None:
    """Serve the terminal UI until interrupted.

    Parameters
    ----------
    host : str
        A loopback address.
    port : int
        Port to listen on.
    ready : callable
        Told the address to open, once the port is ours.

    Raises
    ------
    OSError
        The port cannot be had.
    """
    _BrowserServer(host, port, ready).run()
