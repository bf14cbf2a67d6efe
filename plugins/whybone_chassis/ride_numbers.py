"""Trims, stroke, rates and natural frequencies of a corner, batched."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers, Flags, Reals
from whybone_chassis.ride import SPRINGS, TRIMS
from whybone_chassis.ride_springs import Corner

__all__ = ["Trim", "modes", "solve", "trims"]

_GRAVITY = 9.80665  # m/s², ISO 80000-3
_HALVINGS = 64  # of the travel between the solid stops: to the last bit of a double
_MM = 1e3  # mm in one m
_BAR = 10.0  # bar in one N/mm²

_POSITIVE = (
    *(f"sprung_mass_{trim}" for trim in TRIMS),
    "unsprung_mass",
    "motion_ratio",
    "tyre_rate",
    "bump_travel",
    "rebound_travel",
)
_NEEDS = {
    "coil": ("spring_rate",),
    "air": ("effective_area", "air_volume", "polytropic_exponent"),
}
_OF_SPRING = ("spring_force", "wheel_rate", "ride_rate", "frequency", "body_mode", "hop_mode")


@dataclass(frozen=True, slots=True)
class Trim:
    """A corner standing under one load.

    Parameters
    ----------
    corner : Corner
        With springs that carry what they carry; levelled ones at design height.
    travel : ndarray, shape (n,)
        From design, mm; NaN where it does not stand between the solid stops.
    """

    corner: Corner
    travel: Reals


def solve(inputs: Inputs) -> Outputs:
    """Work out trims, stroke, rates and frequencies of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `ride`, shape (n,) each.

    Returns
    -------
    Outputs
        One value per row and port; a trim that does not stand between the solid stops has none.
    """
    answers = Answers(inputs)
    _examine(inputs, answers)
    with np.errstate(all="ignore"):  # rows without a result are named as problems
        for name, trim in trims(inputs).items():
            _explain(inputs, name, trim, answers)
            _stroke(inputs, name, trim, answers)
            _rates(inputs, name, trim, answers)
            _damping(inputs, name, trim, answers)
    return answers.outputs()


def _examine(inputs: Inputs, answers: Answers) -> None:
    answers.require_positive(inputs, _POSITIVE)
    for port in ("bump_stop_rate", "rebound_stop_rate"):
        answers.refuse(~(inputs[port] >= 0.0), f"{port} must not be negative")
    for code, spring in enumerate(SPRINGS):
        rows = inputs["spring"] == code
        for port in _NEEDS[spring]:
            if port not in inputs:
                answers.refuse(rows, f"{port} is not given: the {spring} spring needs it")
            else:
                answers.refuse(rows & ~(inputs[port] > 0.0), f"{port} must be positive")
    given = [port for port in ("damping_rate", "damper_motion_ratio") if port in inputs]
    for port in given:
        ports = tuple(f"damping_ratio_{trim}" for trim in TRIMS)
        answers.refuse(~(inputs[port] >= 0.0), f"{port} must not be negative", *ports)


def _load(inputs: Inputs, trim: str) -> Reals:
    load: Reals = inputs[f"sprung_mass_{trim}"] * _GRAVITY
    return load


def trims(inputs: Inputs) -> dict[str, Trim]:
    """Let every corner stand under each load."""
    bare = Corner.of(inputs)
    design = bare.carrying(_load(inputs, "design"))
    levelled: Flags = bare.springs.air & inputs["levelling"]
    found = {}
    for name in TRIMS:
        load = _load(inputs, name)
        pumped = bare.carrying(load)
        force = np.where(levelled, pumped.springs.force, design.springs.force)
        corner = Corner(
            design.springs.carrying(force), design.stops, design.ratio, design.ratio_rate
        )
        travel = np.zeros_like(load)
        if name != "design":
            travel = np.where(levelled, travel, _settle(corner, load, inputs))
        found[name] = Trim(corner, travel)
    return found


def _settle(corner: Corner, load: Reals, inputs: Inputs) -> Reals:
    """Find the travel at which the wheel carries the load: halve between the solid stops."""
    low, high = -inputs["rebound_travel"], inputs["bump_travel"]
    held = (corner.settled(low) < load) & (corner.settled(high) > load)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        short = corner.settled(middle) < load
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return np.where(held, 0.5 * (low + high), np.nan)


def _ports(name: str, *keys: str) -> tuple[str, ...]:
    return tuple(f"{key}_{name}" for key in keys)


def _all_ports(name: str) -> tuple[str, ...]:
    of_trim = ("bump_left", "rebound_left", "stop_gap", "gauge_pressure", "damping_ratio")
    moved = () if name == "design" else (f"trim_{name}",)
    return (*moved, *_ports(name, *of_trim, *_OF_SPRING))


def _explain(inputs: Inputs, name: str, trim: Trim, answers: Answers) -> None:
    """Say why a corner does not stand, or stands unstably."""
    load, concerned = _load(inputs, name), _all_ports(name)
    top = trim.corner.settled(inputs["bump_travel"])
    bottom = trim.corner.settled(-inputs["rebound_travel"])
    unheld = np.isnan(trim.travel)
    answers.refuse(
        unheld & (top <= load), f"{name}: down on the solid bump stop under its load", *concerned
    )
    answers.refuse(
        unheld & (bottom >= load), f"{name}: up on the solid rebound stop over its load", *concerned
    )
    answers.refuse(
        trim.corner.springs.air & np.isnan(top),
        f"{name}: the air volume is used up within the bump travel",
        *concerned,
    )
    for end in (inputs["bump_travel"], -inputs["rebound_travel"]):
        turned = ~(trim.corner.ratio_at(end) > 0.0)
        answers.refuse(turned, "the motion ratio falls to zero within the travel", *concerned)
    loose = ~(trim.corner.wheel_rate(trim.travel) > 0.0)
    answers.refuse(loose, f"{name}: unstable, the wheel rate is not positive", *concerned)


def _stroke(inputs: Inputs, name: str, trim: Trim, answers: Answers) -> None:
    """Give the trim and the travel that is left."""
    travel = trim.travel
    if name != "design":
        answers.give(**{f"trim_{name}": travel})
    gap = inputs.get("bump_stop_gap", np.zeros_like(travel))
    answers.give(
        **{
            f"bump_left_{name}": inputs["bump_travel"] - travel,
            f"rebound_left_{name}": inputs["rebound_travel"] + travel,
            f"stop_gap_{name}": gap - travel,
        }
    )
    if "bump_stop_gap" not in inputs:
        answers.leave_out(f"stop_gap_{name}", where=True, reason="bump_stop_gap is not given")


def _rates(inputs: Inputs, name: str, trim: Trim, answers: Answers) -> None:
    """Give spring force, rates at the wheel and natural frequencies."""
    compression = trim.corner.compression(trim.travel)
    springs = trim.corner.springs
    wheel, tyre = trim.corner.wheel_rate(trim.travel), inputs["tyre_rate"]
    sprung = inputs[f"sprung_mass_{name}"]
    ride = wheel * tyre / (wheel + tyre)
    body, hop = modes(sprung, inputs["unsprung_mass"], wheel, tyre)
    answers.give(
        **{
            f"spring_force_{name}": springs.settled(compression),
            f"gauge_pressure_{name}": springs.pressure(compression) * _BAR,
            f"wheel_rate_{name}": wheel,
            f"ride_rate_{name}": ride,
            f"frequency_{name}": _hertz(ride * _MM / sprung),
            f"body_mode_{name}": body,
            f"hop_mode_{name}": hop,
        }
    )
    answers.leave_out(f"gauge_pressure_{name}", ~springs.air, "a coil spring has no pressure")


def _hertz(square: Reals) -> Reals:
    """Turn a squared angular frequency (1/s²) into a frequency."""
    hertz: Reals = np.sqrt(square) / (2.0 * np.pi)
    return hertz


def modes(sprung: Reals, unsprung: Reals, wheel: Reals, tyre: Reals) -> tuple[Reals, Reals]:
    """Natural frequencies of sprung and unsprung mass on wheel rate and tyre rate, undamped.

    Parameters
    ----------
    sprung, unsprung : ndarray, shape (n,)
        Kg.
    wheel, tyre : ndarray, shape (n,)
        N/mm.

    Returns
    -------
    body, hop : ndarray, shape (n,)
        Lower and upper one, Hz.
    """
    body, hop, lone = wheel / sprung, (wheel + tyre) / unsprung, tyre / unsprung
    half = 0.5 * (body + hop)
    # The difference of the two, squared: no digits are lost between near roots.
    upper = half + np.sqrt(0.25 * (hop - body) ** 2 + body * (wheel / unsprung))
    return _hertz(_MM * body * lone / upper), _hertz(_MM * upper)


def _damping(inputs: Inputs, name: str, trim: Trim, answers: Answers) -> None:
    port = f"damping_ratio_{name}"
    if "damping_rate" not in inputs:
        answers.give(**{port: np.zeros(1)})
        answers.leave_out(port, where=True, reason="damping_rate is not given")
        return
    ratio = inputs.get("damper_motion_ratio", trim.corner.ratio_at(trim.travel))
    wheel = trim.corner.wheel_rate(trim.travel) * _MM
    critical = 2.0 * np.sqrt(wheel * inputs[f"sprung_mass_{name}"])
    answers.give(**{port: inputs["damping_rate"] * ratio * ratio / critical})
