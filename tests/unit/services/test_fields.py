"""Fields of item documents, whatever JSON puts there."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tracker.errors import BadTextError, BadValueError
from tracker.model.records import BasisKind
from tracker.model.texts import TEXT_LIMIT
from tracker.services.fields import Fields

ALL = {"text", "texts", "choice", "list", "object", "raw"}


def fields(**document: object) -> Fields:
    return Fields({"kind": "gate", "key": "K", **document}, ALL)


def test_fields_are_read_by_kind() -> None:
    held = fields(
        text=" a ", texts="x, y,,", choice="quoted", list=[{"a": 1}], object={"b": 2}, raw=0
    )
    assert held.key == "K"
    assert held.text("text") == " a "
    assert held.texts("texts") == ("x", "y")
    assert held.choice("choice", BasisKind, BasisKind.GUESS) is BasisKind.QUOTED
    assert held.sequence("list") == [{"a": 1}]
    assert held.mapping("object") == {"b": 2}
    assert held.raw("raw") == 0
    assert fields(texts=["x", "y, z"]).texts("texts") == ("x", "y, z")


@pytest.mark.parametrize("empty", [None, ""])
def test_null_and_empty_text_mean_missing(empty: object) -> None:
    held = fields(text=empty, texts=empty, choice=empty, list=empty, object=empty, raw=empty)
    assert held.text("text") == ""
    assert held.texts("texts") == ()
    assert held.choice("choice", BasisKind, BasisKind.GUESS) is BasisKind.GUESS
    assert held.sequence("list") == ()
    assert held.mapping("object") == {}
    assert held.raw("raw") is None


@pytest.mark.parametrize(
    ("read", "name", "value", "word"),
    [
        (lambda held: held.text("text"), "text", 5, "it is not text"),
        (lambda held: held.text("text"), "text", False, "it is not text"),
        (lambda held: held.text("text", required=True), "text", " ", "it is missing"),
        (lambda held: held.texts("texts"), "texts", 0, "not a list of texts"),
        (lambda held: held.texts("texts"), "texts", ["a", 5], "not a list of texts"),
        (lambda held: held.texts("texts"), "texts", {"a": 1}, "not a list of texts"),
        (lambda held: held.choice("choice", BasisKind, BasisKind.GUESS), "choice", "sure", "sure"),
        (lambda held: held.choice("choice", BasisKind, BasisKind.GUESS), "choice", [1], "[1]"),
        (lambda held: held.choice("choice", BasisKind, BasisKind.GUESS), "choice", {}, "{}"),
        (lambda held: held.sequence("list"), "list", "abc", "it is not a list"),
        (lambda held: held.sequence("list"), "list", 7, "it is not a list"),
        (lambda held: held.sequence("list"), "list", {"a": 1}, "it is not a list"),
        (lambda held: held.sequence("list"), "list", [1], "its entries are not objects"),
        (lambda held: held.mapping("object"), "object", [1], "it is not an object"),
        (lambda held: held.mapping("object"), "object", 0, "it is not an object"),
    ],
)
def test_a_field_of_another_kind_is_named(
    read: Callable[[Fields], object], name: str, value: object, word: str
) -> None:
    with pytest.raises(BadValueError) as caught:
        read(fields(**{name: value}))
    assert (caught.value.item, caught.value.field) == ("K", name)
    assert word in caught.value.message


def test_a_wrong_choice_lists_the_right_ones() -> None:
    with pytest.raises(BadValueError) as caught:
        fields(choice="sure").choice("choice", BasisKind, BasisKind.GUESS)
    assert caught.value.remedy == "Choose one of: guess, estimate, calculated, quoted, measured"
    with pytest.raises(BadValueError) as caught:
        fields(choice="sure" * 99).choice("choice", BasisKind, BasisKind.GUESS)
    assert len(caught.value.message) < 80


def test_a_text_too_long_is_refused_unread() -> None:
    with pytest.raises(BadTextError) as caught:
        fields(text="a" * (TEXT_LIMIT + 1)).text("text")
    assert str(TEXT_LIMIT) in caught.value.remedy
    assert len(fields(text="a" * TEXT_LIMIT).text("text")) == TEXT_LIMIT


def test_a_field_nobody_reads_is_refused() -> None:
    with pytest.raises(BadValueError) as caught:
        Fields({"key": "K", "titel": "x"}, {"title"})
    assert (caught.value.item, caught.value.field) == ("K", "titel")
    assert caught.value.remedy == "Fields: title"
    assert Fields({"key": "K", "titel": "x"}, None).raw("titel") == "x"


def test_nested_fields_name_their_path_and_the_item_they_belong_to() -> None:
    with pytest.raises(BadValueError) as caught:
        Fields({"name": 5}, {"name"}, "columns 2", item="parts").text("name")
    assert (caught.value.item, caught.value.field) == ("parts", "columns 2 name")
