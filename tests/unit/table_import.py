"""Takes a text in as a file, as the command line does, and says what was wrong with it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from tests.unit.services.small import Document, small_session
from tracker.errors import InputError, ManyProblemsError
from tracker.exchange.table_files import TableStyle, read_table
from tracker.model.records import Decision, Quantity, Setting
from tracker.services.actions import add_items, update_items
from tracker.services.change_views import Committed
from tracker.services.session import Session

JOINTS: list[Document] = [
    {
        "kind": "quantity",
        "key": key,
        "title": f"Joint {key}",
        "type": "point",
        "unit": "mm",
    }
    for key in ("uca_o", "lca_o")
]
CORNER: Document = {
    "kind": "decision",
    "key": "D-CORNER",
    "question": "Which corner?",
    "sets": ["uca_o", "lca_o"],
    "options": [
        {
            "key": "high",
            "title": "High",
            "settings": {
                "uca_o": {"value": "[10, 690, 480] mm", "basis": "measured", "source": "Mock-up"}
            },
        },
        {"key": "low", "title": "Low"},
    ],
}


def corner_session() -> Session:
    """Return the small programme with a decision that owns two points."""
    session = small_session()
    add_items(session, [*JOINTS, CORNER], "a corner")
    return session


def take_in(session: Session, text: str | bytes, into: str = "", **style: Any) -> Committed:  # noqa: ANN401 - fields of TableStyle
    data = text if isinstance(text, bytes) else text.encode()
    found = read_table(data, "f.csv", session, TableStyle(**style))
    with found.naming_places():
        if found.updates:
            return update_items(session, found.documents, "import", found.places, into)
        return add_items(session, found.documents, "import", found.places)


def refused(
    session: Session,
    text: str | bytes,
    into: str = "",
    **style: Any,  # noqa: ANN401 - as above
) -> Sequence[InputError]:
    """Return everything an import is refused for, having seen that nothing was stored."""
    before = session.store.head()
    with pytest.raises(InputError) as caught:
        take_in(session, text, into, **style)
    assert session.store.head() == before
    error = caught.value
    return error.problems if isinstance(error, ManyProblemsError) else [error]  # type: ignore[return-value] # problems of a file are input errors


def places(problems: Sequence[InputError]) -> list[tuple[str, str]]:
    """Return where each problem is."""
    return [(each.item, each.field) for each in problems]


def quantity(session: Session, key: str) -> Quantity:
    return session.programme.named(key, Quantity)


def given(session: Session, key: str) -> Setting:
    """Return what is stated for a quantity."""
    setting = quantity(session, key).given
    assert setting is not None
    return setting


def in_option(session: Session, decision: str, option: str, key: str) -> Setting:
    """Return what an option states for a quantity."""
    record = session.programme.named(decision, Decision)
    found = next(each for each in record.options if each.key == option)
    return found.settings[quantity(session, key).id]
