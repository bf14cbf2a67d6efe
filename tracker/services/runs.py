"""Looking at a bound check: its manifest and its figures."""

from __future__ import annotations

import re
from dataclasses import replace

from tracker.contract.check import MONEY, DrawsFigures, Manifest
from tracker.contract.figure import Axis, Figure
from tracker.errors import InputError
from tracker.evaluate.running import gathered
from tracker.model.records import CheckUse
from tracker.services.session import Reading

__all__ = ["figures_of", "manifest_of"]

_MONEY = re.compile(rf"\b{MONEY}\b")


def manifest_of(reading: Reading, use: CheckUse) -> Manifest | None:
    """Return the manifest of a bound check; None when it cannot be loaded."""
    info = reading.programme.info
    try:
        loaded = reading.tools.catalogue.load(use.plugin, use.config, info.currency if info else "")
    except InputError:
        return None
    return loaded.manifest


def figures_of(reading: Reading, use: CheckUse) -> tuple[Figure, ...]:
    """Draw a bound check's figures from its present inputs; nothing when it cannot run."""
    engine = reading.engine
    place = engine.graph.position[use.id]
    node = engine.graph.nodes[place]
    if node.loaded is None or not isinstance(node.loaded.check, DrawsFigures):
        return ()
    if engine.state.blocks[place] is not None:
        return ()
    inputs, _ = gathered(node, engine.state.slots)
    info = reading.programme.info
    currency = info.currency if info else MONEY
    try:
        drawn = tuple(node.loaded.check.figures(inputs, node.loaded.config))
        return tuple(_in_currency(each, currency) for each in drawn)
    except Exception:  # noqa: BLE001 - a stranger's drawing must not take the page down
        return ()


def _in_currency(figure: Figure, currency: str) -> Figure:
    """Say which money an axis shows."""

    def named(axis: Axis) -> Axis:
        return replace(axis, unit=_MONEY.sub(currency, axis.unit))

    return replace(figure, across=named(figure.across), up=named(figure.up))
