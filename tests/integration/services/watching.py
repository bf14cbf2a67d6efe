"""Short ways to look at a programme."""

from __future__ import annotations

from typing import Any

import numpy as np

from tracker.evaluate.engine import Engine
from tracker.services.item import item_page
from tracker.services.overview import overview
from tracker.services.session import Session


def value(session: Session, key: str) -> Any:  # noqa: ANN401 - a Value
    return item_page(session, key).value


def line(session: Session, key: str) -> tuple[str, bool]:
    found = next(each for each in overview(session).decisions if each.key == key)
    return found.standing, found.shifted


def assert_current(session: Session) -> None:
    """Compare everything shown with a programme computed from scratch, to the bit."""
    engine = Engine(session.tools.catalogue, session.programme.copy())
    ours, scratch = session.engine.state, engine.state
    places = {key: slot for slot, key in enumerate(engine.graph.keys)}
    for key, held in zip(session.engine.graph.keys, ours.slots, strict=True):
        fresh = scratch.slots[places[key]]
        if isinstance(held, np.ndarray):
            assert isinstance(fresh, np.ndarray)
            assert held.tobytes() == fresh.tobytes(), key
        else:
            assert held == fresh, key
    assert ours.findings == scratch.findings
    assert ours.standings == scratch.standings
    assert ours.shifts == scratch.shifts
