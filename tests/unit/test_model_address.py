"""Keys and addresses."""

from __future__ import annotations

import pytest
from hypothesis import given

from tests.property import strategies as some
from tracker.errors import BadKeyError
from tracker.model.address import Address, cell_of, check_key, parse_address, part_of_cell


@pytest.mark.parametrize("text", ["a", "R-12", "7th_gear", "größe", "Ω1", "x" * 64])
def test_a_key_by_the_grammar(text: str) -> None:
    assert check_key(text) == text


@pytest.mark.parametrize(
    "text",
    ["", "-a", "_a", "a b", "a.b", "a[1]", "a/b", "a=b", "x" * 65, "a\n", "A\u030a", "[@click=x]"],
)
def test_anything_else_is_no_key(text: str) -> None:
    with pytest.raises(BadKeyError) as refused:
        check_key(text, item="Q1", field="key")
    assert (refused.value.item, refused.value.field) == ("Q1", "key")
    assert "at most 64" in refused.value.remedy


@pytest.mark.parametrize(
    ("text", "address"),
    [
        ("hub", Address("hub")),
        ("hub.x", Address("hub", "x")),
        ("R-1.upper", Address("R-1", "upper")),
        ("parts[knuckle].mass", Address("parts", "[knuckle].mass")),
        ("parts[2].mass", Address("parts", "[2].mass")),
        ("parts[left/right].mass", Address("parts", "[left/right].mass")),
        ("parts[front. arm].mass", Address("parts", "[front. arm].mass")),
        ("D-1/cast.mass", Address("mass", "", "D-1", "cast")),
    ],
)
def test_an_address_reads_and_writes_itself(text: str, address: Address) -> None:
    assert parse_address(text) == address
    assert str(address) == text


@pytest.mark.parametrize(
    "text",
    [
        "", "hub.", "hub.x.y", "hub.x y", ".x", "hub[", "hub[]", "hub[1]", "hub[1]mass",
        "hub[1].", "[1].mass", "hub[a[b]].c", "D-1/cast", "/cast.mass", "D-1/.mass", "D-1/cast.",
        "D-1/cast.hub.x", "D 1/cast.mass",
    ],
)  # fmt: skip
def test_anything_else_is_no_address(text: str) -> None:
    with pytest.raises(BadKeyError):
        parse_address(text)


@given(some.keys, some.keys, some.keys)
def test_every_option_value_has_an_address(decision: str, option: str, key: str) -> None:
    address = Address(key, "", decision, option)
    assert parse_address(str(address)) == address


def test_a_cell_is_a_row_and_a_column() -> None:
    assert cell_of(part_of_cell("front arm", "mass")) == ("front arm", "mass")
    assert cell_of("x") is None
    with pytest.raises(BadKeyError, match="is not a cell"):
        cell_of("[1]")
