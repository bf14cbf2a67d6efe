"""An earlier revision opened to look at: it shows what was, and stores nothing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.tui.conftest import fill, fixed_tools
from tracker.bootstrap import make_programme
from tracker.errors import InputError, UnknownRevisionError
from tracker.services.actions import lean, set_values
from tracker.services.item import item_page
from tracker.services.journal import journal_page
from tracker.services.overview import overview
from tracker.services.session import Session
from tracker.services.visiting import Visit


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    made = make_programme(
        tmp_path / "programme.db", "Test cart", "EUR", who="Ada", with_tools=fixed_tools()
    )
    fill(made)
    yield made
    made.close()


def test_a_visit_shows_what_was(session: Session) -> None:
    visit = Visit(session, 5)
    assert item_page(visit, "volume").value == 3500
    assert item_page(session, "volume").value == 4000
    assert overview(visit).revision == 5
    assert [each.revision for each in journal_page(visit).lines] == [5, 4, 3, 2, 1]


def test_a_visit_stores_nothing(session: Session) -> None:
    visit = Visit(session, 5)
    with pytest.raises(InputError, match="revision 5 is open to look at only"):
        set_values(visit, {"volume": "5000"}, "more")
    with pytest.raises(InputError, match="revision 5 is open to look at only"):
        lean(visit, "D-BUSH", "hard")
    assert session.head.revision == session.store.head().revision == 6


def test_a_visit_stays_where_it_is_and_leaves_the_present_open(session: Session) -> None:
    visit = Visit(session, 5)
    set_values(session, {"years": "7"}, "longer")
    assert not visit.refresh()
    assert visit.head.revision == 5
    visit.close()
    assert session.store.head().revision == 7


def test_there_is_no_visit_to_what_never_was(session: Session) -> None:
    with pytest.raises(UnknownRevisionError):
        Visit(session, 7)
