"""Files of the user: read whole, written whole or not at all."""

from __future__ import annotations

import codecs
import os
from pathlib import Path

from tracker.errors import FileFormatError

__all__ = ["LARGEST", "decode", "keep_whole", "read_bytes", "write_whole"]

LARGEST = 64 * 2**20
"""Largest file read, in bytes."""
_PEEKED = 1024


def read_bytes(path: Path) -> bytes:
    """Read a file.

    Raises
    ------
    FileFormatError
        It cannot be read, or it is larger than `LARGEST`.
    """
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except OSError as error:
        raise FileFormatError(
            f"the file cannot be read ({error.strerror})", item=str(path), remedy="Check its name"
        ) from error
    if len(data) > LARGEST:
        raise FileFormatError(
            f"the file is larger than {LARGEST // 2**20} MB", item=str(path), remedy="Split it"
        )
    return data


def decode(data: bytes, item: str) -> str:
    """Read UTF-8, with or without a byte order mark.

    Raises
    ------
    FileFormatError
        It is not UTF-8; the line is named.
    """
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)) or b"\0" in data[:_PEEKED]:
        raise FileFormatError(
            "the file is not UTF-8 but UTF-16, or no text at all",
            item=item,
            remedy="Save the file as UTF-8",
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise FileFormatError(
            f"line {line} is not UTF-8 (byte 0x{data[error.start]:02X})",
            item=item,
            remedy="Save the file as UTF-8",
        ) from error


def write_whole(path: Path, data: bytes, *, overwrite: bool = False) -> None:
    """Write a file through a temporary one beside it: it appears whole or not at all.

    Raises
    ------
    FileFormatError
        There is a file already, or it cannot be written.
    """
    _write(path.resolve(), data, overwrite=overwrite)


def keep_whole(path: Path, data: bytes, *, overwrite: bool = False) -> None:
    """Write a file as `write_whole` does; its folder is made, and what is there already may stay.

    Raises
    ------
    FileFormatError
        There is a file with something else in it, or it cannot be written.
    """
    path = path.resolve()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        kept = path.is_file() and path.read_bytes() == data
    except OSError as error:
        raise FileFormatError(
            f"the folder cannot be written to ({error.strerror})", item=str(path.parent)
        ) from error
    if not kept:
        _write(path, data, overwrite=overwrite)


def _write(path: Path, data: bytes, *, overwrite: bool) -> None:
    if path.exists() and not overwrite:
        raise FileFormatError(
            "there is a file of this name already",
            item=str(path),
            remedy="Choose another name, or say --force",
        )
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        try:
            _write_through(draft, data)
            draft.replace(path)
        finally:
            draft.unlink(missing_ok=True)
    except OSError as error:
        raise FileFormatError(
            f"the file cannot be written ({error.strerror})", item=str(path)
        ) from error


def _write_through(draft: Path, data: bytes) -> None:
    with draft.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
