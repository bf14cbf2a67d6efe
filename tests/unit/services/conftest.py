"""Programmes in memory for the tests of the services."""

from __future__ import annotations

import pytest

from tests.unit.services.memory import MemoryStore
from tests.unit.services.small import AGAINST, empty_session, small_session
from tracker.services.actions import settle
from tracker.services.session import Session


@pytest.fixture
def store() -> MemoryStore:
    return MemoryStore()


@pytest.fixture
def empty(store: MemoryStore) -> Session:
    """Return a programme that holds nothing but its name."""
    return empty_session(store)


@pytest.fixture
def small(store: MemoryStore) -> Session:
    """Return the small programme, everything open."""
    return small_session(store)


@pytest.fixture
def settled(small: Session) -> Session:
    """Return the small programme with both decisions settled."""
    settle(small, "D-ARM", "short", "The short arm holds", AGAINST)
    settle(small, "D-MASS", "forged", "Forged is lighter", {"cast": "Too heavy"})
    return small
