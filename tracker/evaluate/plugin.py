"""A check made ready to run: its manifest with the units resolved.

The evaluator never looks for plugins; a `Loader` hands them in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

from tracker.contract.check import Check, Config, Manifest, Port
from tracker.model.units import Unit

__all__ = ["Loaded", "Loader"]


@dataclass(frozen=True, slots=True)
class Loaded:
    """A check with one configuration.

    Parameters
    ----------
    check : Check
        The plugin.
    config : Config
        Configuration the manifest was made for.
    manifest : Manifest
        Its manifest.
    inputs, outputs : mapping of str to Port
        Ports by key.
    units : mapping of str to Unit
        `port` or `port.column` → unit, money resolved to the programme's currency. Input and output
        ports have distinct keys.
    code : str
        What identifies the code that runs; empty where nobody can tell, and then no result of it is
        ever taken from an earlier run.
    """

    check: Check
    config: Config
    manifest: Manifest
    inputs: Mapping[str, Port]
    outputs: Mapping[str, Port]
    units: Mapping[str, Unit]
    code: str = ""

    @property
    def identity(self) -> str:
        """Plugin key and version, as a footing remembers it."""
        return f"{self.manifest.key} {self.manifest.version}"


class Loader(Protocol):
    """Finds installed checks."""

    def load(self, plugin: str, config: Config, currency: str) -> Loaded:
        """Return the check made ready.

        Raises
        ------
        tracker.errors.BindingError
            Not installed, cannot be imported, bad manifest or bad configuration.
        tracker.errors.ManyProblemsError
            Several wrong configuration fields, each a `BindingError`.
        """
        ...
