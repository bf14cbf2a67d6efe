"""Link strength against a beam of finite elements and sections integrated numerically."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.linalg import eigh

from tracker.contract.check import Outputs
from tracker.contract.figure import Figure
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.link_strength import BUCKLING, CHECK
from whybone_chassis.link_strength_columns import critical_stress, transition
from whybone_chassis.link_strength_sections import SECTIONS

# Invented lower link, aluminium.
LINK: dict[str, Any] = {
    "tension": 9_000.0,
    "compression": 15_000.0,
    "length": 345.0,
    "section": "tube",
    "diameter": 28.0,
    "wall": 4.0,
    "width": 30.0,
    "height": 18.0,
    "profile_area": 320.0,
    "profile_second_moment": 9_000.0,
    "yield_strength": 240.0,
    "youngs_modulus": 70.0,
    "density": 2_700.0,
}


def answer(row: Row) -> Outputs:
    return CHECK.compute(Subject(check=CHECK, rows=[row]).batch([row]), {})


def run(**changes: object) -> dict[str, float]:
    outputs = answer({**LINK, **changes})
    assert not outputs.problems
    return {port: float(values[0]) for port, values in outputs.values.items()}


def beam_buckling(stiffness: float, length: float, count: int = 40) -> float:
    """Least buckling force of a beam on two pins, by cubic finite elements.

    Their error goes with the fourth power of the element: π⁴/(720·40⁴), 5e-8.
    """
    step = length / count
    bending = (
        stiffness
        / step**3
        * np.array(
            [
                [12, 6 * step, -12, 6 * step],
                [6 * step, 4 * step**2, -6 * step, 2 * step**2],
                [-12, -6 * step, 12, -6 * step],
                [6 * step, 2 * step**2, -6 * step, 4 * step**2],
            ]
        )
    )
    pushing = np.array(
        [
            [36, 3 * step, -36, 3 * step],
            [3 * step, 4 * step**2, -3 * step, -(step**2)],
            [-36, -3 * step, 36, -3 * step],
            [3 * step, -(step**2), -3 * step, 4 * step**2],
        ]
    ) / (30 * step)
    whole, geometric = np.zeros((2, 2 * count + 2, 2 * count + 2))
    for each in range(count):
        at = slice(2 * each, 2 * each + 4)
        whole[at, at] += bending
        geometric[at, at] += pushing
    free = [each for each in range(2 * count + 2) if each not in {0, 2 * count}]
    pick = np.ix_(free, free)
    # K v = P G v; G is positive definite on the free degrees, so turn it round for the solver.
    return float(1.0 / eigh(geometric[pick], whole[pick], eigvals_only=True)[-1])


@pytest.mark.parametrize("length", [900.0, 1_500.0])
@pytest.mark.parametrize("section", SECTIONS)
def test_long_links_buckle_like_a_beam_of_finite_elements(section: str, length: float) -> None:
    found = run(section=section, length=length)
    assert BUCKLING[int(found["buckling_by"])] == "Euler"
    stiffness = 70e3 * found["least_second_moment"]  # N·mm²
    assert found["buckling_force"] == pytest.approx(beam_buckling(stiffness, length), rel=1e-7)


def strips(outer: float, inner: float, half: float, *, round_section: bool) -> tuple[float, float]:
    """Area and second moment about the middle, by strips parallel to the axis."""

    def breadth(at: float, edge: float, size: float) -> float:
        if abs(at) >= edge:
            return 0.0
        return 2 * math.sqrt(edge**2 - at**2) if round_section else 2 * size

    def solid(edge: float, size: float) -> tuple[float, float]:
        area, _ = quad(lambda at: breadth(at, edge, size), -edge, edge, epsabs=1e-12)
        moment, _ = quad(lambda at: at**2 * breadth(at, edge, size), -edge, edge, epsabs=1e-9)
        return area, moment

    area, moment = solid(outer, half)
    if inner <= 0:
        return area, moment
    hole, hole_moment = solid(inner, half - (outer - inner))
    return area - hole, moment - hole_moment


@pytest.mark.parametrize(
    ("section", "outer", "inner", "half"),
    [
        ("round", 14.0, 0.0, 14.0),
        ("tube", 14.0, 10.0, 14.0),
        ("rectangle", 9.0, 0.0, 15.0),
        ("box", 9.0, 5.0, 15.0),
    ],
)
def test_sections_are_those_integrated_in_strips(
    section: str, outer: float, inner: float, half: float
) -> None:
    found = run(section=section)
    round_section = section in {"round", "tube"}
    area, moment = strips(outer, inner, half, round_section=round_section)
    assert found["section_area"] == pytest.approx(area, rel=1e-9)
    assert found["least_second_moment"] == pytest.approx(moment, rel=1e-9)


def test_section_lies_whichever_way_it_is_given() -> None:
    for section in ("rectangle", "box"):
        one = run(section=section)
        other = run(section=section, width=LINK["height"], height=LINK["width"])
        assert other == one


def test_walls_as_thick_as_can_be_make_solid_sections() -> None:
    tube, solid = run(wall=14.0), run(section="round")
    box, full = run(section="box", wall=9.0), run(section="rectangle")
    for hollow, massive in ((tube, solid), (box, full)):
        for port in ("section_area", "least_second_moment", "buckling_force", "mass"):
            assert hollow[port] == pytest.approx(massive[port], rel=1e-14)


def test_euler_and_johnson_meet_with_the_same_slope_at_half_the_yield_strength() -> None:
    limit, modulus = np.array([240.0]), np.array([70e3])
    at = transition(limit, modulus)
    assert critical_stress(at, limit, modulus)[0] == pytest.approx(120.0, rel=1e-12)
    step = 1e-4
    below, here, above = (
        float(critical_stress(at + each * step, limit, modulus)[0]) for each in (-1, 0, 1)
    )
    assert (above - here) / step == pytest.approx((here - below) / step, rel=1e-5)


def test_a_link_of_hardly_any_length_yields_and_does_not_buckle() -> None:
    found = run(length=1e-6)
    assert found["buckling_force"] == pytest.approx(240.0 * found["section_area"], rel=1e-12)
    assert found["buckling_use"] == pytest.approx(found["compression_stress"] / 240.0, rel=1e-12)


def test_stresses_and_mass_are_plain() -> None:
    found = run()
    area = math.pi / 4 * (28**2 - 20**2)
    assert found["tension_stress"] == pytest.approx(9_000 / area, rel=1e-14)
    assert found["compression_stress"] == pytest.approx(15_000 / area, rel=1e-14)
    assert found["yield_use"] == pytest.approx(15_000 / area / 240, rel=1e-14)
    assert run(tension=20_000.0)["yield_use"] == pytest.approx(20_000 / area / 240, rel=1e-14)
    assert found["mass"] == pytest.approx(area * 345 * 2.7e-6, rel=1e-14)


def test_ends_that_hold_carry_more() -> None:
    free = run(length=1_500.0)["buckling_force"]
    held = run(length=1_500.0, length_factor=0.7)["buckling_force"]
    assert held == pytest.approx(free / 0.49, rel=1e-12)


def test_unloaded_link_uses_nothing() -> None:
    found = run(tension=0.0, compression=0.0)
    assert found["yield_use"] == found["buckling_use"] == 0.0


def test_section_without_its_sizes_is_told() -> None:
    bare = {
        key: value
        for key, value in LINK.items()
        if key not in {"diameter", "wall", "width", "height"} and not key.startswith("profile")
    }
    for section, kind in SECTIONS.items():
        reasons = [each.reason for each in answer({**bare, "section": section}).problems]
        assert reasons[: len(kind.needs)] == [
            f"a {section} section needs {port}" for port in kind.needs
        ]


def test_sizes_of_other_sections_do_no_harm() -> None:
    assert run(section="round", wall=99.0, width=0.0)["mass"] > 0.0


def drawn(**changes: object) -> tuple[Figure, ...]:
    row = {**LINK, **changes}
    return tuple(CHECK.figures(Subject(check=CHECK, rows=[row]).batch([row]), {}))


def test_curve_starts_at_the_yield_strength_and_shows_the_link() -> None:
    (figure,) = drawn()
    curve, link = figure.series
    assert curve.y[0] == pytest.approx(240.0)
    assert list(curve.y) == sorted(curve.y, reverse=True)
    assert link.y[1] == pytest.approx(run()["compression_stress"])
    assert drawn(length=0.0) == ()


def draw(generator: np.random.Generator) -> Row:
    row = {
        key: value * float(generator.uniform(0.8, 1.2))
        for key, value in LINK.items()
        if key != "section"
    }
    return {
        **row,
        "length": float(generator.uniform(50.0, 1_500.0)),
        "section": str(generator.choice(list(SECTIONS))),
        "length_factor": float(generator.uniform(0.5, 1.0)),
        "tension": row["compression"] * float(generator.uniform(0.5, 1.5)),
    }


@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str) -> None:
    kept = {"m": 1.0, "mm": 1.0}
    subject = Subject(
        check=CHECK,
        rows=draw,
        degenerate=[
            *({key: 0.0} for key in ("length", "yield_strength", "youngs_modulus", "density")),
            {"tension": -1.0},
            {"compression": -1.0},
            {"section": "tube", "wall": 0.0},
            {"section": "tube", "wall": 20.0},
            {"section": "box", "wall": 12.0},
            {"section": "rectangle", "width": -1.0},
            {"length": 1e200},
        ],
        scalings=[
            {**kept, "N": 3.0, "MPa": 3.0, "GPa": 3.0, "kg": 3.0},
            {"m": 2.0, "mm": 2.0, "N": 4.0, "MPa": 1.0, "GPa": 1.0, "kg": 5.0},
        ],
    )
    PROMISES[promise](subject)
