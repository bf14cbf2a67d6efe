"""The author's kit: a good check keeps every promise, each planted fault breaks the right one."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pytest

from tracker.contract.check import (
    Absence,
    CellKind,
    Config,
    Inputs,
    Kind,
    Manifest,
    Outputs,
    Port,
    PortColumn,
    Problem,
    Table,
)
from tracker.contract.figure import Figure, FigureKind, Series
from tracker.contract.kit import PROMISES, BrokenPromise, Row, Subject, keep_promises

WAYS = ("left", "right")
INPUTS = (
    Port(key="arm", title="Arm", doc="Length of the lever", unit="mm"),
    Port(key="force", title="Force", doc="Force on it", unit="N"),
    Port(key="at", title="Place", doc="Where it turns", kind=Kind.POINT, unit="mm"),
    Port(key="way", title="Way", doc="Way it turns", kind=Kind.CHOICE, choices=WAYS),
    Port(key="fixed", title="Fixed", doc="", kind=Kind.FLAG, optional=True, default=False),
    Port(key="count", title="Levers", doc="", kind=Kind.INTEGER, optional=True),
    Port(
        key="weights",
        title="Weights",
        doc="",
        kind=Kind.TABLE,
        optional=True,
        columns=(
            PortColumn("name", "", CellKind.TEXT),
            PortColumn("pull", "", unit="N"),
            PortColumn("used", "", CellKind.FLAG),
        ),
    ),
)
OUTPUTS = (
    Port(key="moment", title="Moment", doc="", unit="N*mm"),
    Port(key="tip", title="Tip", doc="", kind=Kind.POINT, unit="mm"),
    Port(key="turns", title="Turns", doc="", kind=Kind.CHOICE, choices=WAYS),
    Port(key="loaded", title="Loaded", doc="", kind=Kind.FLAG),
    Port(key="levers", title="Levers", doc="", kind=Kind.INTEGER),
    Port(key="slope", title="Slope", doc="", unit="1/mm", optional=True),
)
TABLES = {"weights": [("a", 2.0, True), ("b", 3.0, False)]}
MANIFEST = Manifest(
    key="lever", version="1", title="Lever", purpose="Turn", inputs=INPUTS, outputs=OUTPUTS
)


def lever(inputs: Inputs) -> Outputs:
    """Answer as the contract wants."""
    arm, force, at = inputs["arm"], inputs["force"], inputs["at"]
    pull = (inputs["weights"].reals("pull") * inputs["weights"].flags("used")).sum()
    tip = at.copy()
    tip[:, 0] += arm
    with np.errstate(all="ignore"):
        slope = 1.0 / arm
    bad = ~np.isfinite(arm + force + at[:, 0] + at[:, 1] + at[:, 2])
    return Outputs(
        {
            "moment": arm * (force + pull),
            "tip": tip,
            "turns": inputs["way"] * 1,
            "loaded": force > 0.0,
            "levers": np.where(inputs["fixed"], 0, inputs["count"]),
            "slope": slope,
        },
        [Problem(bad, "an input is no number")] if bad.any() else [],
        [Absence("slope", arm == 0.0, "the lever has no length")],
    )


@dataclass(frozen=True)
class Lever:
    """A check whose every part can be replaced by a faulty one."""

    answer: Callable[[Inputs], Any] = lever
    described: Any = MANIFEST
    drawn: Sequence[Figure] = field(default=())

    def manifest(self, config: Config) -> Manifest:
        assert isinstance(config, Mapping)
        described: Manifest = self.described() if callable(self.described) else self.described
        return described

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        assert isinstance(config, Mapping)
        outputs: Outputs = self.answer(inputs)
        return outputs

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:
        assert inputs is not config
        return self.drawn


def draw(generator: np.random.Generator) -> Row:
    arm, force, *at = generator.uniform(1.0, 100.0, 5).tolist()
    return {
        "arm": arm,
        "force": force,
        "at": tuple(at),
        "way": str(generator.choice(WAYS)),
        "count": int(generator.integers(1, 9)),
    }


def subject(check: Lever, **more: Any) -> Subject:  # noqa: ANN401  fields of a Subject
    given: dict[str, Any] = {
        "check": check,
        "rows": draw,
        "tables": TABLES,
        "degenerate": [{"arm": 0.0}, {"arm": math.inf}],
        "scalings": [{"mm": 2.0, "N": 4.0}, {"mm": 0.3, "N": 1.0}],
    }
    return Subject(**(given | more))


def changed(**values: Callable[[Inputs, Any], Any]) -> Callable[[Inputs], Outputs]:
    """Return an answer with some outputs replaced."""

    def answer(inputs: Inputs) -> Outputs:
        good = lever(inputs)
        replaced = {key: make(inputs, good.values[key]) for key, make in values.items()}
        return Outputs({**good.values, **replaced}, good.problems, good.absences)

    return answer


def told(*problems: Problem, absences: Sequence[Absence] = ()) -> Callable[[Inputs], Outputs]:
    return lambda inputs: Outputs(lever(inputs).values, problems, absences)


@pytest.mark.parametrize("promise", PROMISES)
def test_good_check_keeps_every_promise(promise: str) -> None:
    PROMISES[promise](subject(Lever()))


def test_given_rows_serve_as_well_as_drawn_ones() -> None:
    rows = [draw(np.random.default_rng(seed)) for seed in range(3)]
    keep_promises(subject(Lever(), rows=rows))


def test_check_without_figures_is_fine() -> None:
    class Plain:
        def manifest(self, config: Config) -> Manifest:
            return Lever().manifest(config)

        def compute(self, inputs: Inputs, config: Config) -> Outputs:
            return Lever().compute(inputs, config)

    keep_promises(subject(Plain()))  # type: ignore[arg-type]  # a Check all the same


def _raise(_: Inputs) -> Outputs:
    raise ZeroDivisionError("by nothing")


def _write(inputs: Inputs) -> Outputs:
    inputs["arm"][0] = 1.0
    return lever(inputs)


def _write_if_allowed(inputs: Inputs) -> Outputs:
    good = lever(inputs)
    if inputs["arm"].flags.writeable:
        inputs["arm"][0] += 1.0
    return good


def _write_table(inputs: Inputs) -> Outputs:
    good = lever(inputs)
    pull = inputs["weights"].columns["pull"]
    if pull.flags.writeable:
        pull[0] += 1.0
    return good


class _Counting:
    """Gives another result each time."""

    def __init__(self) -> None:
        self.calls = 0

    def __call__(self, inputs: Inputs) -> Outputs:
        self.calls += 1
        return changed(moment=lambda _, good: good + self.calls)(inputs)


def _leaky(inputs: Inputs) -> Outputs:
    return changed(moment=lambda _, good: good + np.nan_to_num(inputs["arm"]).mean())(inputs)


def _poisoned_by_neighbours(inputs: Inputs) -> Outputs:
    """Good rows lose their value when another row is bad."""
    good = lever(inputs)
    bad = ~np.isfinite(inputs["arm"])
    return Outputs(good.values, [Problem(np.full(len(bad), bad.any()), "no")], good.absences)


def _silent(inputs: Inputs) -> Outputs:
    good = lever(inputs)
    values = {key: np.nan_to_num(value, posinf=0.0) for key, value in good.values.items()}
    return Outputs({**values, "loaded": good.values["loaded"]}, (), good.absences)


def _silent_when_degenerate(inputs: Inputs) -> Outputs:
    good = lever(inputs)
    return Outputs({**good.values, "slope": np.ones(len(inputs["arm"]))}, good.problems)


def _moves_absence(inputs: Inputs) -> Outputs:
    good = lever(inputs)
    return replace(good, absences=[Absence("slope", inputs["arm"] > 50.0, "too long")])


def _first(rows: int) -> np.ndarray:
    first: np.ndarray = np.arange(rows) == 0
    return first


def _order(inputs: Inputs) -> Outputs:
    """Depends on where a row stands, but not for the first rows alone."""
    return changed(moment=lambda _, good: good + np.arange(len(good)) * 1e-9)(inputs)


FAULTS: list[tuple[str, str, Callable[[Inputs], Any]]] = [
    ("good-answers", "compute raised ZeroDivisionError on 24 rows: by nothing", _raise),
    ("good-answers", "returned a dict, not Outputs", lambda _: {}),
    ("good-answers", r"'moment' should have the shape \(24,\)", changed(moment=lambda *_: 1.0)),
    ("good-answers", r"not \(24, 1\)", changed(moment=lambda _, good: good[:, None])),
    ("good-answers", r"'tip' should have the shape \(24, 3\)", changed(tip=lambda _, g: g[:, 0])),
    ("good-answers", "'moment' should be float64", changed(moment=lambda _, g: g.astype("f4"))),
    ("good-answers", "'levers' should be int64", changed(levers=lambda _, g: g.astype("f8"))),
    ("good-answers", "'moment' is not finite", changed(moment=lambda _, g: g * math.nan)),
    ("good-answers", "'turns' has a code beyond", changed(turns=lambda _, g: g + 1)),
    (
        "good-answers",
        "not declared: extra",
        lambda inputs: Outputs({**lever(inputs).values, "extra": inputs["arm"]}),
    ),
    (
        "good-answers",
        "'moment' should have the shape",
        lambda inputs: Outputs({k: v for k, v in lever(inputs).values.items() if k != "moment"}),
    ),
    ("good-answers", "of a good row has no value: tired", told(Problem(_first(24), "tired"))),
    ("good-answers", "are not 24 flags", told(Problem(_first(3), "tired"))),
    ("good-answers", "are not 24 flags", told(Problem(np.arange(24), "tired"))),  # type: ignore[arg-type]  # the fault
    ("good-answers", "gives no reason", told(Problem(_first(24), " "))),
    ("good-answers", "'wing', which is no output", told(Problem(_first(24), "no", ("wing",)))),
    (
        "good-answers",
        "'moment' is absent but not declared optional",
        told(absences=[Absence("moment", _first(24), "none")]),
    ),
    (
        "good-answers",
        "'wing' is absent but not declared optional",
        told(absences=[Absence("wing", _first(24), "none")]),
    ),
    ("row-by-row", "row 0 in a batch of 2: output 'moment' differs", _leaky),
    ("order-free", "after a permutation: output 'moment' differs", _order),
    ("pure", "compute raised ValueError", _write),
    ("pure", "changed the input 'arm'", _write_if_allowed),
    ("pure", "changed the input 'weights.pull'", _write_table),
    ("pure", "computed a second time: output 'moment' differs", _Counting()),
    ("nan-contained", "a NaN in 'arm' reached another row", _poisoned_by_neighbours),
    ("nan-contained", "a NaN in 'arm' changed 'moment' without a problem", _silent),
    ("degenerate-told", r"degenerate row 0 \(\{'arm': 0.0\}\) gave no", _silent_when_degenerate),
    ("degenerate-told", "degenerate row 1 reached another row", _poisoned_by_neighbours),
    (
        "units-hold",
        r"'moment' does not scale as its unit 'N\*mm' says",
        changed(moment=lambda inputs, _: inputs["arm"] ** 2 * inputs["force"]),
    ),
    (
        "units-hold",
        "'tip' does not scale as its unit 'mm' says",
        changed(tip=lambda _, good: good + np.array([0.0, 0.0, 1.0])),
    ),
    ("units-hold", "changed whether output 'slope' has a value", _moves_absence),
    (
        "units-hold",
        "'levers' does not scale",
        changed(levers=lambda inputs, _: inputs["arm"].astype(np.int64)),
    ),
]


@pytest.mark.parametrize(("promise", "words", "answer"), FAULTS)
def test_planted_fault_breaks_its_promise(
    promise: str, words: str, answer: Callable[[Inputs], Any]
) -> None:
    with pytest.raises(BrokenPromise, match=words):
        PROMISES[promise](subject(Lever(answer)))


def test_all_promises_at_once_name_the_broken_one() -> None:
    with pytest.raises(BrokenPromise, match=r"^row-by-row: row 0 in a batch of 2"):
        keep_promises(subject(Lever(_leaky)))


def test_output_absent_in_every_row_needs_no_values() -> None:
    def answer(inputs: Inputs) -> Outputs:
        good = lever(inputs)
        values = {key: value for key, value in good.values.items() if key != "slope"}
        everywhere = np.ones(len(inputs["arm"]), dtype=np.bool_)
        return Outputs(values, good.problems, [Absence("slope", everywhere, "not drawn yet")])

    keep_promises(subject(Lever(answer)))


def test_unsound_manifest_is_told() -> None:
    twice = replace(MANIFEST, inputs=(*INPUTS, INPUTS[0]))
    with pytest.raises(BrokenPromise, match="port 'arm' appears twice"):
        PROMISES["sound-manifest"](subject(Lever(described=twice)))
    with pytest.raises(BrokenPromise, match="its manifest is a str"):
        PROMISES["sound-manifest"](subject(Lever(described="lever")))


def test_manifest_that_changes_its_mind_is_told() -> None:
    versions = iter(range(9))
    moody = Lever(described=lambda: replace(MANIFEST, version=str(next(versions))))
    with pytest.raises(BrokenPromise, match="two manifests for one configuration differ"):
        PROMISES["sound-manifest"](subject(moody))


def test_example_that_does_not_fit_the_ports_is_told() -> None:
    with pytest.raises(BrokenPromise, match="names ports there are not: wing"):
        PROMISES["good-answers"](subject(Lever(), rows=[{"wing": 1.0}]))
    with pytest.raises(BrokenPromise, match="lacks the input 'force'"):
        PROMISES["good-answers"](subject(Lever(), rows=[{"arm": 1.0}]))


def test_check_of_tables_alone_is_a_batch_of_one() -> None:
    def total(inputs: Inputs) -> Outputs:
        weights: Table = inputs["weights"]
        return Outputs({"pull": np.array([weights.reals("pull").sum()])})

    manifest = replace(
        MANIFEST,
        inputs=(replace(INPUTS[-1], optional=False),),
        outputs=(Port(key="pull", title="Pull", doc="", unit="N"),),
    )
    keep_promises(Subject(check=Lever(total, manifest), rows=[{}], tables=TABLES))


def test_degenerate_table_must_be_told() -> None:
    def answer(inputs: Inputs) -> Outputs:
        good = lever(inputs)
        light = np.full(len(inputs["arm"]), inputs["weights"].rows == 0)
        problems = (*good.problems, *([Problem(light, "no weights")] if light.any() else []))
        return Outputs(good.values, problems, good.absences)

    told_of = subject(Lever(answer), degenerate=[{"weights": []}])
    PROMISES["degenerate-told"](told_of)
    with pytest.raises(BrokenPromise, match=r"degenerate row 0 \(its table\) gave no reason"):
        PROMISES["degenerate-told"](replace(told_of, check=Lever()))


def test_table_columns_are_rescaled() -> None:
    wrong = changed(moment=lambda inputs, _: inputs["arm"] * inputs["weights"].reals("pull")[0])
    PROMISES["units-hold"](subject(Lever(wrong)))
    square = changed(
        moment=lambda inputs, _: inputs["arm"] * inputs["weights"].reals("pull")[0] ** 2
    )
    with pytest.raises(BrokenPromise, match="'moment' does not scale"):
        PROMISES["units-hold"](subject(Lever(square)))


@pytest.mark.parametrize(
    ("unit", "power"),
    [
        ("mm", 1),
        ("mm^2", 2),
        ("mm**3", 3),
        ("mm²", 2),
        ("mm⁻²", -2),
        ("mm^-1", -1),
        ("1/mm", -1),
        ("mm/mm", 0),
        ("1/(mm*mm)", -2),
        ("mm*(mm/mm)", 1),
        ("1/(mm/mm)*mm", 1),
        ("1/mm·mm", 0),
        ("", 0),
    ],
)
def test_unit_text_tells_the_factor(unit: str, power: int) -> None:
    outputs = (Port(key="moment", title="", doc="", unit=unit),)
    manifest = replace(MANIFEST, outputs=outputs)

    def answer(inputs: Inputs) -> Outputs:
        return Outputs({"moment": inputs["arm"] ** float(power)})

    scalings = [{"mm": 2.0, "N": 1.0}]
    PROMISES["units-hold"](subject(Lever(answer, manifest), scalings=scalings))


def test_scaling_must_name_every_symbol() -> None:
    with pytest.raises(BrokenPromise, match=r"gives no factor for 'N' \(in 'N'\)"):
        PROMISES["units-hold"](subject(Lever(), scalings=[{"mm": 2.0}]))


def _figure(key: str = "f", **series: Any) -> Figure:  # noqa: ANN401  fields of a Series
    return Figure(key=key, title="", kind=FigureKind.CURVE, series=(Series(title="s", **series),))


@pytest.mark.parametrize(
    ("figures", "words"),
    [
        ([_figure(), _figure()], "same key"),
        ([_figure(x=(1.0, 2.0), y=(1.0,))], "'f': 's' has unequal x and y"),
        ([_figure(x=(1.0,), y=(math.nan,))], "has a number that is none"),
    ],
)
def test_figure_that_cannot_be_drawn_is_told(figures: list[Figure], words: str) -> None:
    with pytest.raises(BrokenPromise, match=words):
        PROMISES["figures-drawable"](subject(Lever(drawn=figures)))


def test_bars_need_no_x() -> None:
    PROMISES["figures-drawable"](subject(Lever(drawn=[_figure(y=(1.0, 2.0))])))
