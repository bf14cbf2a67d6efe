"""What makes a manifest sound: asked by the host before a check is used, and by the kit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tracker.contract.check import Kind, Manifest, Port, PortColumn, Rule, Source

__all__ = ["manifest_faults"]

_SEPARATORS = ".[]/="
_LIMITED = (Kind.REAL, Kind.INTEGER)
_DEFAULTS: dict[Kind, type | tuple[type, ...]] = {
    Kind.REAL: (int, float),
    Kind.INTEGER: int,
    Kind.CHOICE: str,
    Kind.FLAG: bool,
}


def manifest_faults(manifest: object, key: str) -> list[str]:
    """Name everything that is wrong with a manifest.

    Parameters
    ----------
    manifest : object
        What a check returned as its manifest.
    key : str
        Key the check is registered under.

    Returns
    -------
    list of str
        One sentence each; empty when the manifest is sound. Unit texts are not read here.
    """
    if not isinstance(manifest, Manifest):
        return [f"its manifest is a {type(manifest).__name__}, not a Manifest"]
    wrong = list(_type_faults(manifest))
    if wrong:
        return wrong
    return [
        *_identity_faults(manifest, key),
        *_repeated("port", (port.key for port in (*manifest.inputs, *manifest.outputs))),
        *(fault for port in manifest.inputs for fault in _port_faults(port)),
        *(fault for port in manifest.outputs for fault in _output_faults(port)),
        *(fault for rule in manifest.rules for fault in _rule_faults(rule, manifest)),
    ]


def _type_faults(manifest: Manifest) -> Iterator[str]:
    """Find fields of the wrong type: a stranger's manifest is not type-checked by anybody."""
    for name in ("key", "version", "title", "purpose"):
        if not isinstance(getattr(manifest, name), str):
            yield f"{name} is not a text"
    wanted = {"inputs": Port, "outputs": Port, "rules": Rule, "sources": Source, "cautions": str}
    for name, cls in wanted.items():
        members = getattr(manifest, name)
        if not isinstance(members, tuple):
            yield f"{name} is not a tuple"
        elif not all(isinstance(each, cls) for each in members):
            yield f"{name} has a member that is not a {cls.__name__}"
        elif cls is Port:
            yield from (fault for port in members for fault in _port_type_faults(port))


def _port_type_faults(port: Port) -> Iterator[str]:
    if not all(isinstance(each, str) for each in (port.key, port.title, port.doc, port.unit)):
        yield f"port {port.key!r}: key, title, doc and unit must be texts"
    kind: object = port.kind
    if not isinstance(kind, Kind):
        yield f"port {port.key!r}: kind is not a Kind"
    if not isinstance(port.choices, tuple) or not all(isinstance(c, str) for c in port.choices):
        yield f"port {port.key!r}: choices is not a tuple of texts"
    if not isinstance(port.columns, tuple) or not all(
        isinstance(column, PortColumn) for column in port.columns
    ):
        yield f"port {port.key!r}: columns is not a tuple of PortColumn"


def _identity_faults(manifest: Manifest, key: str) -> Iterator[str]:
    if manifest.key != key:
        yield f"it calls itself {manifest.key!r} but is registered as {key!r}"
    for name in ("version", "title", "purpose"):
        if not getattr(manifest, name).strip():
            yield f"{name} is empty"
    if not manifest.outputs:
        yield "it has no outputs"


def _repeated(what: str, names: Iterable[str]) -> Iterator[str]:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            yield f"{what} {name!r} appears twice"
        seen.add(name)
        if not name or any(sign in name for sign in _SEPARATORS) or name != name.strip():
            yield f"{what} {name!r} must be a name without blanks around it and without . [ ] / ="


def _port_faults(port: Port) -> Iterator[str]:
    where = f"port {port.key!r}"
    if (port.kind is Kind.CHOICE) != bool(port.choices):
        yield f"{where}: a choice lists its choices, and nothing else does"
    if len(set(port.choices)) != len(port.choices):
        yield f"{where}: a choice appears twice"
    if (port.kind is Kind.TABLE) != bool(port.columns):
        yield f"{where}: a table lists its columns, and nothing else does"
    yield from _repeated(f"{where}: column", (column.name for column in port.columns))
    if port.default is not None:
        yield from _default_faults(port, where)


def _default_faults(port: Port, where: str) -> Iterator[str]:
    if not port.optional:
        yield f"{where}: only an optional input has a default"
    wanted = _DEFAULTS.get(port.kind)
    flagged = isinstance(port.default, bool) and port.kind is not Kind.FLAG
    if wanted is None or flagged or not isinstance(port.default, wanted):
        yield f"{where}: the default is not a value of its kind"
    elif port.kind is Kind.CHOICE and port.default not in port.choices:
        yield f"{where}: the default is not among its choices"


def _output_faults(port: Port) -> Iterator[str]:
    yield from _port_faults(port)
    if port.kind is Kind.TABLE:
        yield f"port {port.key!r}: an output cannot be a table"
    if port.default is not None:
        yield f"port {port.key!r}: an output has no default"


def _rule_faults(rule: Rule, manifest: Manifest) -> Iterator[str]:
    port = next((each for each in manifest.outputs if each.key == rule.output), None)
    where = f"rule on {rule.output!r}"
    if port is None:
        yield f"{where}: there is no such output"
        return
    bounds = [each for each in (rule.lower, rule.upper) if each is not None]
    if bounds and port.kind not in _LIMITED:
        yield f"{where}: bounds need a number"
    if rule.allowed and port.kind in {*_LIMITED, Kind.POINT}:
        yield f"{where}: allowed values need a choice or a flag"
    if bool(bounds) == bool(rule.allowed):
        yield f"{where}: it needs either bounds or allowed values"
    if bounds != sorted(bounds):
        yield f"{where}: the lower bound is above the upper"
    known = port.choices if port.kind is Kind.CHOICE else ("yes", "no")
    if not set(rule.allowed) <= set(known):
        yield f"{where}: it allows something that is not among {', '.join(known)}"
    if not rule.reason.strip() or not rule.source.strip():
        yield f"{where}: it needs a reason and a source"
