"""Link strength against worked examples of textbooks."""

from __future__ import annotations

from typing import Any

import pytest

from tracker.contract.kit import Subject
from whybone_chassis.link_strength import BUCKLING, CHECK

INCH, KIP, KSI = 25.4, 4_448.2216152605, 6.894757293168361  # mm, N, MPa


def found(**row: Any) -> dict[str, float]:  # noqa: ANN401  cells of a row
    filled = {"tension": 0.0, "density": 7_850.0, **row}
    subject = Subject(check=CHECK, rows=[filled])
    outputs = CHECK.compute(subject.batch([filled]), {})
    assert not outputs.problems
    return {port: float(values[0]) for port, values in outputs.values.items()}


def test_shigley_round_column() -> None:
    """Shigley, Mechanical Engineering Design, Example 4-17 (read).

    1.5 m, 22 kN with a design factor of 4, 500 MPa, 207 GPa: 37.48 mm; 40 mm has a slenderness of
    150, and Euler's formula holds above 90.4.
    """
    column = {
        "section": "round",
        "length": 1_500.0,
        "compression": 4 * 22_000.0,
        "yield_strength": 500.0,
        "youngs_modulus": 207.0,
    }
    values = found(**column, diameter=37.48)
    # Printed to 0.01 mm, and the force goes with the fourth power.
    assert values["buckling_use"] == pytest.approx(1.0, abs=4 * 0.005 / 37.48)
    chosen = found(**column, diameter=40.0)
    assert chosen["slenderness"] == pytest.approx(150.0, rel=1e-12)
    assert chosen["transition_slenderness"] == pytest.approx(90.4, abs=0.05)
    assert BUCKLING[int(chosen["buckling_by"])] == "Euler"


# Faires, Design of Machine Elements, problem 334 (worked solution read): a round rod under
# 10 kips with a factor of 3, E 30·10³ ksi; length in, yield ksi → diameter in, by which formula.
@pytest.mark.parametrize(
    ("length", "strength", "diameter", "by"),
    [
        (25.0, 48.0, 1.096, "Johnson"),
        (50.0, 48.0, 1.507, "Euler"),
        (25.0, 150.0, 1.0657, "Euler"),
    ],
)
def test_faires_round_rods(length: float, strength: float, diameter: float, by: str) -> None:
    values = found(
        section="round",
        diameter=diameter * INCH,
        length=length * INCH,
        compression=3 * 10 * KIP,
        yield_strength=strength * KSI,
        youngs_modulus=30 * KSI,
    )
    # The diameter is printed to four digits; the force goes with its second to fourth power.
    assert values["buckling_use"] == pytest.approx(1.0, abs=2e-3)
    assert BUCKLING[int(values["buckling_by"])] == by


def test_faires_transition_slenderness() -> None:
    """The same, part c: √(2π²·30·10³/150) = 62.83."""
    values = found(
        section="round",
        diameter=INCH,
        length=25 * INCH,
        compression=1.0,
        yield_strength=150 * KSI,
        youngs_modulus=30 * KSI,
    )
    assert values["transition_slenderness"] == pytest.approx(62.83, abs=0.005)


def test_pinned_tube_of_a_text_on_mechanics_of_materials() -> None:
    """Hibbeler, Mechanics of Materials, Example 13.1 (read; author recalled from memory).

    7.2 m, radii 75 and 70 mm, 200 GPa, yield 250 MPa: 228.2 kN, 100 MPa.
    """
    values = found(
        section="tube",
        diameter=150.0,
        wall=5.0,
        length=7_200.0,
        compression=228_200.0,
        yield_strength=250.0,
        youngs_modulus=200.0,
    )
    assert values["buckling_force"] == pytest.approx(228_200.0, abs=50.0)
    assert values["compression_stress"] == pytest.approx(100.0, abs=0.5)
