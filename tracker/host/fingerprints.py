"""Which code would run, and on what: cheap marks that change whenever a result might.

Versions are not enough while a check is being written, so the code of a check is known by the files
of its package, and the machine by what decides the last digits of a number.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator
from hashlib import sha256
from importlib import import_module
from importlib.util import find_spec
from types import ModuleType

__all__ = ["Fingerprints", "environment"]

_OURS = "tracker"
_COMPILED = "__pycache__"
_STEERING = ("GLIBC_TUNABLES", "MKL_", "NPY_", "OMP_", "OPENBLAS_", "VECLIB_")
"""Beginnings of the names of environment variables that numeric libraries listen to."""
_BLAS_NAMES = ("scipy_openblas{}64_", "scipy_openblas{}", "openblas{}64_", "openblas{}")


class Fingerprints:
    """Fingerprints of packages, each taken once and before any of its code is imported."""

    def __init__(self) -> None:
        self._taken: dict[str, str] = {}

    def of(self, modules: Iterable[str]) -> str:
        """Return the fingerprint of the packages some modules are in, and of whybone itself.

        Parameters
        ----------
        modules : iterable of str
            Full names of modules.

        Returns
        -------
        str
            Empty where the code of one of them is not in files.
        """
        names = sorted({_OURS, *(each.partition(".")[0] for each in modules)})
        prints = [self._of_package(each) for each in names]
        return " ".join(prints) if all(prints) else ""

    def hold(self) -> bool:
        """Tell whether all packages are still as they were."""
        return all(_package_print(name) == taken for name, taken in self._taken.items())

    def _of_package(self, name: str) -> str:
        if name not in self._taken:
            self._taken[name] = _package_print(name)
        return self._taken[name]


def _package_print(name: str) -> str:
    """Return the fingerprint of a top-level package or module; empty where there are no files."""
    try:
        spec = find_spec(name)
        if spec is None:
            return ""
        roots = spec.submodule_search_locations
        lines = sorted(_file_lines([spec.origin or ""] if roots is None else [*roots]))
    except (ImportError, ValueError, OSError):  # no module, none with a spec, or none in files
        return ""
    return sha256(repr(lines).encode(errors="surrogateescape")).hexdigest()


def _file_lines(roots: list[str]) -> Iterator[tuple[str, int, int, int]]:
    """Describe every file at or below some paths by its name, size and times.

    Raises
    ------
    OSError
        One of them is not there or cannot be read.
    """
    left, seen = [*roots], set[str]()
    while left:
        path = left.pop()
        if os.path.isdir(path):  # noqa: PTH112 - plain strings: there are hundreds of files
            real = os.path.realpath(path)
            if real not in seen:  # a link may lead back
                seen.add(real)
                left += (os.path.join(path, each) for each in os.listdir(path) if each != _COMPILED)  # noqa: PTH118, PTH208 - as above
        else:
            state = os.stat(path)  # noqa: PTH116 - as above
            # The change time cannot be set back as the modification time can.
            yield path, state.st_size, state.st_mtime_ns, state.st_ctime_ns


def environment() -> bytes:
    """Return a digest of all on this machine, besides its own code, that a result may depend on.

    It covers the interpreter, every installed distribution, the C library, the linear algebra
    library with the processor type it chose and its threads, the processor features numpy sees, and
    the environment variables that steer them. It is empty where numpy cannot be asked.
    """
    try:
        numeric = _numeric()
    except (ImportError, OSError):
        return b""
    facts = (
        sys.version,
        sys.flags.optimize,
        sys.byteorder,
        sorted(_distributions()),
        _c_library(),
        numeric,
        sorted(each for each in os.environ.items() if each[0].startswith(_STEERING)),
    )
    return sha256(repr(facts).encode(errors="surrogateescape")).digest()


def _distributions() -> Iterator[tuple[str, int]]:
    """Name every installed distribution: the name of its folder holds its version."""
    for place in sys.path:
        try:
            with os.scandir(place or ".") as entries:
                for entry in entries:
                    if entry.name.endswith((".dist-info", ".egg-info")):
                        yield entry.name, entry.stat().st_mtime_ns
        except OSError:  # a zip file, or no longer there
            continue


def _c_library() -> str:
    try:
        return os.confstr("CS_GNU_LIBC_VERSION") or ""
    except (AttributeError, ValueError, OSError):  # another C library, or another system
        return ""


def _numeric() -> tuple[object, ...]:
    """Return numpy's version, the processor features it chooses its loops by, and its BLAS."""
    import numpy as np

    core = import_module("numpy._core._multiarray_umath")  # only it knows the processor
    features = sorted(name for name, there in core.__cpu_features__.items() if there)
    built = np.show_config(mode="dicts").get("Build Dependencies", {})
    return np.__version__, features, repr(built), _blas(core)


def _blas(core: ModuleType) -> tuple[object, ...]:
    """Return the processor type the linear algebra library of numpy runs as, and its threads.

    A library that is not asked in this way shows by how numpy was built alone.
    """
    import ctypes

    library = ctypes.CDLL(core.__file__)  # finds what the module itself is linked to
    for name in _BLAS_NAMES:
        if hasattr(library, name.format("_get_corename")):
            chosen = getattr(library, name.format("_get_corename"))
            chosen.restype = ctypes.c_char_p
            return chosen(), getattr(library, name.format("_get_num_threads"))()
    return ()
