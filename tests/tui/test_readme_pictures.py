"""The pictures the README shows are of the program as it is, and load nothing from elsewhere."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from demo_program.story import make_demo
from tests.tui.pictures import FOLDER, SHOWN, picture

ADDRESS = re.compile(r"https?://[^\s\"')<]+")
NAMESPACE = "http://www.w3.org/2000/svg"


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_demo(tmp_path_factory.mktemp("demo"))


def texts(svg: str) -> list[str]:
    """What stands in a picture, but for hashes, which change whenever a record gains a field."""
    root = ET.fromstring(svg)  # noqa: S314 - our own picture
    found = (
        "".join(each.itertext()).replace("\xa0", " ") for each in root.iter(f"{{{NAMESPACE}}}text")
    )
    return [re.sub(r"\b[0-9a-f]{8}\b", "", each).strip() for each in found]


def test_the_folder_holds_these_pictures() -> None:
    assert {path.stem for path in FOLDER.glob("*")} == set(SHOWN)


@pytest.mark.parametrize("name", SHOWN)
async def test_a_picture_is_current(name: str, demo: Path) -> None:
    stored = (FOLDER / f"{name}.svg").read_text(encoding="utf-8")
    assert texts(stored) == texts(await picture(demo, SHOWN[name]))


@pytest.mark.parametrize("name", SHOWN)
def test_a_picture_loads_nothing(name: str) -> None:
    stored = (FOLDER / f"{name}.svg").read_text(encoding="utf-8")
    assert set(ADDRESS.findall(stored)) <= {NAMESPACE}
    assert "@font-face" not in stored
    assert "url(" not in re.sub(r"url\(#[^)]*\)", "", stored)
