"""Every fault a manifest can have is named."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tracker.contract.check import (
    CellKind,
    Kind,
    Manifest,
    Port,
    PortColumn,
    Rule,
    Source,
)
from tracker.contract.faults import ConfigError
from tracker.contract.soundness import manifest_faults

GOOD = Manifest(
    key="good",
    version="1",
    title="Good",
    purpose="Be sound",
    inputs=(
        Port(key="x", title="X", doc="", unit="mm"),
        Port(key="n", title="N", doc="", kind=Kind.INTEGER, optional=True, default=3),
        Port(key="r", title="R", doc="", optional=True, default=1),
        Port(key="f", title="F", doc="", kind=Kind.FLAG, optional=True, default=True),
        Port(
            key="c",
            title="C",
            doc="",
            kind=Kind.CHOICE,
            choices=("a", "b"),
            optional=True,
            default="b",
        ),
        Port(
            key="t",
            title="T",
            doc="",
            kind=Kind.TABLE,
            columns=(PortColumn("name", "", CellKind.TEXT), PortColumn("x", "")),
        ),
    ),
    outputs=(
        Port(key="y", title="Y", doc=""),
        Port(key="k", title="K", doc="", kind=Kind.CHOICE, choices=("a", "b")),
        Port(key="ok", title="OK", doc="", kind=Kind.FLAG),
        Port(key="p", title="P", doc="", kind=Kind.POINT),
    ),
    rules=(
        Rule(output="y", lower=0.0, upper=1.0, reason="r", source="s"),
        Rule(output="k", allowed=("a",), reason="r", source="s"),
        Rule(output="ok", allowed=("yes",), reason="r", source="s"),
    ),
    sources=(Source("A book"),),
    cautions=("Careful",),
)


def test_sound_manifest_has_no_faults() -> None:
    assert manifest_faults(GOOD, "good") == []


def port(**fields: Any) -> Port:  # noqa: ANN401  fields of a Port
    return Port(**({"key": "q", "title": "Q", "doc": ""} | fields))


def rule(**fields: Any) -> Rule:  # noqa: ANN401  fields of a Rule
    return Rule(**({"output": "y", "reason": "r", "source": "s"} | fields))


IDENTITY: list[tuple[dict[str, Any], str]] = [
    ({"key": "other"}, "calls itself 'other' but is registered as 'good'"),
    ({"version": " "}, "version is empty"),
    ({"title": ""}, "title is empty"),
    ({"purpose": ""}, "purpose is empty"),
    ({"outputs": (), "rules": ()}, "has no outputs"),
    ({"version": 1}, "version is not a text"),
    ({"inputs": list(GOOD.inputs)}, "inputs is not a tuple"),
    ({"outputs": ("y",)}, "outputs has a member that is not a Port"),
    ({"cautions": (1,)}, "cautions has a member that is not a str"),
    ({"sources": ("A book",)}, "sources has a member that is not a Source"),
]
INPUT_PORTS = [
    (port(key="x"), "port 'x' appears twice"),
    (port(key="y"), "port 'y' appears twice"),
    (port(key="a.b"), "'a.b' must be a name"),
    (port(key=""), "'' must be a name"),
    (port(key=" q"), "' q' must be a name"),
    (port(key=7), "key, title, doc and unit must be texts"),
    (port(kind="real "), "kind is not a Kind"),
    (port(choices="ab"), "choices is not a tuple of texts"),
    (port(choices=(1,)), "choices is not a tuple of texts"),
    (port(columns=("x",)), "columns is not a tuple of PortColumn"),
    (port(columns=[]), "columns is not a tuple of PortColumn"),
    (port(kind=Kind.CHOICE), "a choice lists its choices"),
    (port(choices=("a",)), "a choice lists its choices"),
    (port(kind=Kind.CHOICE, choices=("a", "a")), "a choice appears twice"),
    (port(kind=Kind.TABLE), "a table lists its columns"),
    (port(columns=(PortColumn("x", ""),)), "a table lists its columns"),
    (
        port(kind=Kind.TABLE, columns=(PortColumn("x", ""), PortColumn("x", ""))),
        "port 'q': column 'x' appears twice",
    ),
    (port(default=1.0), "only an optional input has a default"),
    (port(optional=True, default="one"), "not a value of its kind"),
    (port(optional=True, default=True), "not a value of its kind"),
    (port(optional=True, kind=Kind.POINT, default=1.0), "not a value of its kind"),
    (port(optional=True, kind=Kind.FLAG, default=1), "not a value of its kind"),
    (
        port(optional=True, kind=Kind.CHOICE, choices=("a",), default="b"),
        "not among its choices",
    ),
]
OUTPUT_PORTS = [
    (port(kind=Kind.TABLE, columns=(PortColumn("x", ""),)), "an output cannot be a table"),
    (port(optional=True, default=1.0), "an output has no default"),
    (port(choices=("a",)), "a choice lists its choices"),
]
RULES = [
    (rule(output="z", lower=0.0), "rule on 'z': there is no such output"),
    (rule(output="k", lower=0.0), "bounds need a number"),
    (rule(output="p", allowed=("yes",)), "allowed values need a choice or a flag"),
    (rule(), "either bounds or allowed values"),
    (rule(lower=0.0, allowed=("yes",)), "either bounds or allowed values"),
    (rule(lower=2.0, upper=1.0), "the lower bound is above the upper"),
    (rule(output="k", allowed=("c",)), "not among a, b"),
    (rule(output="ok", allowed=("true",)), "not among yes, no"),
    (rule(lower=0.0, reason=""), "it needs a reason and a source"),
    (rule(lower=0.0, source=""), "it needs a reason and a source"),
]
CASES: list[tuple[dict[str, Any], str]] = [
    *IDENTITY,
    *(({"inputs": (*GOOD.inputs, each)}, words) for each, words in INPUT_PORTS),
    *(({"outputs": (*GOOD.outputs, each)}, words) for each, words in OUTPUT_PORTS),
    *(({"rules": (each,)}, words) for each, words in RULES),
]


@pytest.mark.parametrize(("change", "words"), CASES)
def test_fault_is_named(change: dict[str, Any], words: str) -> None:
    faults = manifest_faults(replace(GOOD, **change), "good")
    assert any(words in fault for fault in faults), faults


def test_anything_else_is_no_manifest() -> None:
    assert manifest_faults({"key": "good"}, "good") == ["its manifest is a dict, not a Manifest"]


def test_config_error_tells_every_field() -> None:
    error = ConfigError({"gates": "empty", "speed": "unknown"})
    assert str(error) == "gates: empty; speed: unknown"
    assert error.fields == {"gates": "empty", "speed": "unknown"}
