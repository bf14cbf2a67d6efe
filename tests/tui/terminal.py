"""The program in a real pseudo-terminal, its screen kept by an emulator."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Self

import pyte

_OWN = ("NO_COLOR", "COLUMNS", "LINES")
"""What the terminal says for itself; a size in the environment would stand over its own."""
_LONG = 60.0


class Terminal:
    """One run of the program.

    Parameters
    ----------
    place : Path
        The programme to open.
    state : Path
        Folder for drafts.
    size : (columns, lines)
        Of the terminal.
    environ : mapping
        More of the environment.
    """

    def __init__(
        self,
        place: Path,
        state: Path,
        size: tuple[int, int] = (100, 30),
        environ: Mapping[str, str] | None = None,
    ) -> None:
        self.screen = pyte.Screen(*size)
        self._stream = pyte.ByteStream(self.screen)
        self.raw = b""
        self._ours, theirs = pty.openpty()
        self._size(*size)
        ordinary = {name: text for name, text in os.environ.items() if name not in _OWN}
        told = {
            "TERM": "xterm-256color",
            "WHYBONE_AUTHOR": "Ada",
            "WHYBONE_LOOK": "dark",
            "XDG_STATE_HOME": str(state),
            **(environ or {}),
        }
        command = ["-c", "from tracker.app import main; main()", "--program", str(place), "open"]
        self.process = subprocess.Popen(
            [sys.executable, *command],
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            env={**ordinary, **told},
            start_new_session=True,
        )
        os.close(theirs)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.kill()
        os.close(self._ours)

    def _size(self, columns: int, lines: int) -> None:
        fcntl.ioctl(self._ours, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))

    @property
    def text(self) -> str:
        """What is on the screen."""
        return "\n".join(line.rstrip() for line in self.screen.display)

    def read(self, seconds: float) -> None:
        """Take in what is written for some time."""
        until = time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            if select.select([self._ours], [], [], left)[0]:
                try:
                    got = os.read(self._ours, 65_536)
                except OSError:  # the program is gone
                    return
                self.raw += got
                self._stream.feed(got)

    def until(self, *texts: str, without: str = "") -> str:
        """Read until texts stand on the screen, and another does not."""
        until = time.monotonic() + _LONG
        while not all(text in self.text for text in texts) or (without and without in self.text):
            assert time.monotonic() < until, (texts, self.text)
            assert self.process.poll() is None, self.text
            self.read(0.05)
        return self.text

    def send(self, keys: str) -> None:
        """Type."""
        os.write(self._ours, keys.encode())

    def paste(self, text: str) -> None:
        """Paste as terminals do."""
        self.send(f"\x1b[200~{text}\x1b[201~")

    def resize(self, columns: int, lines: int) -> None:
        """Change the size of the terminal."""
        self.screen.resize(lines, columns)
        self._size(columns, lines)
        self.process.send_signal(signal.SIGWINCH)

    def kill(self) -> None:
        """Kill the program without warning."""
        self.process.kill()
        self.process.wait()

    def cpu(self) -> float:
        """Seconds of processor time used so far."""
        fields = Path(f"/proc/{self.process.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
