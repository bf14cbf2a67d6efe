"""A headless browser driven through its debugging pipe, with nothing but the standard library."""

from __future__ import annotations

import fcntl
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from types import TracebackType
from typing import Any, BinaryIO, Self

__all__ = ["Browser", "browser_path"]

_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--remote-debugging-pipe",
)

_START = """
import os, sys
os.dup2(int(sys.argv[1]), 3)
os.dup2(int(sys.argv[2]), 4)
os.execv(sys.argv[3], sys.argv[3:])
"""
"""Puts the pipe where the browser expects it: it reads from 3 and writes to 4."""


def browser_path() -> str | None:
    """Return a browser of this machine, or None."""
    return next((found for name in _NAMES if (found := shutil.which(name))), None)


class Browser:
    """One page; `events` holds what the browser told of it."""

    def __init__(self, path: str) -> None:
        self._profile = tempfile.mkdtemp(prefix="browser-")
        to_read, self._write = os.pipe()
        self._read, to_write = os.pipe()
        ends = [fcntl.fcntl(each, fcntl.F_DUPFD, 5) for each in (to_read, to_write)]
        start = [sys.executable, "-c", _START, *map(str, ends), path, *_FLAGS]
        self._process = subprocess.Popen(
            [*start, f"--user-data-dir={self._profile}", "about:blank"],
            pass_fds=ends,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for each in (to_read, to_write, *ends):
            os.close(each)
        self._in: BinaryIO = os.fdopen(self._read, "rb")
        self._out: BinaryIO = os.fdopen(self._write, "wb")
        self._count = 0
        self._held = b""
        self.events: list[dict[str, Any]] = []
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.call("Target.attachToTarget", targetId=target, flatten=True)[
            "sessionId"
        ]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")

    _session: str | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._process.terminate()
        self._process.wait(10)
        self._in.close()
        self._out.close()
        shutil.rmtree(self._profile, ignore_errors=True)

    def call(self, method: str, **params: Any) -> dict[str, Any]:  # noqa: ANN401 - JSON data
        """Ask the browser something and wait for its answer."""
        self._count += 1
        message: dict[str, Any] = {"id": self._count, "method": method, "params": params}
        if self._session:
            message["sessionId"] = self._session
        self._out.write(json.dumps(message).encode() + b"\0")
        self._out.flush()
        while True:
            told = self._next()
            if told.get("id") == self._count:
                assert "error" not in told, told
                return dict(told["result"])
            self.events.append(told)

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._held:
            more = os.read(self._read, 65536)
            assert more, "the browser is gone"
            self._held += more
        told, _, self._held = self._held.partition(b"\0")
        return dict(json.loads(told))

    def open(self, file: Path) -> None:
        """Open a file and wait until it is loaded."""
        self.events.clear()
        self.call("Page.navigate", url=file.as_uri())
        while not any(each.get("method") == "Page.loadEventFired" for each in self.events):
            self.events.append(self._next())

    def ask(self, expression: str) -> Any:  # noqa: ANN401 - JSON data
        """Evaluate an expression in the page."""
        told = self.call("Runtime.evaluate", expression=expression, returnByValue=True)
        assert "exceptionDetails" not in told, told
        return told["result"].get("value")

    def told(self, *methods: str) -> list[dict[str, Any]]:
        """Return the events of some kinds."""
        return [each["params"] for each in self.events if each.get("method") in methods]
