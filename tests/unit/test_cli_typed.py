"""What stands behind an equals sign."""

from __future__ import annotations

import pytest

from tracker.cli.typed import edits_of, fields_of, head_of, pairs_of, revision_of
from tracker.errors import BadValueError, FileFormatError, UnknownRevisionError


@pytest.mark.parametrize(
    ("word", "name", "text"),
    [
        ("a=1", "a", "1"),
        (" a =1", "a", "1"),
        ("a=", "a", ""),
        ("a=b=c", "a", "b=c"),
        ("t[x=1].c=2", "t[x=1].c", "2"),
        ("a=[1, 2, 3] mm", "a", "[1, 2, 3] mm"),
        ("a=x\ny", "a", "x\ny"),
    ],
)
def test_a_word_splits_at_its_first_equals_sign(word: str, name: str, text: str) -> None:
    assert pairs_of([word], "A=B") == {name: text}


@pytest.mark.parametrize("word", ["a", "=1", " =1", "t[x=1", ""])
def test_a_word_that_does_not_split(word: str) -> None:
    with pytest.raises(BadValueError, match="A=B"):
        pairs_of([word], "A=B")


def test_a_name_stands_once() -> None:
    with pytest.raises(BadValueError, match="twice"):
        pairs_of(["a=1", "b=2", "a=3"], "A=B")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12.5 mm", "12.5 mm"),
        ("[1, 2, 3] mm", "[1, 2, 3] mm"),
        ("[1, 2, 3]", "[1, 2, 3]"),
        ("a, b", "a, b"),
        ('["a", "b"]', ["a", "b"]),
        ('[ {"key": "a"}]', [{"key": "a"}]),
        ("[[1, true]]", [[1, True]]),
        ("[]", []),
        ('{"a": 1}', {"a": 1}),
    ],
)
def test_fields_are_text_or_json(text: str, value: object) -> None:
    assert fields_of([f"f={text}"]) == {"f": value}


def test_only_rows_are_json_in_an_edit() -> None:
    assert edits_of(["a=[1, 2, 3]", "b=[[1]]", "c={", "d=[]"]) == {
        "a": "[1, 2, 3]",
        "b": [[1]],
        "c": "{",
        "d": [],
    }


def test_broken_json_is_told() -> None:
    with pytest.raises(FileFormatError, match="f, value: it is not JSON"):
        fields_of(["f=[{]"])


def test_a_head_is_given_in_full() -> None:
    assert head_of(" " + "AB" * 32) == "ab" * 32
    for text in ("", "ab" * 6, "ab" * 33, "xy" * 32):
        with pytest.raises(BadValueError, match="64 hexadecimal digits"):
            head_of(text)


def test_revisions_are_plain_numbers() -> None:
    assert revision_of("12") == 12
    for text in ("", "-1", "1.0", "²", "9" * 40):
        with pytest.raises(UnknownRevisionError):
            revision_of(text)
