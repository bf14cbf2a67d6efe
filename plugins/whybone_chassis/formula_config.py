"""Reading the configuration of a formula, every wrong field at once."""

from __future__ import annotations

import keyword
import re
from dataclasses import dataclass

from tracker.contract.check import Config
from tracker.contract.faults import ConfigError, UnitTextError
from tracker.contract.units import ReadUnit, Unit
from whybone_chassis.formula_dimensions import Sense, WorkingUnits, in_words, sense_of
from whybone_chassis.formula_grammar import Apply, FormulaError, Name, Node, parse
from whybone_chassis.formula_operations import CONSTANTS, FUNCTIONS
from whybone_chassis.formula_program import Program, compiled

__all__ = ["FLAG", "Formula", "Input", "Result", "formula_of"]

FLAG = "flag"
"""Stands for the unit of an input that is yes or no."""

RESULT = "result"
_MOST_INPUTS = 20
_FIELDS = ("expression", "inputs", "unit", "positive")
_KEY = re.compile(r"[A-Za-z_][A-Za-z0-9_]{0,39}")


@dataclass(frozen=True, slots=True)
class Input:
    """An input: a number in a unit, or a flag.

    Parameters
    ----------
    key : str
        Its name in the formula.
    unit : Unit or None
        None for a flag.
    factor, offset : float
        Working value = factor · value + offset.
    positive : bool
        Whether it is stated to be above zero always.
    """

    key: str
    unit: Unit | None
    factor: float = 1.0
    offset: float = 0.0
    positive: bool = False


@dataclass(frozen=True, slots=True)
class Result:
    """What the formula gives; unit None for yes or no. Value = working value · factor + offset."""

    unit: Unit | None
    factor: float = 1.0
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula that reads and whose dimensions fit."""

    text: str
    inputs: tuple[Input, ...]
    result: Result
    program: Program
    node: Node


def formula_of(config: Config, read: ReadUnit) -> Formula:
    """Read a configuration.

    Parameters
    ----------
    config : mapping of str to str
        `expression`; `inputs`, names with their units, `force: N, arm: mm, locked: flag`; `unit`
        of the result, left out for a pure number or a comparison; `positive`, the inputs that are
        above zero always.
    read : ReadUnit
        Reads unit texts.

    Raises
    ------
    ConfigError
        Everything that is wrong, field by field.
    """
    wrong = {field: "there is no such field" for field in config if field not in _FIELDS}
    units = _inputs(config.get("inputs", ""), read, wrong)
    unit = _unit(config.get("unit", ""), read, "unit", wrong)
    positive = _positive(config.get("positive", ""), units, wrong)
    text = config.get("expression", "")
    read_as = _read(text, units, wrong)
    if read_as is not None and unit is not None:
        _fits(read_as[0], unit, given=bool(unit.text), wrong=wrong)
    if wrong or read_as is None:
        raise ConfigError(wrong)
    sense, program, node = read_as
    inputs, result = _working(units, positive, None if sense.is_flag else unit)
    return Formula(" ".join(text.split()), inputs, result, program, node)


def _read(
    text: str, units: dict[str, Unit | None], wrong: dict[str, str]
) -> tuple[Sense, Program, Node] | None:
    """Read the expression; its dimensions are only asked about once all inputs are known."""
    try:
        node = parse(text)
        if any(path.startswith("inputs") for path in wrong):
            return None
        senses = {
            key: Sense((), is_flag=True) if unit is None else Sense(unit.dimension)
            for key, unit in units.items()
        }
        sense = sense_of(node, senses)
        program = compiled(node, tuple(units))
    except FormulaError as error:
        wrong["expression"] = str(error)
        return None
    unused = units.keys() - _names(node)
    wrong.update((f"inputs.{key}", "the formula does not use it") for key in sorted(unused))
    return sense, program, node


def _names(node: Node) -> set[str]:
    if isinstance(node, Name):
        return {node.key}
    if isinstance(node, Apply):
        return set().union(*(_names(each) for each in node.args))
    return set()


def _working(
    units: dict[str, Unit | None], positive: set[str], unit: Unit | None
) -> tuple[tuple[Input, ...], Result]:
    """Choose the working units."""
    working = WorkingUnits(each for each in (*units.values(), unit) if each is not None)
    inputs = tuple(
        Input(key, None)
        if each is None
        else Input(key, each, working.factor(each), each.offset, key in positive)
        for key, each in units.items()
    )
    if unit is None:
        return inputs, Result(None)
    factor = 1.0 / working.factor(unit)
    return inputs, Result(unit, factor, -unit.offset * factor)


def _positive(text: str, units: dict[str, Unit | None], wrong: dict[str, str]) -> set[str]:
    names = {each.strip() for each in re.split(r"[,;\n]", text) if each.strip()}
    for key in sorted(names):
        if units.get(key) is None:
            wrong[f"positive.{key}"] = "no input that is a number is called that"
    return names


def _inputs(text: str, read: ReadUnit, wrong: dict[str, str]) -> dict[str, Unit | None]:
    units: dict[str, Unit | None] = {}
    entries = [each.strip() for each in re.split(r"[,;\n]", text) if each.strip()]
    if not 1 <= len(entries) <= _MOST_INPUTS:
        wrong["inputs"] = (
            f"name 1 to {_MOST_INPUTS} inputs with their units, like force: N, arm: mm, "
            "share, locked: flag"
        )
        return units
    for entry in entries:
        key, _, unit = (part.strip() for part in entry.partition(":"))
        path = f"inputs.{key}"
        if key in units:
            wrong[path] = "it is named twice"
        elif reason := _bad_key(key):
            wrong[path] = reason
        else:
            units[key] = None if unit == FLAG else _unit(unit, read, path, wrong)
    return units


def _bad_key(key: str) -> str:
    if not _KEY.fullmatch(key) or keyword.iskeyword(key):
        return "an input is named by up to 40 letters, digits and _, starting with a letter"
    if key in FUNCTIONS or key in CONSTANTS or key == RESULT:
        return "this name is taken: call the input something else"
    return ""


def _unit(text: str, read: ReadUnit, path: str, wrong: dict[str, str]) -> Unit | None:
    try:
        return read(text.strip())
    except UnitTextError as error:
        wrong[path] = str(error)
        return None


def _fits(sense: Sense, unit: Unit, *, given: bool, wrong: dict[str, str]) -> None:
    if sense.is_flag:
        if given:
            wrong["unit"] = "the formula gives yes or no, which has no unit: leave it out"
    elif sense.dimension is not None and sense.dimension != unit.dimension:
        what = f"the formula gives {in_words(sense.dimension)}"
        wrong["unit"] = f"{what}, which {unit.describe()} does not measure"
