"""Putting the parts together: making, opening, and who is at the keyboard."""

from __future__ import annotations

import gc
import getpass
import re
from pathlib import Path

import pytest

from tests.unit.services.memory import MemoryStore
from tests.unit.services.small import toy_tools
from tracker import bootstrap
from tracker.bootstrap import audit, author, make_programme, open_session, tools
from tracker.errors import (
    BadTextError,
    BadValueError,
    InputError,
    StoreUnreachableError,
    StoreWriteError,
)
from tracker.services.session import Session


def test_a_new_programme_holds_its_name_and_money_as_its_first_change(tmp_path: Path) -> None:
    session = make_programme(tmp_path / "car.db", "Small car", "EUR", who="Ann")
    info = session.programme.info
    assert info is not None
    assert (info.title, info.currency, session.head.revision) == ("Small car", "EUR", 1)
    session.store.close()
    again = open_session(tmp_path / "car.db", "Bob")
    assert again.author == "Bob"
    assert again.head == session.head
    assert again.store.audit().ok
    again.store.close()


@pytest.mark.parametrize("collecting", [True, False])
def test_opening_leaves_the_garbage_collector_as_it_was(tmp_path: Path, collecting: bool) -> None:
    make_programme(tmp_path / "car.db", "Small car", "EUR", who="Ann").store.close()
    try:
        (gc.enable if collecting else gc.disable)()
        open_session(tmp_path / "car.db", "Bob").store.close()
        assert gc.isenabled() is collecting
        with pytest.raises(StoreUnreachableError):
            open_session(tmp_path / "no.db", "Bob")
        assert gc.isenabled() is collecting
    finally:
        gc.enable()


@pytest.mark.parametrize("url", [False, True])
@pytest.mark.parametrize(
    ("title", "currency", "who", "error"),
    [
        ("Car", "euro", "Ann", BadValueError),
        ("Car\x1b[0m", "EUR", "Ann", BadTextError),
        ("Car", "EUR", "A\nnn", BadTextError),
    ],
)
def test_a_programme_that_cannot_be_named_leaves_no_file(
    tmp_path: Path, url: bool, title: str, currency: str, who: str, error: type[InputError]
) -> None:
    place = f"sqlite:///{tmp_path}/car.db" if url else tmp_path / "car.db"
    with pytest.raises(error):
        make_programme(place, title, currency, who=who)
    assert list(tmp_path.iterdir()) == []


def test_a_first_change_that_fails_leaves_no_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise StoreWriteError("the disk is full")

    monkeypatch.setattr(Session, "commit", fail)
    with pytest.raises(StoreWriteError):
        make_programme(tmp_path / "car.db", "Car", "EUR", who="Ann", with_tools=toy_tools())
    assert list(tmp_path.iterdir()) == []


def test_a_database_is_not_taken_for_a_file(monkeypatch: pytest.MonkeyPatch) -> None:
    store = MemoryStore()
    store.name = "postgresql://ann@host/car"
    monkeypatch.setattr(bootstrap, "create_store", lambda _: store)
    with pytest.raises(BadValueError):
        make_programme(store.name, "Car", "euro", who="Ann", with_tools=toy_tools())
    assert store.closed


def test_what_is_there_is_never_overwritten(tmp_path: Path) -> None:
    (tmp_path / "car.db").write_text("precious", encoding="utf-8")
    with pytest.raises(StoreUnreachableError):
        make_programme(tmp_path / "car.db", "Car", "EUR", who="Ann")
    assert (tmp_path / "car.db").read_text(encoding="utf-8") == "precious"


def test_auditing_needs_no_reading(tmp_path: Path) -> None:
    session = make_programme(tmp_path / "car.db", "Small car", "EUR", who="Ann")
    session.store.close()
    assert audit(tmp_path / "car.db").ok
    assert audit(tmp_path / "car.db", session.head.hash).ok
    assert not audit(tmp_path / "car.db", "f" * 64).ok


def test_the_author_is_told_by_the_environment_or_the_login(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("WHYBONE_AUTHOR", " Ann ")
    assert author() == "Ann"
    monkeypatch.setenv("WHYBONE_AUTHOR", " ")
    monkeypatch.setattr(getpass, "getuser", lambda: "login")
    assert author() == "login"


@pytest.mark.parametrize("error", [KeyError("uid"), OSError("no user"), ImportError("pwd")])
def test_nobody_at_the_keyboard_is_told_what_to_do(
    monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    def fail() -> str:
        raise error

    monkeypatch.delenv("WHYBONE_AUTHOR", raising=False)
    monkeypatch.setattr(getpass, "getuser", fail)
    with pytest.raises(InputError) as caught:
        author()
    assert "WHYBONE_AUTHOR" in caught.value.remedy


def test_tools_tell_the_time_in_utc_and_never_repeat_an_id() -> None:
    made = tools()
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", made.clock())
    assert len({made.ids() for _ in range(1000)}) == 1000
    assert "tooling-budget" in made.catalogue.keys()  # noqa: SIM118 - the port's method
    assert made.units.read("mm").scale == 0.001


def test_the_one_composition_root_offers_what_the_front_ends_need() -> None:
    assert {"author", "make_programme", "open_session", "tools"} <= set(bootstrap.__all__)
