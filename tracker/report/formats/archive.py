"""ZIP archives that come out the same every time."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable

__all__ = ["FIRST_DAY", "zipped"]

FIRST_DAY = (1980, 1, 1, 0, 0, 0)
"""Date of every member: the first one a ZIP archive can state."""
_PLAIN_FILE = 0o100644 << 16
_UNIX = 3


def zipped(members: Iterable[tuple[str, bytes]]) -> bytes:
    """Pack members in the order given, with fixed dates, rights and system."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for name, data in members:
            member = zipfile.ZipInfo(name, FIRST_DAY)
            member.external_attr, member.create_system = _PLAIN_FILE, _UNIX
            archive.writestr(member, data, zipfile.ZIP_DEFLATED, 9)
    return held.getvalue()
