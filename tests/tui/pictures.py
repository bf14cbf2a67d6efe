"""Write the pictures of four screens that the README shows: `python -m tests.tui.pictures`."""

from __future__ import annotations

import asyncio
import re
import tempfile
from dataclasses import replace
from pathlib import Path

from demo_program.story import make_demo
from tests.tui.census import go
from tracker.bootstrap import tools
from tracker.services.session import Session
from tracker.store.open import open_store
from tracker.tui.app import WhyboneApp

__all__ = ["FOLDER", "SHOWN", "picture", "write"]

FOLDER = Path(__file__).parents[2] / "demo_program" / "screens"
SIZE = (120, 36)

SHOWN: dict[str, tuple[str, ...]] = {
    "home": (),
    "decision": ("f", '"D-SPRING', "enter"),
    "trial": ("f", '"VOL', "enter", "e", "enter", '"5200'),
    "curves": ("f", '"BUMP-TOE', "enter", "C"),
}
"""Name of the picture → keys in the demo."""

_FACE = re.compile(r"@font-face\s*\{.*?\}", re.DOTALL)
_BUTTONS = re.compile(r"<circle [^>]*/>")
_NOTE = re.compile(r"<!--.*?-->", re.DOTALL)
_FAMILY = re.compile(r"font-family:\s*[^;}]*")


def local(svg: str) -> str:
    """Take out fonts that would be loaded from elsewhere, who drew it, and a window's buttons."""
    svg = _BUTTONS.sub("", svg)
    plain = _FAMILY.sub("font-family: monospace", _FACE.sub("", _NOTE.sub("", svg)))
    return "\n".join(line.rstrip() for line in plain.splitlines() if line.strip()) + "\n"


async def picture(place: Path, keys: tuple[str, ...]) -> str:
    """Draw one screen of the demo."""
    on_that_day = replace(tools(), clock=lambda: "2025-12-19T08:00:00Z")
    app = WhyboneApp(lambda: Session(open_store(place), on_that_day, "Ada"), pace=0.0)
    async with app.run_test(size=SIZE) as pilot:
        await go(pilot, keys)
        for field in app.screen.query("Input"):
            field.cursor_blink = False  # type: ignore[attr-defined] # of an Input
        await pilot.pause()
        return local(app.export_screenshot(title="whybone", simplify=True))


def write(folder: Path) -> None:
    """Write all pictures."""
    folder.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        demo = make_demo(Path(place))
        for name, keys in SHOWN.items():
            (folder / f"{name}.svg").write_text(asyncio.run(picture(demo, keys)), encoding="utf-8")


if __name__ == "__main__":
    write(FOLDER)
