"""The small programme in a real store."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.unit.services.small import AGAINST, SMALL, toy_tools
from tracker.bootstrap import make_programme
from tracker.services.actions import add_items, settle
from tracker.services.session import Session
from tracker.store.open import open_store


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "small.db"


@pytest.fixture
def ann(place: Path) -> Iterator[Session]:
    """Return Ann's session on the small programme, both decisions settled."""
    session = make_programme(place, "Small", "EUR", who="Ann", with_tools=toy_tools())
    add_items(session, SMALL, "begin")
    settle(session, "D-ARM", "short", "The short arm holds", AGAINST)
    settle(session, "D-MASS", "forged", "Forged is lighter", {"cast": "Too heavy"})
    yield session
    session.store.close()


@pytest.fixture
def bob(ann: Session, place: Path) -> Iterator[Session]:
    """Return Bob's session, in a store connection of his own."""
    session = Session(open_store(place, patience=0.2), ann.tools, "Bob")
    yield session
    session.store.close()
