"""matrix: who needs whom, as text and as JSON."""

from __future__ import annotations

from tests.integration.cli.conftest import Cli
from tests.unit.services.pictured import MORE, drawn_session
from tracker.cli.page import Page
from tracker.cli.terminal import Look
from tracker.cli.text.matrix import matrix_text
from tracker.services.actions import add_items
from tracker.services.pictures.dependency import dependency


def test_the_matrix_tells_levels_and_what_passes(cli: Cli) -> None:
    told = cli("matrix")
    assert told.code == 0
    assert "dependencies; each level needs only those before it:" in told.out
    assert "Level 0" in told.out
    assert "D-1" in told.out


def test_the_matrix_as_json_has_items_blocks_and_cells(cli: Cli) -> None:
    told = cli("matrix", "--of", "check", "--json").json
    assert told["of"] == "check"
    keys = [each["key"] for each in told["items"]]
    assert sorted(keys) == sorted(key for block in told["blocks"] for key in block["keys"])
    assert all(each["row"] != each["column"] for each in told["cells"])


def test_blocks_of_several_are_told_together() -> None:
    session = drawn_session()
    add_items(session, MORE, "another ramp")
    page = Page(Look())
    matrix_text(page, dependency(session))
    text = str(page)
    assert "3 that need each other:" in text
    assert "D-TOP (1 value)" in text
    assert "D-RAMP (rests on it)" in text


def test_there_is_no_matrix_of_gates(cli: Cli) -> None:
    assert cli("matrix", "--of", "gate").code == 2
