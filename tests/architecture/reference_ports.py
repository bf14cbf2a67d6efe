"""The lists of ports in the reference, from the manifests.

`python -m tests.architecture.reference_ports` writes them anew.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from tests.architecture.documents import REFERENCE
from tracker.bootstrap import tools
from tracker.contract.check import Kind, Manifest, Port

__all__ = ["MARKED", "listed", "manifests", "written_anew"]

MARKED = re.compile(r"<!-- ports: (?P<key>[a-z-]+) -->\n(?P<text>.*?)<!-- end -->", re.DOTALL)


def manifests() -> dict[str, Manifest]:
    """Return the manifests of all installed checks without a configuration, by key."""
    catalogue = tools().catalogue
    keys = catalogue.keys()
    return {key: catalogue.load(key, {}, "EUR").manifest for key in keys}


def _port(port: Port) -> str:
    unit = port.unit if port.kind in {Kind.REAL, Kind.POINT} else ""
    about = [] if port.kind in {Kind.REAL, Kind.CHOICE} else [port.kind.value]
    if port.choices:
        about.append(" or ".join(port.choices))
    if port.columns:
        about.append(", ".join(f"`{column.name}`" for column in port.columns))
    if port.default is not None:
        about.append(f"else {port.default}")
    elif port.optional:
        about.append("optional")
    told = f" ({'; '.join(about)})" if about else ""
    return f"`{port.key}`{f' {unit}' if unit else ''}{told}"


def _line(title: str, ports: Iterable[Port]) -> str:
    return f"{title}: {', '.join(_port(port) for port in ports) or 'none'}."


def listed(manifest: Manifest) -> str:
    """Write the ports of a check."""
    inputs, outputs = _line("*Inputs*", manifest.inputs), _line("*Outputs*", manifest.outputs)
    return f"{inputs}\n\n{outputs}\n"


def written_anew(text: str) -> str:
    """Return the reference with its lists of ports as the manifests have them."""
    known = manifests()
    return MARKED.sub(
        lambda found: f"<!-- ports: {found['key']} -->\n{listed(known[found['key']])}<!-- end -->",
        text,
    )


if __name__ == "__main__":
    REFERENCE.write_text(written_anew(REFERENCE.read_text(encoding="utf-8")), encoding="utf-8")
