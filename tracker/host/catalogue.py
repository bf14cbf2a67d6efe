"""Finds the installed checks through their entry points and makes them ready to run.

A stranger's plugin can fail in any way while it is imported or asked for its manifest; whatever it
does becomes a `BindingError` that names the check. Listing imports nothing.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from importlib.metadata import EntryPoint, entry_points
from types import MappingProxyType
from typing import TypeVar

from tracker.contract.check import MONEY, Check, Config, Kind, Manifest, Port
from tracker.contract.faults import ConfigError, UnitTextError
from tracker.contract.soundness import manifest_faults
from tracker.contract.units import ReadsUnits
from tracker.errors import BadUnitError, BindingError, ManyProblemsError
from tracker.evaluate.plugin import Loaded
from tracker.host.fingerprints import Fingerprints
from tracker.model.units import ONE, Unit
from tracker.model.values import CellKind
from tracker.services.ports import UnitReader

__all__ = ["GROUP", "EntryPoints"]

GROUP = "whybone.checks"
"""Entry-point group every check registers in, ours and strangers' alike."""

_MONEY = re.compile(rf"\b{MONEY}\b")
_Result = TypeVar("_Result")
_Memo = tuple[str, tuple[tuple[str, str], ...], str]


class EntryPoints:
    """The installed checks; implements the services' `Catalogue`.

    Parameters
    ----------
    units : UnitReader
        Reads the unit texts of the ports.
    extra : mapping of str to Check, optional
        Checks handed in directly, by key. They hide installed ones of the same key.
    fingerprints : Fingerprints, optional
        Identify the code of installed checks; without them it is not known.
    """

    def __init__(
        self,
        units: UnitReader,
        extra: Mapping[str, Check] | None = None,
        fingerprints: Fingerprints | None = None,
    ) -> None:
        self._units = units
        self._fingerprints = fingerprints
        self._checks: dict[str, Check] = dict(extra or {})
        self._extra = frozenset(self._checks)
        self._installed: Mapping[str, tuple[EntryPoint, ...]] | None = None
        self._loaded: dict[_Memo, Loaded] = {}

    def keys(self) -> tuple[str, ...]:
        """Return the keys of the installed checks, sorted, without importing them."""
        return tuple(sorted({*self._extra, *self._points()}))

    def load(self, plugin: str, config: Config, currency: str) -> Loaded:
        """Return a check made ready, imported at its first load.

        Parameters
        ----------
        plugin : str
            Key of the check.
        config : mapping of str to str
            Its configuration.
        currency : str
            ISO 4217 code that `money` in its units stands for.

        Returns
        -------
        Loaded
            The check, its manifest and its resolved units.

        Raises
        ------
        BindingError
            Not installed, cannot be imported, bad manifest or one wrong field of the configuration.
        ManyProblemsError
            Several wrong fields of the configuration, a `BindingError` each.
        """
        memo = (plugin, tuple(sorted(config.items())), currency)
        if memo not in self._loaded:
            self._loaded[memo] = self._prepare(plugin, MappingProxyType(dict(config)), currency)
        return self._loaded[memo]

    def _prepare(self, plugin: str, config: Config, currency: str) -> Loaded:
        check = self._with_units(plugin, self._check(plugin), currency)
        manifest = _manifest(plugin, check, config)
        return Loaded(
            check=check,
            config=config,
            manifest=manifest,
            inputs=MappingProxyType({port.key: port for port in manifest.inputs}),
            outputs=MappingProxyType({port.key: port for port in manifest.outputs}),
            units=MappingProxyType(self._resolve(manifest, currency)),
            code=self._code(plugin, type(check).__module__),
        )

    def _code(self, plugin: str, *modules: str) -> str:
        """Identify the code of a check; one handed in directly may hold anything."""
        if self._fingerprints is None or plugin in self._extra:
            return ""
        return self._fingerprints.of((self._point(plugin).value.partition(":")[0], *modules))

    def _with_units(self, plugin: str, check: Check, currency: str) -> Check:
        """Hand the reader of unit texts to a check that asks for it."""
        if not isinstance(check, ReadsUnits):
            return check
        asking: ReadsUnits = check

        def read(text: str) -> Unit:
            try:
                return self._read(text, currency)
            except BadUnitError as error:
                raise UnitTextError(error.message) from error

        return _guarded(plugin, "it was given the units", lambda: asking.with_units(read))

    def _check(self, plugin: str) -> Check:
        """Return the check object, importing it at the first need."""
        if plugin not in self._checks:
            point = self._point(plugin)
            self._code(plugin)  # before the import: it must not be newer than what runs
            self._checks[plugin] = _import(plugin, point)
        return self._checks[plugin]

    def _points(self) -> Mapping[str, tuple[EntryPoint, ...]]:
        """Return the entry points by name, read once; what one path lists twice counts once."""
        if self._installed is None:
            found: dict[str, dict[str, EntryPoint]] = {}
            for point in entry_points(group=GROUP):
                found.setdefault(point.name, {}).setdefault(point.value, point)
            self._installed = {name: tuple(points.values()) for name, points in found.items()}
        return self._installed

    def _point(self, plugin: str) -> EntryPoint:
        points = self._points().get(plugin, ())
        if not points:
            raise BindingError(
                "no such check is installed",
                item=plugin,
                remedy="Installed are " + (", ".join(self.keys()) or "none"),
            )
        if len(points) > 1:
            raise BindingError(
                "several packages register this check: " + ", ".join(each.value for each in points),
                item=plugin,
                remedy="Uninstall all but one of them",
            )
        return points[0]

    def _resolve(self, manifest: Manifest, currency: str) -> dict[str, Unit]:
        """Read the unit of every port and column."""
        units: dict[str, Unit] = {}
        for port in (*manifest.inputs, *manifest.outputs):
            units[port.key] = self._unit(manifest.key, port.key, _unit_text(port), currency)
            for column in port.columns:
                text = column.unit if column.kind is CellKind.REAL else ""
                name = f"{port.key}.{column.name}"
                units[name] = self._unit(manifest.key, name, text, currency)
        return units

    def _read(self, text: str, currency: str) -> Unit:
        return self._units.read(_MONEY.sub(currency, text)) if text else ONE

    def _unit(self, plugin: str, port: str, text: str, currency: str) -> Unit:
        try:
            return self._read(text, currency)
        except BadUnitError as error:
            raise BindingError(
                f"its unit cannot be read: {error.message}", item=plugin, field=port
            ) from error


def _unit_text(port: Port) -> str:
    return port.unit if port.kind in {Kind.REAL, Kind.INTEGER, Kind.POINT} else ""


def _guarded(plugin: str, doing: str, action: Callable[[], _Result]) -> _Result:
    """Run a stranger's code; whatever it raises becomes a BindingError."""
    try:
        return action()
    except ConfigError:
        raise
    except (Exception, SystemExit) as error:
        raise BindingError(
            f"the check failed while {doing}: {type(error).__name__}: {error}",
            item=plugin,
            remedy="Ask the author of the check, or uninstall it",
        ) from error


def _import(plugin: str, point: EntryPoint) -> Check:
    check = _guarded(plugin, "it was imported", point.load)
    lacking = [name for name in ("manifest", "compute") if not callable(getattr(check, name, None))]
    if isinstance(check, type) or lacking:
        what = "a class" if isinstance(check, type) else f"without {' and '.join(lacking)}"
        raise BindingError(
            f"{point.value} is no check: it is {what}",
            item=plugin,
            remedy="The entry point must name an object with the methods manifest and compute",
        )
    return check  # type: ignore[no-any-return]  # an entry point is untyped; its methods are there


def _manifest(plugin: str, check: Check, config: Config) -> Manifest:
    try:
        manifest = _guarded(plugin, "it described itself", lambda: check.manifest(config))
        faults = _guarded(plugin, "it described itself", lambda: manifest_faults(manifest, plugin))
    except ConfigError as error:
        raise _config_error(plugin, error) from error
    if faults:
        raise BindingError(
            "its manifest is wrong: " + "; ".join(faults),
            item=plugin,
            remedy="Ask the author of the check",
        )
    return manifest


def _config_error(plugin: str, error: ConfigError) -> BindingError | ManyProblemsError:
    problems = [
        BindingError(reason, item=plugin, field=f"config {path}".rstrip())
        for path, reason in error.fields.items()
    ]
    if not problems:
        return BindingError("its configuration is wrong", item=plugin)
    return problems[0] if len(problems) == 1 else ManyProblemsError([*problems])
