"""Files that serve as evidence: their digests, read from the programme's folder."""

from __future__ import annotations

import hashlib
from pathlib import Path

__all__ = ["EvidenceFiles"]


class EvidenceFiles:
    """Looks at ordinary files and at nothing else: no device, no pipe, no address.

    Parameters
    ----------
    folder : Path
        Where relative places start: the programme's folder.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def digest(self, place: str) -> str | None:
        """Return the SHA-256 of a file (FIPS 180-4), hex; None where there is none to read."""
        try:
            path = self._folder / place
            if not path.is_file():
                return None
            with path.open("rb") as file:
                return hashlib.file_digest(file, "sha256").hexdigest()
        except (OSError, ValueError):  # a name no file can have counts as missing
            return None
