"""Toys whose code is known, and traces held in memory."""

from __future__ import annotations

from dataclasses import replace

from tests.property.toy_checks import Shelf
from tracker.contract.check import Config
from tracker.evaluate.engine import Engine
from tracker.evaluate.plugin import Loaded
from tracker.model.programme import Programme
from tracker.model.records import Record

__all__ = ["CodedShelf", "MemoryTraces", "traced"]


class CodedShelf:
    """Says of every toy on another shelf that its code is known."""

    def __init__(self, shelf: Shelf, code: str = "code") -> None:
        self._shelf = shelf
        self._code = code
        self._loaded: dict[int, Loaded] = {}

    def load(self, plugin: str, config: Config, currency: str) -> Loaded:
        plain = self._shelf.load(plugin, config, currency)
        return self._loaded.setdefault(id(plain), replace(plain, code=self._code))


class MemoryTraces:
    """Traces in memory that count how often they are asked."""

    def __init__(self) -> None:
        self.kept: dict[bytes, bytes] = {}
        self.asked = 0
        self.flushed = 0
        self.closed = 0

    def recall(self, key: bytes) -> bytes | None:
        self.asked += 1
        return self.kept.get(key)

    def keep(self, key: bytes, body: bytes) -> None:
        self.kept[key] = body

    def flush(self) -> None:
        self.flushed += 1

    def close(self) -> None:
        self.closed += 1


def traced(traces: MemoryTraces, shelf: CodedShelf, *records: Record) -> Engine:
    return Engine(shelf, Programme(records), traces=traces)
