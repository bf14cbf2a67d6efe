"""Three views of a corner agree with each other and with the points they are drawn from."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from tests.plugins.corner_rows import ONE_PIECE_ROW, SPLIT_ROW, answer, values, without
from tracker.contract.figure import Figure, FigureKind, Series
from tracker.contract.kit import Row, Subject
from whybone_chassis.steering_axis import CHECK

DISC: dict[str, Any] = {"disc_diameter": 302.0, "disc_offset": -61.0, "wheel_offset": 42.0}
MOVED: dict[str, Any] = {"trim": 35.0, "rack": 20.0}
LINKS = {
    "Upper arm, front": ("upper_front_inner", "upper_outer"),
    "Upper arm, rear": ("upper_rear_inner", "upper_outer"),
    "Lower front link": ("lower_front_inner", "lower_front_outer"),
    "Lower rear link": ("lower_rear_inner", "lower_rear_outer"),
    "Tie rod": ("tie_rod_inner", "tie_rod_outer"),
}


def views(row: Row) -> dict[str, dict[str, Series]]:
    figures = CHECK.figures(Subject(check=CHECK, rows=[row]).batch([row]), {})
    return {each.key: _lines(each) for each in figures if each.key.startswith("corner-")}


def _lines(figure: Figure) -> dict[str, Series]:
    assert figure.kind is FigureKind.SKETCH
    return {series.title: series for series in figure.series}


def in_space(drawn: dict[str, dict[str, Series]], title: str) -> npt.NDArray[np.float64]:
    """Put a line together from its side view (X, Z) and its front view (Y, Z)."""
    front, side, above = (drawn[f"corner-{key}"][title] for key in ("front", "side", "above"))
    assert front.y == side.y
    assert above.y == side.x
    assert above.x == tuple(-y for y in front.x)
    return np.stack([side.x, front.x, side.y], axis=1)


@pytest.mark.parametrize("row", [SPLIT_ROW, ONE_PIECE_ROW])
def test_links_keep_their_lengths_wherever_the_wheel_stands(row: dict[str, Any]) -> None:
    drawn = views(row | MOVED)
    for title, (inner, outer) in LINKS.items():
        ends = in_space(drawn, title)
        length = np.linalg.norm(np.subtract(row[outer], row[inner]))
        assert np.linalg.norm(ends[1] - ends[0]) == pytest.approx(length, abs=1e-9)


def test_design_points_stand_where_they_were_given() -> None:
    drawn = views(SPLIT_ROW)
    for title, (inner, outer) in LINKS.items():
        given = np.stack([SPLIT_ROW[inner], SPLIT_ROW[outer]])
        assert in_space(drawn, title) == pytest.approx(given, abs=1e-9)
    assert in_space(drawn, "Spring")[0] == pytest.approx(SPLIT_ROW["spring_lower"], abs=1e-9)


def test_the_joint_on_the_axis_is_the_virtual_one() -> None:
    ends = in_space(views(SPLIT_ROW | MOVED), "Steering axis")
    assert ends[1] == pytest.approx(values(CHECK, SPLIT_ROW | MOVED)["virtual_lower"], abs=1e-9)


@pytest.mark.parametrize(
    ("title", "radius", "offset"),
    [("Wheel", SPLIT_ROW["loaded_radius"], 0.0), ("Disc", 151.0, -19.0)],
)
def test_wheel_and_disc_are_circles_square_to_the_spin_axis(
    title: str, radius: float, offset: float
) -> None:
    row = SPLIT_ROW | DISC
    drawn = views(row)
    assert drawn["corner-side"][title].closed
    toe, camber = np.radians([row["static_toe"], row["static_camber"]])
    spin = np.array(
        [np.sin(toe) * np.cos(camber), np.cos(toe) * np.cos(camber), -np.sin(camber)]
    )  # ISO 8855 signs: toe-in and camber positive
    arms = in_space(drawn, title) - row["wheel_centre"] - offset * spin
    assert np.linalg.norm(arms, axis=1) == pytest.approx(radius, abs=1e-9)
    assert arms @ spin == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("port", DISC)
def test_without_its_place_there_is_no_disc(port: str) -> None:
    assert "Disc" not in views(without(SPLIT_ROW | DISC, port))["corner-front"]


def test_the_disc_moves_no_answer() -> None:
    bare, fitted = answer(CHECK, SPLIT_ROW), answer(CHECK, SPLIT_ROW | DISC)
    for key, value in bare.values.items():
        assert np.array_equal(value, fitted.values[key], equal_nan=True)


def test_a_corner_without_its_spring_shows_none() -> None:
    assert "Spring" not in views(without(ONE_PIECE_ROW, "spring"))["corner-front"]
