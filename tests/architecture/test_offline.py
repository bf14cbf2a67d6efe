"""Nothing leaves the machine: no module of ours speaks to a network, no command needs one."""

from __future__ import annotations

import ast
import socket
from pathlib import Path
from typing import NoReturn

import pytest

from demo_program.story import FILE_NAME
from tests.architecture.sources import shipped_files, tree_of
from tracker.app import main

SPEAKERS = {
    "asyncore",
    "ftplib",
    "http",
    "httpx",
    "poplib",
    "requests",
    "smtplib",
    "socket",
    "socketserver",
    "ssl",
    "telnetlib",
    "urllib",
    "urllib3",
    "webbrowser",
    "xmlrpc",
}


def test_no_module_of_ours_speaks_to_a_network() -> None:
    """PostgreSQL is reached through its driver, where the user names a server."""
    spoken = {
        (path.name, name)
        for path in shipped_files()
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in (
            [node.module or ""]
            if isinstance(node, ast.ImportFrom)
            else [each.name for each in node.names]
        )
        if name.partition(".")[0] in SPEAKERS
    }
    assert spoken == set()


def test_the_demo_is_made_and_tried_without_any_connection(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(*_: object, **__: object) -> NoReturn:
        raise AssertionError("something speaks to a network")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket.socket, "connect_ex", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    assert main(["demo", "--no-ui", str(tmp_path)]) == 0
    assert main(["--program", str(tmp_path / FILE_NAME), "try", "VOL.lower=5200"]) == 1
    assert "D-SUBFRAME" in capsys.readouterr().out
