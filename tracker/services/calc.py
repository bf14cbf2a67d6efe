"""Running one installed check on its own, without a programme."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from tracker.contract.check import Manifest
from tracker.errors import BadValueError, UnknownKeyError
from tracker.evaluate.binding import emit_for, literal_array, rule_band
from tracker.evaluate.graph import Judge, Node
from tracker.evaluate.judging import judge_at
from tracker.evaluate.plugin import Loaded
from tracker.evaluate.running import call
from tracker.evaluate.slots import Absent, Slot, Unknown, value_of
from tracker.model.programme import Programme
from tracker.model.texts import check_currency
from tracker.model.units import NO_CURRENCY
from tracker.services.calc_views import (
    CalcResult,
    CaseResult,
    RuleResult,
)
from tracker.services.ports import UnitReader
from tracker.services.reading import read_port
from tracker.services.session import Tools
from tracker.services.wording import CAUTION

__all__ = ["calculate", "manifest"]

_FIELDS = frozenset({"inputs", "cases", "config", "currency", "check"})
_SHAPE = 'Write {"inputs": {"port": value}} or {"cases": [{"port": value}, …]}'


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
    cases = _cases(check, document)
    currency = check_currency(str(document.get("currency", NO_CURRENCY)), item=check)
    loaded = tools.catalogue.load(check, _config(check, document), currency)
    return CalcResult(
        check=loaded.manifest.key,
        version=loaded.manifest.version,
        cases=tuple(
            _case(loaded, tools.units, each, f"case {number}")
            for number, each in enumerate(cases, 1)
        ),
        cautions=(CAUTION, *loaded.manifest.cautions),
    )


def _cases(check: str, document: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    strangers = sorted(set(document) - _FIELDS)
    if strangers:
        raise BadValueError(f"there is no field {strangers[0]!r}", item=check, remedy=_SHAPE)
    if ("inputs" in document) is ("cases" in document):
        raise BadValueError("give either inputs or cases", item=check, remedy=_SHAPE)
    cases = document.get("cases", [document.get("inputs")])
    if not isinstance(cases, list | tuple) or not all(isinstance(each, Mapping) for each in cases):
        raise BadValueError(
            "a case is an object of inputs", item=check, field="cases", remedy=_SHAPE
        )
    return list(cases)


def _config(check: str, document: Mapping[str, Any]) -> dict[str, str]:
    config = document.get("config", {})
    if not isinstance(config, Mapping):
        raise BadValueError(
            "it is not an object", item=check, field="config", remedy='Write {"name": "text"}'
        )
    return {str(name): str(text) for name, text in config.items()}


def _case(loaded: Loaded, units: UnitReader, case: Mapping[str, Any], item: str) -> CaseResult:
    emits = tuple(
        emit_for(loaded, port, slot, None) for slot, port in enumerate(loaded.manifest.outputs)
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
        rules=tuple(_rules(loaded, slots)),
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
            value, _ = read_port(case[name], loaded, port, units, item=item)
            constants[name] = literal_array(port, value)
        elif port.default is not None:
            constants[name] = literal_array(port, port.default)
        elif not port.optional:
            raise BadValueError(
                "the input is missing", item=item, field=name, remedy=f"Give it: {port.doc}"
            )
    return constants


def _output(loaded: Loaded, name: str, slot: Slot) -> tuple[Any, str]:
    port = loaded.outputs[name]
    return value_of(slot, port.kind, port.choices), loaded.units[name].text


def _rules(loaded: Loaded, slots: Mapping[str, Slot]) -> Iterator[RuleResult]:
    for number, rule in enumerate(loaded.manifest.rules):
        band = rule_band(loaded, number, 0, None)
        judge = Judge(loaded.manifest.key, 0, band.measure, band)
        judgement = judge_at(Programme(), judge, slots[rule.output]).judgement
        yield RuleResult(
            output=rule.output,
            verdict=judgement.verdict.value,
            margin=judgement.margin,
            reason=rule.reason,
        )
