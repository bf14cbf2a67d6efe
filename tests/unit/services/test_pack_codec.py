"""Packs to and from canonical bytes (RFC 8785; numbers as ECMAScript writes them, ECMA-262)."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
import rfc8785

from tracker.services.gates.freezing import freeze_gate, frozen_pack
from tracker.services.packs.codec import pack_bytes, pack_plain, read_pack
from tracker.services.packs.schema import pack_schema
from tracker.services.packs.views import PackContent
from tracker.services.session import Session


@pytest.fixture
def content(settled: Session) -> PackContent:
    freeze_gate(settled, "G1")
    return frozen_pack(settled, "G1")


def with_value(content: PackContent, value: float) -> PackContent:
    first, *others = content.quantities
    return replace(content, quantities=(replace(first, value=value), *others))


@pytest.mark.parametrize("value", [1e-7, 1.5e-10, 1e21, 2.0**53 + 2, 1e16, 123.25, -0.001, 5.0])
def test_bytes_are_those_of_the_standard(content: PackContent, value: float) -> None:
    changed = with_value(content, value)
    data = pack_bytes(changed)
    assert data == rfc8785.dumps(pack_plain(changed))
    assert read_pack(data) == changed
    assert pack_bytes(read_pack(data)) == data


@pytest.mark.parametrize("text", ['é\u2028 "q" \\ \t', "\U0001f6de", "</script>"])
def test_texts_come_through(content: PackContent, text: str) -> None:
    changed = replace(content, cover=replace(content.cover, title=text))
    data = pack_bytes(changed)
    assert data == rfc8785.dumps(pack_plain(changed))
    assert read_pack(data).cover.title == text


def test_every_part_has_a_schema_with_all_its_fields(content: PackContent) -> None:
    schema = pack_schema()
    plain = json.loads(pack_bytes(content))
    assert set(plain) == set(schema["required"]) == set(schema["properties"])
    cover = schema["$defs"]["PackCover"]
    assert set(plain["cover"]) == set(cover["required"])
    assert cover["additionalProperties"] is False
    assert cover["properties"]["ready"] == {"type": "boolean"}
    finding = schema["$defs"]["PackFinding"]["properties"]
    assert finding["margin"] == {"type": ["number", "null"]}
    assert finding["value"] == {"$ref": "#/$defs/value"}
    dissent = schema["$defs"]["PackDecision"]["properties"]["dissent"]["items"]
    assert (dissent["minItems"], dissent["maxItems"]) == (2, 2)
    assert schema["properties"]["format"] == {"const": 1}
