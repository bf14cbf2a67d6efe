"""A programme whose every text is hostile: it stays text wherever it comes out."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from markdown_it import MarkdownIt

from tests.integration.cli.conftest import Cli
from tracker.services.wording import visible

NASTY = (
    "**b** [x](http://x.test) <script>alert(1)</script> | cell | `c` &amp; # ~~s~~ "
    "[@click=app.bell] [/] $HOME \u202egnirts\u200b"
)
TEXT_TOKENS = {"text", "hardbreak", "softbreak"}


@pytest.fixture
def hostile(cli: Cli, tmp_path: Path) -> Cli:
    """Programme with the hostile text in every field that takes text."""
    lines = f"{NASTY}\n# {NASTY}\n- {NASTY}\n    {NASTY}\n| a | b |\n| --- | --- |"
    items = [
        {"kind": "gate", "key": "GX", "title": NASTY, "date": "2032-01-01"},
        {
            "kind": "quantity", "key": "qx", "title": NASTY, "type": "choice",
            "choices": [NASTY, "z"],
        },
        {
            "kind": "quantity", "key": "mx", "title": NASTY, "value": 3, "source": NASTY,
            "dated": "2031-01-01",
        },
        {"kind": "quantity", "key": "ux", "title": NASTY, "unknown": NASTY},
        {
            "kind": "requirement", "key": "RX", "statement": NASTY, "quantity": "qx",
            "allowed": [NASTY], "source": NASTY, "owner": NASTY, "gate": "GX",
        },
        {
            "kind": "requirement", "key": "UX", "statement": lines, "quantity": "ux", "lower": 1,
            "owner": NASTY,
        },
        {
            "kind": "decision", "key": "DX", "question": lines, "owner": NASTY, "gate": "GX",
            "serves": ["RX", "UX"],
            "options": [
                {
                    "key": key, "title": NASTY, "notes": lines,
                    "settings": {"qx": {"value": value, "source": NASTY}},
                }
                for key, value in (("k", NASTY), ("l", "z"))
            ],
        },
        {
            "kind": "check", "key": "CX", "title": NASTY, "check": "tooling-budget",
            "decision": "DX", "inputs": {"parts": {"value": []}, "volume_per_year": 1, "years": 1},
            "outputs": {},
        },
    ]  # fmt: skip
    file = tmp_path / "hostile.json"
    file.write_text(json.dumps(items), encoding="utf-8")
    told = cli("import", str(file), "--author", visible(NASTY))
    assert told.code == 0, told.err
    assert cli("settle", "DX", "k", "--why", lines, "--against", f"l={lines}").code == 0
    assert cli("reopen", "DX", "--why", NASTY).code == 0
    assert cli("settle", "DX", "k", "--why", lines).code == 0
    return cli


def test_markdown_holds_the_text_and_nothing_else(hostile: Cli, tmp_path: Path) -> None:
    place = tmp_path / "history.md"
    assert hostile("export", str(place)).code == 0
    source = place.read_text(encoding="utf-8")
    assert "\u202e" not in source
    shown = []
    for token in MarkdownIt("gfm-like").parse(source):
        assert token.type not in {"html_block", "fence", "code_block", "hr", "ordered_list_open"}
        own = "**Caution.**" in token.content or token.content.startswith("Revision ")
        for each in token.children or ():
            assert own or each.type in TEXT_TOKENS, (token.content, each)
        if token.type == "inline":
            shown.append("".join(each.content or " " for each in token.children or ()))
    words = " ".join(visible(NASTY).split())
    flat = " ".join(" ".join(shown).split())
    # heads: question and its options, statement, owner, source, notes, rationale, against, author …
    assert flat.count(words) > 40
    for part in (f"DX: {words} # {words}", f"owner: {words}"):
        assert part in flat
    for token in MarkdownIt("gfm-like").parse(source):
        if token.type == "tr_open":
            assert token.map
            assert token.map[1] - token.map[0] == 1


def test_every_row_of_a_table_has_its_columns(hostile: Cli, tmp_path: Path) -> None:
    hostile("export", str(tmp_path / "history.md"))
    tokens = MarkdownIt("gfm-like").parse((tmp_path / "history.md").read_text(encoding="utf-8"))
    row: list[str] = []
    widths: set[int] = set()
    for token in tokens:
        if token.type == "table_open":
            widths = set()
        elif token.type in ("td_open", "th_open"):
            row.append(token.type)
        elif token.type == "tr_close":
            widths.add(len(row))
            row = []
        elif token.type == "table_close":
            assert len(widths) == 1


@pytest.mark.parametrize(
    "command",
    [
        ("status",), ("show", "DX"), ("show", "RX"), ("show", "qx"), ("show", "CX"),
        ("list", "decision"), ("list", "quantity"), ("log",), ("compare", "1", "6"),
        ("weigh", "DX"), ("try", "--lean", "D-1=b"), ("set", "mx=4", "--why", NASTY),
        ("show", NASTY), ("set", f"mx={NASTY}", "--why", "x"), ("add", NASTY, "K"),
    ],
)  # fmt: skip
def test_no_command_lets_a_hidden_character_through(hostile: Cli, command: tuple[str, ...]) -> None:
    for more in ((), ("--json",)):
        told = hostile(*command, *more)
        assert told.code in (0, 1, 2), told.err
        assert not set("\u202e\u200b\x1b") & set(told.out + told.err)


def test_an_item_file_keeps_the_text_as_it_is(hostile: Cli, tmp_path: Path) -> None:
    place = tmp_path / "items.json"
    hostile("export", str(place))
    text = place.read_text(encoding="utf-8")
    assert not set("\u202e\u200b") & set(text)
    items = {each["key"]: each for each in json.loads(text)["items"]}
    assert items["RX"]["statement"] == NASTY
