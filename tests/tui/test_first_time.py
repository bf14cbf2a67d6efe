"""Whoever opens the demo for the first time finds the way from what the screen says."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from demo_program.story import make_demo
from tests.tui.driving import Driver, hinted, press, seen, settled, walk
from tracker.bootstrap import open_session
from tracker.tui.app import WhyboneApp
from tracker.tui.layout.guide import WALK

SMALL = (80, 24)
MOST_KEYS = 12


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_demo(tmp_path_factory.mktemp("demo"))


@pytest.fixture
def demo_app(made: Path, tmp_path: Path) -> Callable[[], WhyboneApp]:
    place = shutil.copy(made, tmp_path / made.name)
    return lambda: WhyboneApp(lambda: open_session(place, "Newcomer"), pace=0.0)


async def test_a_what_if_from_the_hints_on_the_screen_alone(
    demo_app: Callable[[], WhyboneApp],
) -> None:
    """Every key is read off the line of keys; nothing else is known of the program."""
    used: list[str] = []

    async def do(pilot: Driver, word: str) -> None:
        key = hinted(pilot, word)
        used.append(key)
        await press(pilot, key)

    async with demo_app().run_test(size=SMALL) as pilot:
        await settled(pilot)
        assert "▸⊠ broken   D-FALLBACK" in seen(pilot)  # what is broken is at the cursor
        await do(pilot, "edit and try")
        assert "Which value of D-FALLBACK to try" in seen(pilot)
        await do(pilot, "open")
        assert "a-as-built" in seen(pilot)
        while "would stand again" not in seen(pilot):
            await do(pilot, "pick another")
            assert len(used) <= MOST_KEYS
        assert "nothing is stored" in seen(pilot)
        assert "FALLBACK-COST     met → tight" in seen(pilot)
    assert used == ["e", "enter", "right", "right"]


async def test_the_guide_is_true(demo_app: Callable[[], WhyboneApp]) -> None:
    """Press what it says to press, at the smallest size: what it says shows."""
    async with demo_app().run_test(size=SMALL) as pilot:
        await settled(pilot)
        for step in WALK:
            assert await walk(pilot, step) == [], step.title
        assert pilot.app.is_running


async def test_the_guide_is_reached_and_read_with_few_keys(
    demo_app: Callable[[], WhyboneApp],
) -> None:
    async with demo_app().run_test(size=SMALL) as pilot:
        await settled(pilot)
        await press(pilot, "f1", "f1")
        read = seen(pilot)
        for _ in range(3):
            await press(pilot, "pagedown")
            read += seen(pilot)
        for number, step in enumerate(WALK, 1):
            assert f"{number}. {step.title}" in read
        assert "…" not in read.partition("Guide")[2].replace("c…", "")
        await press(pilot, "escape", "escape")
        assert "What stands" in seen(pilot)
