"""A real headless browser, driven over its own debugging protocol (Chrome DevTools Protocol)."""

from __future__ import annotations

import asyncio
import base64
import itertools
import shutil
import subprocess
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from typing import Any, TypeAlias

import aiohttp

__all__ = ["BROWSER", "Tab", "browsing"]

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("chrome")
"""The browser's program; None where there is none."""


Said: TypeAlias = Any
"""JSON data of the protocol."""


class Tab:
    """One open page: what it asked for, what it complained of, and how to drive it."""

    def __init__(self, socket: aiohttp.ClientWebSocketResponse) -> None:
        self.requests: list[str] = []
        self.complaints: list[str] = []
        self._socket = socket
        self._ids = itertools.count(1)
        self._waiting: dict[int, asyncio.Future[Any]] = {}
        self._loaded = asyncio.Event()
        self._reader = asyncio.create_task(self._read())

    async def _read(self) -> None:
        async for message in self._socket:
            said = message.json()
            if "id" in said:
                self._waiting.pop(said["id"]).set_result(said)
            else:
                self._heard(said["method"], said.get("params", {}))

    def _heard(self, method: str, params: Said) -> None:
        if method == "Network.requestWillBeSent":
            self.requests.append(params["request"]["url"])
        elif method == "Network.webSocketCreated":
            self.requests.append(params["url"])
        elif method == "Page.loadEventFired":
            self._loaded.set()
        elif method == "Runtime.exceptionThrown":
            self.complaints.append(str(params["exceptionDetails"]))
        elif method == "Log.entryAdded" and params["entry"]["level"] in ("error", "warning"):
            self.complaints.append(params["entry"]["text"])
        elif method == "Runtime.consoleAPICalled" and params["type"] in ("error", "warning"):
            self.complaints.append(str(params["args"]))

    async def ask(self, method: str, **params: object) -> Said:
        """Send one command and return its result."""
        number = next(self._ids)
        answer: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
        self._waiting[number] = answer
        await self._socket.send_json({"id": number, "method": method, "params": params})
        said = await asyncio.wait_for(answer, 30)
        assert "error" not in said, said
        return said["result"]

    async def go(self, url: str) -> None:
        """Open an address and wait until it has loaded."""
        self._loaded.clear()
        await self.ask("Page.navigate", url=url)
        await asyncio.wait_for(self._loaded.wait(), 30)

    async def value(self, expression: str) -> Said:
        """Return what an expression is in the page."""
        said = await self.ask("Runtime.evaluate", expression=expression, returnByValue=True)
        assert "exceptionDetails" not in said, said
        return said["result"].get("value")

    async def until(self, expression: str, seconds: float = 30) -> None:
        """Wait until an expression holds in the page."""
        async with asyncio.timeout(seconds):
            while not await self.value(expression):  # noqa: ASYNC110 - the page has no event for it
                await asyncio.sleep(0.1)

    async def key(self, text: str) -> None:
        """Press a key that types a character."""
        await self.ask("Input.dispatchKeyEvent", type="keyDown", text=text, key=text)
        await self.ask("Input.dispatchKeyEvent", type="keyUp", key=text)

    async def click(self, x: int, y: int) -> None:
        """Click a place of the page."""
        for kind in ("mousePressed", "mouseReleased"):
            await self.ask(
                "Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1
            )

    async def picture(self, place: Path) -> None:
        """Save what the page looks like."""
        said = await self.ask("Page.captureScreenshot", format="png")
        place.write_bytes(base64.b64decode(said["data"]))  # noqa: ASYNC240 - nothing else runs here


@asynccontextmanager
async def browsing(folder: Path, width: int = 1200, height: int = 800) -> AsyncIterator[Tab]:
    """Start the browser with a profile of its own and open an empty page.

    Parameters
    ----------
    folder : Path
        Where the profile goes.
    """
    assert BROWSER is not None
    started = subprocess.Popen(  # noqa: ASYNC220 - returns at once
        [BROWSER, "--headless=new", "--no-sandbox", "--disable-gpu", "--remote-debugging-port=0",
         f"--user-data-dir={folder}", f"--window-size={width},{height}", "--no-first-run",
         "--disable-background-networking", "about:blank"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        port = await _port(folder / "DevToolsActivePort")
        async with aiohttp.ClientSession() as http:
            async with http.get(f"http://127.0.0.1:{port}/json/list") as answer:
                pages = [each for each in await answer.json() if each["type"] == "page"]
            async with http.ws_connect(pages[0]["webSocketDebuggerUrl"], max_msg_size=0) as socket:
                tab = Tab(socket)
                for domain in ("Page", "Network", "Runtime", "Log"):
                    await tab.ask(f"{domain}.enable")
                yield tab
            with suppress(asyncio.CancelledError):
                await tab._reader
    finally:
        started.kill()
        started.wait()


async def _port(place: Path) -> str:
    """Wait until the browser has written which port it listens on."""
    async with asyncio.timeout(60):
        while True:
            with suppress(FileNotFoundError, IndexError):
                return place.read_text().splitlines()[0]  # noqa: ASYNC240 - one short line
            await asyncio.sleep(0.05)
