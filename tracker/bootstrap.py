"""The one place that puts the parts together."""

from __future__ import annotations

import getpass
import os
import secrets
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from tracker.errors import InputError
from tracker.evaluate.collecting import collector_held
from tracker.exchange.units import PintUnits
from tracker.host.catalogue import EntryPoints
from tracker.host.evidence_files import EvidenceFiles
from tracker.host.fingerprints import Fingerprints, environment
from tracker.host.trace_file import TraceFile, trace_folder
from tracker.model.changes import Entry
from tracker.model.programme import Programme
from tracker.model.records import ProgrammeInfo
from tracker.services.ports import AuditReport, Store
from tracker.services.session import Session, Tools
from tracker.store.open import create_store, open_store

__all__ = ["Records", "audit", "author", "make_programme", "open_records", "open_session", "tools"]


def author() -> str:
    """Return who is at the keyboard: WHYBONE_AUTHOR, else the login name.

    Raises
    ------
    InputError
        Neither says.
    """
    named = os.environ.get("WHYBONE_AUTHOR", "").strip()
    if named:
        return named
    try:
        return getpass.getuser()
    except (ImportError, KeyError, OSError):  # what it raises depends on the Python version
        raise InputError(
            "nobody is named as the author of changes", remedy="Set WHYBONE_AUTHOR to your name"
        ) from None


def _now() -> str:
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _new_id() -> str:
    return secrets.token_hex(8)


def tools() -> Tools:
    """Return everything a session works with besides its store."""
    units, fingerprints = PintUnits(), Fingerprints()
    folder = trace_folder(os.environ)
    return Tools(
        catalogue=EntryPoints(units, fingerprints=fingerprints),
        units=units,
        clock=_now,
        ids=_new_id,
        traces=None if folder is None else TraceFile(folder, environment, fingerprints.hold),
    )


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
    name = who or author()
    with collector_held():
        store = open_store(location)
        return Session(store, _beside(store.name, tools()), name)


@dataclass(frozen=True, slots=True)
class Records:
    """A programme as it is stored, not evaluated: no check is loaded or run."""

    store: Store
    programme: Programme

    def close(self) -> None:
        """Release the store."""
        self.store.close()


def open_records(location: str | Path) -> Records:
    """Open a programme to read what is stored, and nothing else.

    Parameters
    ----------
    location : str or Path
        File, or database URL.

    Raises
    ------
    StoreError
        There is none, or it cannot be reached.
    """
    store = open_store(location)
    try:
        _, programme = store.load()
    except BaseException:
        store.close()
        raise
    return Records(store, programme)


def _beside(place: str, with_tools: Tools) -> Tools:
    """Let evidence be looked at from the programme's folder; a database has the working one."""
    folder = Path.cwd() if "://" in place else Path(place).resolve().parent
    return replace(with_tools, files=EvidenceFiles(folder))


def audit(location: str | Path, expect: str = "") -> AuditReport:
    """Audit the store of a programme without reading the programme out of it.

    Parameters
    ----------
    location : str or Path
        File, or database URL.
    expect : str
        A head hash known from elsewhere that the journal must contain.

    Raises
    ------
    StoreError
        There is none, or it cannot be reached. Damage is reported, not raised.
    """
    store = open_store(location)
    try:
        return store.audit(expect)
    finally:
        store.close()


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
        The title, the currency or the author does not hold.
    """
    name, store = who or author(), create_store(location)
    info = ProgrammeInfo(id="programme", key="programme", title=title, currency=currency)
    try:
        session = Session(store, _beside(store.name, with_tools or tools()), name)
        session.commit((Entry(None, info),), "create the programme")
    except BaseException:
        store.close()
        if "://" not in store.name:
            for tail in ("", "-wal", "-shm"):
                Path(f"{store.name}{tail}").unlink(missing_ok=True)
        raise
    return session
