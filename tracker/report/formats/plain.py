"""Frozen content as JSON data, and as JSON text that reads the same everywhere."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from typing import Any

from tracker.services.wording import visible

__all__ = ["json_bytes", "plain_of"]


def plain_of(value: Any) -> Any:  # noqa: ANN401 - a dataclass, tuple or plain value
    """Return content as JSON data; texts carry no hidden character."""
    if dataclasses.is_dataclass(value):
        fields = dataclasses.fields(value)
        return {each.name: plain_of(getattr(value, each.name)) for each in fields}
    if isinstance(value, tuple):
        return [plain_of(each) for each in value]
    return visible(value) if isinstance(value, str) else value


def json_bytes(data: Mapping[str, Any]) -> bytes:
    """Write JSON data, indented, UTF-8."""
    return (json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()
