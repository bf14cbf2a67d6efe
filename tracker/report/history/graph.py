"""The graph of a programme as GraphML (graphml.graphdrawing.org, version 1.0)."""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree import ElementTree as ET

from tracker.model.records import CheckUse, ProgrammeInfo, Record
from tracker.report.history.scope import Scope
from tracker.services.links import link, upstream
from tracker.services.session import Reading
from tracker.services.wording import CAUTION, visible

__all__ = ["graph"]

_SPACE = "http://graphml.graphdrawing.org/xmlns"
_KEYS = (
    ("graph", ("title", "revision", "head", "scope", "caution")),
    ("node", ("key", "kind", "title", "state")),
    ("edge", ("role",)),
)


def graph(reading: Reading, scope: Scope) -> bytes:
    """Write the items of a scope and what feeds, sets, judges or serves what.

    An edge runs from what is stood on to what stands on it; the state of a node is its value,
    verdict or standing. Nodes are named by the items' immutable
    ids, so graphs of different revisions compare.
    """
    root = ET.Element("graphml", {"xmlns": _SPACE})
    for level, names in _KEYS:
        for name in names:
            fields = {"id": f"{level}-{name}", "for": level, "attr.name": name}
            ET.SubElement(root, "key", {**fields, "attr.type": "string"})
    drawn = ET.SubElement(root, "graph", {"id": "programme", "edgedefault": "directed"})
    _tell(drawn, "graph", _about(reading, scope))
    records = [
        each
        for each in reading.programme
        if scope.holds(each.id) and not isinstance(each, ProgrammeInfo)
    ]
    for record in records:
        node = ET.SubElement(drawn, "node", {"id": visible(record.id)})
        told = link(reading, record.id, "")
        fields = {"key": told.key, "kind": told.kind, "title": told.title, "state": told.text}
        _tell(node, "node", fields)
    inside = {each.id for each in records}
    edges = (each for record in records for each in _edges(reading, record))
    for number, (source, target, role) in enumerate(each for each in edges if each[0] in inside):
        ends = {"source": visible(source), "target": visible(target)}
        edge = ET.SubElement(drawn, "edge", {"id": f"e{number}", **ends})
        _tell(edge, "edge", {"role": role})
    ET.indent(root, " ")
    return bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True)) + b"\n"


def _about(reading: Reading, scope: Scope) -> dict[str, str]:
    info = reading.programme.info
    return {
        "title": info.title if info else "",
        "revision": str(reading.head.revision),
        "head": reading.head.hash,
        "scope": scope.words,
        "caution": CAUTION,
    }


def _edges(reading: Reading, record: Record) -> Iterator[tuple[str, str, str]]:
    for each in upstream(reading, record):
        source = reading.programme.find(each.key)
        if source is not None:
            yield source.id, record.id, each.role
    if isinstance(record, CheckUse) and record.decision:
        yield record.decision, record.id, "carries it"


def _tell(element: ET.Element, level: str, fields: dict[str, str]) -> None:
    for name, text in fields.items():
        if text:
            ET.SubElement(element, "data", {"key": f"{level}-{name}"}).text = visible(text)
