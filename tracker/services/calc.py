"""Running one installed check on its own, without a programme."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from tracker.contract.check import Manifest, Port, Rule
from tracker.errors import BadValueError, UnknownKeyError
from tracker.evaluate.binding import Measure, emit_for, literal_array
from tracker.evaluate.graph import Node
from tracker.evaluate.plugin import Loaded
from tracker.evaluate.running import call
from tracker.evaluate.slots import Absent, Slot, Unknown, value_of
from tracker.evaluate.verdict import Band, judge_number, judge_text
from tracker.model.units import NO_CURRENCY
from tracker.model.values import Column, Kind
from tracker.services.ports import UnitReader
from tracker.services.reading import read_value
from tracker.services.session import Tools
from tracker.services.views import CalcResult, CaseResult, RuleResult
from tracker.services.wording import CAUTION

__all__ = ["calculate", "manifest"]


def manifest(tools: Tools, check: str) -> Manifest:
    """Return the manifest of an installed check.

    Raises
    ------
    BindingError
        There is no such check, or it cannot be loaded.
    """
    return tools.catalogue.load(check, {}, NO_CURRENCY).manifest


def calculate(tools: Tools, check: str, document: Mapping[str, Any]) -> CalcResult:
    """Run a check on the cases of a document.

    Parameters
    ----------
    document : mapping
        `{"inputs": {port: value}}` or `{"cases": [{port: value}, …]}`; optionally `config` and
        `currency`.

    Raises
    ------
    InputError
        An input is missing, unknown, or not a value of its port.
    """
    strangers = sorted(set(document) - {"inputs", "cases", "config", "currency", "check"})
    if strangers or ("inputs" in document) is ("cases" in document):
        raise BadValueError(
            "give either inputs or cases" if not strangers else f"no field {strangers[0]!r}",
            item=check,
            remedy='Write {"inputs": {"port": value}} or {"cases": [{…}, …]}',
        )
    config = {str(name): str(text) for name, text in document.get("config", {}).items()}
    loaded = tools.catalogue.load(check, config, str(document.get("currency", NO_CURRENCY)))
    cases = document.get("cases", [document.get("inputs")])
    if not isinstance(cases, Sequence) or not all(isinstance(each, Mapping) for each in cases):
        raise BadValueError("a case is an object of inputs", item=check, field="cases")
    return CalcResult(
        check=loaded.manifest.key,
        version=loaded.manifest.version,
        cases=tuple(
            _case(loaded, tools.units, each, f"case {number}")
            for number, each in enumerate(cases, 1)
        ),
        cautions=(CAUTION, *loaded.manifest.cautions),
    )


def _case(loaded: Loaded, units: UnitReader, case: Mapping[str, Any], item: str) -> CaseResult:
    emits = tuple(
        emit_for(loaded, port, slot, None)
        for slot, port in enumerate(loaded.manifest.outputs)
        if port.kind is not Kind.TABLE
    )
    node = Node(
        item,
        loaded,
        (),
        constants=_constants(loaded, units, case, item),
        emits=emits,
        outputs=tuple(each.slot for each in emits),
    )
    with np.errstate(all="ignore"):
        block, values = call(node, [], [])
    slots = dict(zip((each.port for each in emits), (value for _, value in values), strict=True))
    return CaseResult(
        outputs={name: _output(loaded, name, slot) for name, slot in slots.items()},
        rules=tuple(_rule(loaded, each, slots[each.output]) for each in loaded.manifest.rules),
        problems=_problems(block, slots),
    )


def _problems(block: Unknown | None, slots: Mapping[str, Slot]) -> tuple[str, ...]:
    said = [block.reason] if block else []
    for name, slot in slots.items():
        if isinstance(slot, Unknown) and slot.reason not in said:
            said.append(f"{name}: {slot.reason}")
        elif isinstance(slot, Absent):
            said.append(f"{name} is absent: {slot.reason}")
    return tuple(said)


def _constants(
    loaded: Loaded, units: UnitReader, case: Mapping[str, Any], item: str
) -> dict[str, Any]:
    for name in case:
        if name not in loaded.inputs:
            raise UnknownKeyError(
                f"{loaded.manifest.key} has no input {name!r}",
                item=item,
                field=str(name),
                remedy="Its inputs: " + ", ".join(loaded.inputs),
            )
    constants = {}
    for name, port in loaded.inputs.items():
        if name in case:
            constants[name] = _read(loaded, port, case[name], units, item)
        elif port.default is not None:
            constants[name] = literal_array(port, port.default)
        elif not port.optional:
            raise BadValueError(
                "the input is missing", item=item, field=name, remedy=f"Give it: {port.doc}"
            )
    return constants


def _read(loaded: Loaded, port: Port, raw: Any, units: UnitReader, item: str) -> Any:  # noqa: ANN401 - JSON in, array out
    columns = tuple(
        Column(each.name, each.kind, loaded.units[f"{port.key}.{each.name}"])
        for each in port.columns
    )
    measure = Measure(port.kind, loaded.units[port.key], port.choices, columns)
    if port.kind is Kind.TABLE and isinstance(raw, Sequence):
        raw = [_filled(port, row) for row in raw]
    return literal_array(port, read_value(raw, measure, units, item=item, field=port.key)[0])


def _filled(port: Port, row: Any) -> Any:  # noqa: ANN401 - JSON data
    """Fill the columns a row given as an object leaves out."""
    if not isinstance(row, Mapping):
        return row
    defaults = {each.name: each.default for each in port.columns if each.default is not None}
    return {**defaults, **row}


def _output(loaded: Loaded, name: str, slot: Slot) -> tuple[Any, str]:
    port = loaded.outputs[name]
    return value_of(slot, port.kind, port.choices), loaded.units[name].text


def _rule(loaded: Loaded, rule: Rule, slot: Slot) -> RuleResult:
    port = loaded.outputs[rule.output]
    band = Band(rule.lower, rule.upper, rule.scale, rule.guard, rule.allowed)
    value = value_of(slot, port.kind, port.choices)
    if value is None:
        verdict, margin = "unknown", None
    elif isinstance(value, str | bool):
        text = value if isinstance(value, str) else ("yes" if value else "no")
        verdict, margin = judge_text(text, band).verdict.value, None
    else:
        judgement = judge_number(float(value), band)  # type: ignore[arg-type] # rules judge numbers
        verdict, margin = judgement.verdict.value, judgement.margin
    return RuleResult(output=rule.output, verdict=verdict, margin=margin, reason=rule.reason)
