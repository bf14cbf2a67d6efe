"""Which texts a record may hold."""

from __future__ import annotations

import pytest

from tracker.errors import BadTextError, BadValueError
from tracker.model.texts import LINE_LIMIT, TEXT_LIMIT, check_currency, check_text, check_texts


def test_text_is_kept_as_typed() -> None:
    text = "  [R-12] 'stiffness' <b>N/mm</b> \u202e ｅ "
    assert check_text(text, item="Q1", field="title") is text
    assert check_text("two\nlines\tin all", item="Q1", field="notes", long=True)


@pytest.mark.parametrize(
    ("text", "long", "says", "remedy"),
    [
        ("x" * (LINE_LIMIT + 1), False, "has 501 characters", "Keep it to 500"),
        ("x" * (TEXT_LIMIT + 1), True, "has 20001 characters", "Keep it to 20000"),
        ("a\nb", False, "character 2 is a control character (U+000A)", "this field is one line"),
        ("\x1b[31m", True, "character 1 is a control character (U+001B)", "Remove it"),
        ("\x9b", False, "(U+009B)", "Remove it"),
        ("a\r\n", True, "(U+000D)", "Remove it"),
        ("\ud800", False, "(U+D800)", "Remove it"),
    ],
)
def test_long_texts_and_control_characters_are_refused(
    text: str, long: bool, says: str, remedy: str
) -> None:
    with pytest.raises(BadTextError) as refused:
        check_text(text, item="Q1", field="title", long=long)
    assert says in refused.value.message
    assert remedy in refused.value.remedy
    assert (refused.value.item, refused.value.field) == ("Q1", "title")


@pytest.mark.parametrize(
    ("plain", "field"),
    [
        ({"title": "\x00"}, "title"),
        ({"options": [{"key": "a"}, {"title": "\n"}]}, "options.2.title"),
        ({"config": {"a\n": "x"}}, "config.name"),
        ({"given": {"value": [["\x7f", 1]]}}, "given.value.1.1"),
    ],
)
def test_a_refusal_names_the_path_of_the_field(plain: dict[str, object], field: str) -> None:
    with pytest.raises(BadTextError) as refused:
        check_texts(plain, item="Q1")
    assert refused.value.field == field


def test_long_fields_may_have_lines_wherever_they_are() -> None:
    check_texts(
        {"question": "a\nb", "against": {"x": "a\nb"}, "count": 3, "options": [{"notes": "a\nb"}]},
        item="D",
    )


def test_a_currency_code_is_three_capitals() -> None:
    assert check_currency("EUR", item="P") == "EUR"
    for text in ("eur", "EURO", "€", ""):
        with pytest.raises(BadValueError, match="Write three capital letters"):
            check_currency(text, item="P")
