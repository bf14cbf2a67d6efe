"""Whether a piece of evidence is still what it was when it was named."""

from __future__ import annotations

import re

from tracker.model.records import Evidence
from tracker.services.ports import Files

__all__ = ["CHANGED", "INTACT", "MISSING", "NOT_CHECKED", "evidence_state", "is_address"]

INTACT, CHANGED, MISSING, NOT_CHECKED = "intact", "changed", "missing", "not checked"
_ADDRESS = re.compile(r"[a-z][a-z0-9+.-]+:|//|\\\\", re.IGNORECASE)
"""A URI with its scheme (RFC 3986, section 3.1; one letter is a drive), or a share of a network."""


def is_address(place: str) -> bool:
    """Tell whether a place is an address rather than a file."""
    return _ADDRESS.match(place) is not None


def evidence_state(files: Files | None, evidence: Evidence) -> str:
    """Compare a file with the hash it had; an address is never fetched.

    Parameters
    ----------
    files : Files or None
        Where files are read; None where there is no place to read them from.

    Returns
    -------
    str
        intact, changed, missing or not checked.
    """
    if files is None or not evidence.sha256 or is_address(evidence.place):
        return NOT_CHECKED
    found = files.digest(evidence.place)
    if found is None:
        return MISSING
    return INTACT if found == evidence.sha256 else CHANGED
