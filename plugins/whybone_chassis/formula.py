"""A formula the engineer writes, over any quantities."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from tracker.contract.check import Array, Config, Inputs, Kind, Manifest, Outputs, Port, Source
from tracker.contract.faults import UnitTextError
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from tracker.contract.units import ReadUnit, Unit
from whybone_chassis.answers import Answers, Reals
from whybone_chassis.formula_config import Formula, Input, formula_of
from whybone_chassis.formula_operations import FUNCTIONS
from whybone_chassis.formula_slopes import slopes_of
from whybone_chassis.formula_trends import POSITIVE, Span, trends_of

__all__ = ["CHECK"]

_NO_VALUE = (
    "the formula has no value here: a division by zero, a root or logarithm of a negative number, "
    "or a number out of range"
)
_HOW = (
    "Compute a formula written in the configuration: expression, like force * arm; inputs, names "
    "with units, like force: N, arm: mm, locked: flag; unit of the result, like N*m; positive, the "
    "inputs that are above zero always, like arm. It may use "
    "+ - * / // % **, comparisons, and, or, not, a if c else b, pi, rad, and "
    + ", ".join(FUNCTIONS)
)
_CAUTIONS = (
    "The formula is the engineer's own: dimensions are checked, its sense is not.",
    (
        "Angles are a dimension of their own: sin takes an angle, atan gives one, and an arc "
        "becomes a length by dividing by rad. Temperatures are computed in kelvin."
    ),
    "== and != compare to the last bit: a computed value hardly ever equals another.",
)
_REMEMBERED = 64  # formulas kept ready
_SPAN = np.linspace(0.8, 1.2, 41)


def _no_units(text: str) -> Unit:
    if text:
        raise UnitTextError("no units are known here")
    return Unit("")


class FormulaCheck:
    """The check.

    Its configuration: `expression`, `inputs` with units, `unit` of the result, and the inputs that
    are `positive` always.

    Parameters
    ----------
    read : ReadUnit, optional
        Reads unit texts; without it there are pure numbers only.
    """

    def __init__(self, read: ReadUnit = _no_units) -> None:
        self._read = read
        self._ready: dict[tuple[tuple[str, str], ...], Formula] = {}

    def with_units(self, read: ReadUnit) -> FormulaCheck:
        """Return the check with a reader of unit texts."""
        return FormulaCheck(read)

    def manifest(self, config: Config) -> Manifest:
        """Describe the formula; without any configuration, how to write one.

        Raises
        ------
        ConfigError
            The formula or its inputs cannot be read, or dimensions do not fit.
        """
        if not config:
            return _described(
                _HOW, (), _port("result", "Of the formula, once configured", Unit(""))
            )
        formula = self._formula(config)
        return _described(
            f"Compute {formula.text}",
            tuple(_port(each.key, "Input of the formula", each.unit) for each in formula.inputs),
            _port("result", formula.text, formula.result.unit),
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        """Compute the formula, row by row."""
        answers = Answers(inputs)
        if not config:
            answers.refuse(where=True, reason="no formula is configured: give it an expression")
            return answers.outputs()
        formula = self._formula(config)
        answers.require_positive(inputs, (each.key for each in formula.inputs if each.positive))
        value = _computed(formula, inputs, answers.rows)
        answers.refuse(np.isnan(value), _NO_VALUE)
        answers.give(result=value == 1.0 if formula.result.unit is None else value)
        return answers.outputs()

    def monotone(self, output: str, input: str, config: Config) -> int | None:  # noqa: A002, ARG002 - the contract's names; there is one output
        """Tell how the result follows an input, as far as signs tell; nothing of flags."""
        if not config:
            return None
        formula = self._formula(config)
        spans = {each.key: _span(each) for each in formula.inputs}
        flag = any(each.key == input and each.unit is None for each in formula.inputs)
        return None if flag else trends_of(formula.node, spans).get(input)

    def derivatives(self, inputs: Inputs, config: Config) -> Mapping[tuple[str, str], Array]:
        """Differentiate the formula, part by part."""
        if not config:
            return {}
        formula = self._formula(config)
        if formula.result.unit is None:
            return {}
        factors = {each.key: each.factor for each in formula.inputs if each.unit is not None}
        with np.errstate(all="ignore"):  # rows without a value have no derivative
            values = _working_values(formula, inputs)
            floats = {key: np.asarray(each, dtype=np.float64) for key, each in values.items()}
            _, slopes = slopes_of(formula.node, floats)
            scale = formula.result.factor
            found = {key: slopes[key] * (each * scale) for key, each in factors.items()}
        return {("result", key): np.where(np.isfinite(s), s, np.nan) for key, s in found.items()}

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:
        """Show the result over each input, the others held."""
        if not config:
            return ()
        formula = self._formula(config)
        if formula.result.unit is None:
            return ()
        series = [
            _line(formula, inputs, each.key) for each in formula.inputs if each.unit is not None
        ]
        return (
            Figure(
                key="result",
                title=f"{formula.text}, each input by itself",
                kind=FigureKind.CURVE,
                series=tuple(series),
                across=Axis("input over its value", now=1.0),
                up=Axis("result", formula.result.unit.text, "result"),
            ),
        )

    def _formula(self, config: Config) -> Formula:
        key = tuple(sorted(config.items()))
        if key not in self._ready:
            if len(self._ready) >= _REMEMBERED:
                self._ready.clear()
            self._ready[key] = formula_of(config, self._read)
        return self._ready[key]


CHECK = FormulaCheck()


def _described(purpose: str, inputs: tuple[Port, ...], output: Port) -> Manifest:
    return Manifest(
        key="formula",
        version="1",
        title="Formula",
        purpose=purpose,
        inputs=inputs,
        outputs=(output,),
        sources=(Source("The formula itself", "", "written in the programme"),),
        cautions=_CAUTIONS,
    )


def _port(key: str, doc: str, unit: Unit | None) -> Port:
    if unit is None:
        return Port(key=key, title=key, doc=doc, kind=Kind.FLAG)
    return Port(key=key, title=key, doc=doc, unit=unit.text)


def _computed(formula: Formula, inputs: Inputs, rows: int) -> Reals:
    """Return the result in its own unit, shape (rows,); NaN where there is none."""
    with np.errstate(all="ignore"):  # numbers out of range are named as a problem
        result = formula.program.run(_working_values(formula, inputs), rows)
        return _scaled(result, formula.result.factor, formula.result.offset)


def _working_values(formula: Formula, inputs: Inputs) -> dict[str, Reals]:
    return {
        each.key: _scaled(inputs[each.key], each.factor, each.offset) for each in formula.inputs
    }


def _span(each: Input) -> Span:
    """Return where the working values of an input lie."""
    if each.unit is None:
        return 0.0, 1.0
    return POSITIVE if each.positive and each.offset >= 0.0 else (-np.inf, np.inf)


def _scaled(array: Reals, factor: float, offset: float) -> Reals:
    """Convert a whole array; nothing is done, and nothing rounded, in the same unit."""
    if factor != 1.0:
        array = array * factor
    return array + offset if offset else array


def _line(formula: Formula, inputs: Inputs, key: str) -> Series:
    held = {name: np.repeat(array[:1], len(_SPAN)) for name, array in inputs.items()}
    held[key] = held[key] * _SPAN
    result = _computed(formula, held, len(_SPAN))
    good = np.isfinite(result)
    return Series(title=key, x=tuple(_SPAN[good].tolist()), y=tuple(result[good].tolist()))
