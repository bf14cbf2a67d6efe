"""The terminal UI in a browser: who is let in, and that a real browser shows it."""

from __future__ import annotations

import asyncio
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import aiohttp
import pytest

from demo_program.story import FILE_NAME, make_demo
from tests.browser import BROWSER, browsing
from tracker.app import main

needs_browser = pytest.mark.skipif(BROWSER is None, reason="no browser is installed here")


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@pytest.fixture(scope="module")
def programme(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("served")
    make_demo(folder)
    return folder / FILE_NAME


@pytest.fixture(scope="module")
def served(programme: Path) -> Iterator[str]:
    """The address a running server printed."""
    command = [sys.executable, "-m", "tracker.app", "--program", str(programme), "serve"]
    started = subprocess.Popen(
        [*command, "--port", str(free_port())], stdout=subprocess.PIPE, text=True
    )
    assert started.stdout is not None
    first = started.stdout.readline()
    assert first.startswith("Open http://127.0.0.1:"), first
    yield first.split()[1]
    started.send_signal(signal.SIGINT)
    assert started.wait(20) == 0
    started.stdout.close()


def place_of(url: str) -> str:
    parts = urlsplit(url)
    return f"{parts.scheme}://{parts.netloc}"


@pytest.mark.parametrize(
    "host",
    [
        "0.0.0.0",  # noqa: S104 - refused
        "192.168.1.20",
        "::",
        "example.org",
        "",
        "127.0.0.1.example.org",
    ],
)
def test_only_this_machine_is_served(
    programme: Path, host: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--program", str(programme), "serve", "--host", host]) == 2
    assert "not an address of this machine alone" in capsys.readouterr().err


def test_a_port_that_is_taken_is_named(programme: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert main(["--program", str(programme), "serve", "--port", str(port)]) == 2
    assert f"port {port} cannot be had" in capsys.readouterr().err


def test_a_missing_extra_is_named(
    programme: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delitem(sys.modules, "tracker.cli.browser.server", raising=False)
    monkeypatch.setitem(sys.modules, "textual_serve", None)
    monkeypatch.setitem(sys.modules, "textual_serve.server", None)
    assert main(["--program", str(programme), "serve"]) == 2
    assert "pip install 'whybone[serve]'" in capsys.readouterr().err


async def test_strangers_are_refused(served: str) -> None:
    place, key = place_of(served), urlsplit(served).query.partition("=")[2]
    jar = {"whybone-key": key}
    async with aiohttp.ClientSession(cookie_jar=aiohttp.DummyCookieJar()) as http:

        async def status(path: str, **headers: str) -> int:
            cookies = {} if headers.pop("key", "") else jar
            async with http.get(place + path, headers=headers, cookies=cookies) as answer:
                return answer.status

        assert await status("/", key="none") == 403
        assert await status("/?key=guess", key="none") == 403
        assert await status("/static/js/textual.js", key="none") == 403
        assert await status("/", Host="rebound.example.org") == 403
        assert await status("/ws", Origin="http://elsewhere.example.org") == 403
        assert await status("/ws") == 403
        assert await status("/") == 200


async def test_the_page_allows_nothing_from_elsewhere(served: str) -> None:
    key = urlsplit(served).query.partition("=")[2]
    async with (
        aiohttp.ClientSession(cookies={"whybone-key": key}) as http,
        http.get(place_of(served)) as answer,
    ):
        rules = answer.headers["Content-Security-Policy"]
        page = await answer.text()
    assert rules.startswith("default-src 'none'; script-src 'self'")
    assert "googleapis" not in page


@needs_browser
async def test_a_real_browser_shows_the_same_ui(served: str, tmp_path: Path) -> None:
    async with browsing(tmp_path / "profile") as tab:
        await tab.go(served)
        await tab.until("document.body.classList.contains('-first-byte')")
        await asyncio.sleep(3)
        home = tmp_path / "home.png"
        await tab.picture(home)
        await tab.click(300, 10)
        await tab.key("d")
        await asyncio.sleep(2)
        decisions = tmp_path / "decisions.png"
        await tab.picture(decisions)
        elsewhere = [each for each in tab.requests if urlsplit(each).netloc not in served]
        complaints = [each for each in tab.complaints if "WebGL" not in each]
    assert home.stat().st_size > 20_000, "an empty page is a few kB"
    assert home.read_bytes() != decisions.read_bytes(), "the key went nowhere"
    assert not elsewhere
    assert not complaints
    assert_nobody_left()


def assert_nobody_left() -> None:
    """The tab's process ends with the tab."""
    for _ in range(100):
        listed = subprocess.run(
            ["ps", "-eo", "ppid,args"], capture_output=True, text=True, check=True
        ).stdout
        if not any("tracker.app open" in line for line in listed.splitlines()):
            return
        time.sleep(0.2)
    pytest.fail(f"still running next to {os.getpid()}:\n{listed}")
