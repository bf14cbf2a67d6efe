"""Digests of evidence: ordinary files of this machine, and nothing else."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tracker.host.evidence_files import EvidenceFiles

# FIPS 180-4 examples as published by NIST: SHA-256 of "abc" and of the empty message
ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
EMPTY = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


def test_files_go_by_the_folder_of_the_programme(tmp_path: Path) -> None:
    (tmp_path / "reports").mkdir()
    (tmp_path / "reports" / "rig.txt").write_bytes(b"abc")
    (tmp_path / "none").write_bytes(b"")
    files = EvidenceFiles(tmp_path)
    assert files.digest("reports/rig.txt") == ABC
    assert files.digest(str(tmp_path / "none")) == EMPTY


@pytest.mark.parametrize("place", ["gone.txt", "folder", "", "a\0b", "x" * 5000, "pipe"])
def test_what_is_no_ordinary_file_is_missing(tmp_path: Path, place: str) -> None:
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")  # reading it would wait for ever
    assert EvidenceFiles(tmp_path).digest(place) is None
