"""The one place that puts the parts together."""

from __future__ import annotations

import getpass
import os
import secrets
from datetime import UTC, datetime
from pathlib import Path

from tracker.exchange.units import PintUnits
from tracker.host.catalogue import EntryPoints
from tracker.model.changes import Entry
from tracker.model.records import ProgrammeInfo
from tracker.services.session import Session, Tools
from tracker.store.open import create_store, open_store

__all__ = ["author", "make_programme", "open_session", "tools"]


def author() -> str:
    """Return who is at the keyboard: WHYBONE_AUTHOR, else the login name."""
    return os.environ.get("WHYBONE_AUTHOR") or getpass.getuser()


def _now() -> str:
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _new_id() -> str:
    return secrets.token_hex(8)


def tools() -> Tools:
    """Return everything a session works with besides its store."""
    units = PintUnits()
    return Tools(catalogue=EntryPoints(units), units=units, clock=_now, ids=_new_id)


def open_session(location: str | Path, who: str = "") -> Session:
    """Open a programme.

    Parameters
    ----------
    location : str or Path
        File, or database URL.
    who : str, optional
        Author of the changes; whoever is at the keyboard when not told.

    Raises
    ------
    StoreError
        There is none, or it cannot be reached.
    """
    return Session(open_store(location), tools(), who or author())


def make_programme(
    location: str | Path,
    title: str,
    currency: str,
    *,
    who: str = "",
    with_tools: Tools | None = None,
) -> Session:
    """Create a new programme with its name and money as the first change.

    Raises
    ------
    StoreError
        Something is there already, or it cannot be made.
    InputError
        The title or the currency does not hold.
    """
    session = Session(create_store(location), with_tools or tools(), who or author())
    info = ProgrammeInfo(id="programme", key="programme", title=title, currency=currency)
    try:
        session.commit((Entry(None, info),), "create the programme")
    except BaseException:
        session.store.close()
        if "://" not in str(location):
            for tail in ("", "-wal", "-shm"):
                Path(f"{location}{tail}").unlink(missing_ok=True)
        raise
    return session
