"""Running a bound check once more to look at it: all its outputs, and its figures."""

from __future__ import annotations

from tracker.contract.check import DrawsFigures, Manifest
from tracker.contract.figure import Figure
from tracker.errors import InputError
from tracker.evaluate.running import gathered
from tracker.model.records import CheckUse
from tracker.services.session import Reading

__all__ = ["figures_of", "manifest_of"]


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
    node = engine.graph.nodes[engine.graph.position[use.id]]
    if node.loaded is None or not isinstance(node.loaded.check, DrawsFigures):
        return ()
    inputs, block = gathered(node, engine.state.slots)
    if block is not None or engine.state.blocks[engine.graph.position[use.id]] is not None:
        return ()
    try:
        return tuple(node.loaded.check.figures(inputs, node.loaded.config))
    except Exception:  # noqa: BLE001 - a stranger's drawing must not take the page down
        return ()
