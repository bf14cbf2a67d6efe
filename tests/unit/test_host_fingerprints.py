"""A changed file, however little it changed, and a changed machine show."""

from __future__ import annotations

import os
import shutil
import sys
import types
import zipfile
from collections.abc import Callable
from importlib import import_module, invalidate_caches
from pathlib import Path

import pytest

from tracker.host import fingerprints
from tracker.host.fingerprints import Fingerprints, environment


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder from which Python imports."""
    package = tmp_path / "wing_checks"
    (package / "deep").mkdir(parents=True)
    for name in ("__init__.py", "wing.py", "deep/__init__.py", "deep/numbers.py", "deep/table.csv"):
        (package / name).write_text("x = 1\n")
    (tmp_path / "wing_single.py").write_text("x = 1\n")
    monkeypatch.syspath_prepend(tmp_path)
    invalidate_caches()
    return tmp_path


def rewrite(path: Path, text: str) -> None:
    """Change a file to one of the same size, and set its date back."""
    before = path.stat()
    path.write_text(text)
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert path.stat().st_size == before.st_size
    assert path.stat().st_mtime_ns == before.st_mtime_ns


@pytest.mark.parametrize(
    "change",
    [
        lambda package: rewrite(package / "wing.py", "x = 2\n"),
        lambda package: rewrite(package / "deep" / "numbers.py", "x = 2\n"),
        lambda package: rewrite(package / "deep" / "table.csv", "x = 2\n"),
        lambda package: (package / "deep" / "table.csv").unlink(),
        lambda package: (package / "new.py").write_text(""),
        lambda package: (package / "wing.py").rename(package / "fin.py"),
        lambda package: os.utime(package / "wing.py"),
        shutil.rmtree,
    ],
)
def test_every_change_of_a_file_shows(place: Path, change: Callable[[Path], object]) -> None:
    prints = Fingerprints()
    before = prints.of(["wing_checks.wing"])
    assert before == Fingerprints().of(["wing_checks.deep.numbers"]) != ""
    assert prints.hold()
    change(place / "wing_checks")
    assert not prints.hold()
    assert prints.of(["wing_checks.wing"]) == before  # what runs is what was there at first
    assert Fingerprints().of(["wing_checks.wing"]) != before


def test_compiled_modules_are_no_change(place: Path) -> None:
    prints = Fingerprints()
    prints.of(["wing_checks"])
    cache = place / "wing_checks" / "__pycache__"
    cache.mkdir()
    (cache / "wing.cpython-311.pyc").write_bytes(b"compiled")
    assert prints.hold()


def test_a_module_without_a_package_shows_too(place: Path) -> None:
    prints = Fingerprints()
    before = prints.of(["wing_single"])
    assert before
    rewrite(place / "wing_single.py", "x = 2\n")
    assert not prints.hold()
    assert Fingerprints().of(["wing_single"]) != before


def test_it_imports_nothing(place: Path) -> None:
    assert Fingerprints().of(["wing_checks.deep.numbers"])
    assert not [each for each in sys.modules if each.startswith("wing_checks")]


def test_every_package_counts_and_whybone_with_them(place: Path) -> None:
    prints = Fingerprints()
    one, both = prints.of(["wing_checks"]), prints.of(["wing_checks.wing", "wing_single"])
    ours = Fingerprints().of([])
    assert ours
    assert len({ours, one, both}) == 3
    assert set(ours.split()) < set(one.split()) < set(both.split())
    assert both == prints.of(["wing_single", "wing_checks"])


@pytest.mark.parametrize("name", ["sys", "no_such_module", "", "wing_zipped", "wing_made"])
def test_code_that_is_in_no_file_has_none(
    place: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    with zipfile.ZipFile(place / "checks.zip", "w") as archive:
        archive.writestr("wing_zipped/__init__.py", "")
    monkeypatch.syspath_prepend(place / "checks.zip")
    monkeypatch.setitem(sys.modules, "wing_made", types.ModuleType("wing_made"))
    assert Fingerprints().of([name, "wing_checks"]) == ""


def test_a_folder_that_leads_back_to_itself_has_an_end(place: Path) -> None:
    (place / "wing_checks" / "deep" / "back").symlink_to(place / "wing_checks")
    prints = Fingerprints()
    assert prints.of(["wing_checks"])
    assert prints.hold()


def test_a_folder_behind_a_link_is_looked_into(place: Path) -> None:
    (place / "elsewhere").mkdir()
    (place / "elsewhere" / "fin.py").write_text("x = 1\n")
    (place / "wing_checks" / "linked").symlink_to(place / "elsewhere")
    prints = Fingerprints()
    assert prints.of(["wing_checks"])
    rewrite(place / "elsewhere" / "fin.py", "x = 2\n")
    assert not prints.hold()


def test_the_same_machine_is_the_same() -> None:
    assert environment() == environment()
    assert len(environment()) == 32


@pytest.mark.parametrize(
    "variable", ["OPENBLAS_CORETYPE", "OMP_NUM_THREADS", "NPY_DISABLE_CPU_FEATURES", "MKL_CBWR"]
)
def test_what_steers_the_numbers_shows(monkeypatch: pytest.MonkeyPatch, variable: str) -> None:
    before = environment()
    monkeypatch.setenv(variable, "something")
    assert environment() != before


def test_what_does_not_steer_them_does_not(monkeypatch: pytest.MonkeyPatch) -> None:
    before = environment()
    monkeypatch.setenv("WHYBONE_AUTHOR", "somebody")
    assert environment() == before


def test_a_distribution_put_in_shows(place: Path) -> None:
    before = environment()
    folder = place / "stranger-1.0.dist-info"
    folder.mkdir()
    with_it = environment()
    assert with_it != before
    folder.rename(place / "stranger-1.1.dist-info")
    assert environment() not in (before, with_it)


CORE = import_module("numpy._core._multiarray_umath")


def test_another_processor_shows(monkeypatch: pytest.MonkeyPatch) -> None:
    before = environment()
    features = {**CORE.__cpu_features__, "SSE2": not CORE.__cpu_features__.get("SSE2")}
    monkeypatch.setattr(CORE, "__cpu_features__", features)
    assert environment() != before


def test_a_numpy_that_cannot_be_asked_has_no_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(CORE, "__file__", "/no/such/library.so")
    assert environment() == b""


def test_another_python_shows(monkeypatch: pytest.MonkeyPatch) -> None:
    before = environment()
    monkeypatch.setattr(sys, "version", "3.99.0")
    assert environment() != before


def test_the_processor_type_of_the_linear_algebra_shows(monkeypatch: pytest.MonkeyPatch) -> None:
    """OpenBLAS chooses one when it is loaded and tells its name (OpenBLAS user manual)."""
    before = environment()
    monkeypatch.setattr(fingerprints, "_blas", lambda _: ("Prescott", 1))
    other = environment()
    monkeypatch.setattr(fingerprints, "_blas", lambda _: ("Prescott", 2))
    assert len({before, other, environment()}) == 3


def test_a_linear_algebra_library_that_does_not_tell_has_no_type(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(fingerprints, "_BLAS_NAMES", ("no_such_function{}",))
    assert fingerprints._blas(CORE) == ()


def test_a_system_without_that_c_library_has_an_environment(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refuse(name: str) -> str:
        raise ValueError(name)

    monkeypatch.setattr(os, "confstr", refuse)
    assert len(environment()) == 32
