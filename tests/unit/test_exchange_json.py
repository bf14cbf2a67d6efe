"""JSON text and files."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import FileFormatError
from tracker.exchange.files import LARGEST, decode, read_bytes, write_whole
from tracker.exchange.json_text import read_json, write_json

DATA = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=10,
)  # fmt: skip


@given(st.dictionaries(st.text(), DATA, max_size=4), st.booleans())
def test_what_is_written_is_read_back(document: dict[str, object], ascii_only: bool) -> None:
    text = write_json(document, ascii_only=ascii_only)
    assert json.loads(text) == document
    assert read_json(text, item="f") == document
    assert not ascii_only or text.isascii()


def test_characters_that_hide_are_escaped() -> None:
    text = write_json({"a": "x\u202ey\u200b\u2028\x1b\U000e0041 Ω"})
    assert '"x\\u202ey\\u200b\\u2028\\u001b\\udb40\\udc41 Ω"' in text


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "line 1, column 2"),
        ('{"a": 1,}', "line 1"),
        ("NaN", "NaN is not a number"),
        ("[-Infinity]", "Infinity is not a number"),
        ('{"a": 1, "a": 2}', "'a' stands twice"),
        ("[" * 100_000, "too deeply nested"),
        ("9" * 5000, "digits"),
    ],
)
def test_json_is_read_strictly(text: str, said: str) -> None:
    with pytest.raises(FileFormatError, match=said):
        read_json(text, item="f")


def test_utf_8_with_and_without_a_mark() -> None:
    assert decode("ü".encode(), "f") == decode("\ufeffü".encode(), "f") == "ü"
    with pytest.raises(FileFormatError, match="f: line 3 is not UTF-8"):
        decode(b"a\nb\n\xff", "f")


def test_a_file_that_is_too_large(tmp_path: Path) -> None:
    place = tmp_path / "large"
    with place.open("wb") as file:
        file.truncate(LARGEST + 1)
    with pytest.raises(FileFormatError, match="larger than 64 MB"):
        read_bytes(place)
    os.truncate(place, 3)
    assert read_bytes(place) == b"\0\0\0"


def test_a_file_appears_whole_or_not_at_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "f.txt"
    write_whole(place, b"one\n")
    assert place.read_bytes() == b"one\n"

    def fail(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(FileFormatError, match="No space left"):
        write_whole(place, b"two\n", overwrite=True)
    assert place.read_bytes() == b"one\n"
    assert [each.name for each in tmp_path.iterdir()] == ["f.txt"]


def test_a_link_keeps_pointing(tmp_path: Path) -> None:
    real, link = tmp_path / "real.txt", tmp_path / "link.txt"
    real.write_text("one", encoding="utf-8")
    link.symlink_to(real)
    write_whole(link, b"two", overwrite=True)
    assert link.is_symlink()
    assert real.read_text(encoding="utf-8") == "two"
