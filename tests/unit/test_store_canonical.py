"""Canonical JSON against the published examples, and reading it back."""

from __future__ import annotations

import math
import struct
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from tests.property.strategies import numbers, texts, whole_numbers
from tracker.errors import BadTextError, BadValueError
from tracker.store.canonical import canonical_text, parse, parse_at, sha256

# RFC 8785, appendix B: IEEE 754 bits and their JSON text.
RFC8785_NUMBERS = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


@pytest.mark.parametrize(("bits", "text"), RFC8785_NUMBERS)
def test_numbers_of_the_standard(bits: str, text: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical_text(number) == text
    back = parse(text)
    assert back == number
    assert canonical_text(back) == text


def test_the_standards_sample_object() -> None:
    """RFC 8785, section 3.2.2 and 3.2.3."""
    sample = {
        "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"/",
        "literals": [None, True, False],
    }
    assert canonical_text(sample) == (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )


def test_the_standards_order_of_names() -> None:
    """RFC 8785, section 3.2.3: by UTF-16 code units."""
    names = ["\u20ac", "\r", "\ufb33", "1", "\U0001f600", "\u0080", "\u00f6"]
    ordered = ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33"]
    assert list(parse(canonical_text(dict.fromkeys(names, 0)))) == ordered


def test_the_digest_of_the_standard() -> None:
    """FIPS 180-4 example: SHA-256 of "abc"."""
    wanted = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert sha256(b"abc") == wanted


_data = st.recursive(
    st.none() | st.booleans() | numbers | whole_numbers | texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4),
    max_leaves=12,
)


@given(_data)
def test_what_is_written_reads_back(data: object) -> None:
    text = canonical_text(data)
    assert parse(text) == data
    assert canonical_text(parse(text)) == text
    assert parse_at(f"ab{text}cd", 2) == (data, 2 + len(text))


@given(_data)
def test_the_quick_way_writes_what_the_library_writes(data: object) -> None:
    library: Any = rfc8785.dumps
    assert canonical_text(data) == library(data).decode()


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_floats_keep_their_value(number: float) -> None:
    assert float(parse(canonical_text(number))) == number


def test_whole_numbers_stay_whole_where_floats_are_exact() -> None:
    assert isinstance(parse("9007199254740991"), int)
    assert isinstance(parse("-9007199254740991"), int)
    assert isinstance(parse("9007199254740992"), float)
    assert isinstance(parse("100000000000000000000"), float)
    assert parse("1" * 5000) == math.inf


@pytest.mark.parametrize(
    "data", [math.nan, math.inf, 2**53, -(2**53), "\ud800", {"\udfff": 1}, {1: 2}, {b""}]
)
def test_what_has_no_canonical_form_is_refused(data: object) -> None:
    with pytest.raises(BadValueError, match="the thing"):
        canonical_text(data, item="the thing")


@pytest.mark.parametrize("data", ["\0", "a\0b", {"x\0": 1}, ["\\\0"], "\\\\\0"])
def test_nul_is_refused(data: object) -> None:
    with pytest.raises(BadTextError, match="NUL"):
        canonical_text(data)


@pytest.mark.parametrize("text", ["\\u0000", "\\\\u0000", "u0000"])
def test_what_only_looks_like_nul_is_kept(text: str) -> None:
    assert parse(canonical_text(text)) == text


@pytest.mark.parametrize(
    "text", ["", "{", "[1,]", "NaN", "-Infinity", "1 2", "{} ", "[" * 100_000, "nul"]
)
def test_what_is_no_json_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        parse(text)
