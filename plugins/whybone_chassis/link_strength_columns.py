"""Stress, buckling and mass of straight links."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers, Reals
from whybone_chassis.link_strength_sections import SECTIONS

__all__ = ["critical_stress", "strength", "transition"]

_MEGA, _GIGA, _MM = 1e6, 1e9, 1000.0
_POSITIVE = ("length", "yield_strength", "youngs_modulus", "density", "length_factor")


def transition(yield_strength: Reals, modulus: Reals) -> Reals:
    """Return the slenderness at which Euler's and Johnson's stress meet, at half the yield's.

    Parameters
    ----------
    yield_strength, modulus : ndarray
        Same unit.
    """
    slenderness: Reals = np.sqrt(2.0 * np.pi**2 * modulus / yield_strength)
    return slenderness


def critical_stress(slenderness: Reals, yield_strength: Reals, modulus: Reals) -> Reals:
    """Return the stress a straight column buckles at.

    Parameters
    ----------
    slenderness : ndarray
        Effective length over radius of gyration.
    yield_strength, modulus : ndarray
        Same unit, that of the result.

    Notes
    -----
    Euler's π²E/λ² above the transition, Johnson's parabola from the yield strength below it.
    """
    square = slenderness * slenderness
    euler = np.pi**2 * modulus / square
    johnson = yield_strength * (1.0 - yield_strength * square / (4.0 * np.pi**2 * modulus))
    return np.where(slenderness > transition(yield_strength, modulus), euler, johnson)


def strength(inputs: Inputs) -> Outputs:
    """Work out stress, buckling and mass of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `link-strength`.

    Returns
    -------
    Outputs
        One value per row and port; rows whose section has no size carry a problem.
    """
    answers = Answers(inputs)
    answers.require_positive(inputs, _POSITIVE)
    for port in ("tension", "compression"):
        answers.refuse(~(inputs[port] >= 0.0), f"{port} is a size and must not be negative")
    with np.errstate(all="ignore"):  # rows that divide by zero are named as problems
        area, moment = _section(inputs, answers)
        _stress(inputs, area, answers)
        _buckling(inputs, area, moment, answers)
        volume = area / _MM**2 * inputs["length"] / _MM
        answers.give(mass=volume * inputs["density"])
    return answers.outputs()


def _section(inputs: Inputs, answers: Answers) -> tuple[Reals, Reals]:
    """Return area and least second moment, mm² and mm⁴, of each row's kind of section."""
    area, moment = np.full(answers.rows, np.nan), np.full(answers.rows, np.nan)
    nothing = np.full(answers.rows, np.nan)
    for code, (kind, section) in enumerate(SECTIONS.items()):
        rows = inputs["section"] == code
        sizes = [inputs.get(port, nothing) for port in section.needs]
        for port, size in zip(section.needs, sizes, strict=True):
            lacking = port not in inputs
            reason = f"a {kind} section needs {port}" if lacking else f"{port} must be positive"
            answers.refuse(rows & ~(size > 0.0), reason)
        thick = section.thickest(*sizes) < inputs.get("wall", nothing)
        answers.refuse(rows & thick, f"the wall is thicker than the {kind} section allows")
        found = section.size(*sizes)
        area, moment = np.where(rows, found[0], area), np.where(rows, found[1], moment)
    answers.give(section_area=area, least_second_moment=moment)
    return area, moment


def _stress(inputs: Inputs, area: Reals, answers: Answers) -> None:
    pull, push = inputs["tension"] / area, inputs["compression"] / area  # N/mm² are MPa
    answers.give(
        tension_stress=pull,
        compression_stress=push,
        yield_use=np.maximum(pull, push) / inputs["yield_strength"],
    )


def _buckling(inputs: Inputs, area: Reals, moment: Reals, answers: Answers) -> None:
    limit, modulus = inputs["yield_strength"] * _MEGA, inputs["youngs_modulus"] * _GIGA
    slenderness = inputs["length_factor"] * inputs["length"] / np.sqrt(moment / area)
    least = transition(limit, modulus)
    force = critical_stress(slenderness, limit, modulus) / _MEGA * area
    answers.give(
        slenderness=slenderness,
        transition_slenderness=least,
        buckling_by=np.where(slenderness > least, 0, 1),
        buckling_force=force,
        buckling_use=inputs["compression"] / force,
    )
