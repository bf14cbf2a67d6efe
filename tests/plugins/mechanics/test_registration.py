"""Registration and screw against scipy's rotations, which share no code with them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from whybone_chassis.mechanics.registration import Motion, register, screw_of


def motion_of(rotation: Rotation, shift: np.ndarray) -> Motion:
    return Motion(rotation.as_matrix()[None], shift[None])


@pytest.mark.parametrize("seed", range(20))
def test_best_rotation_is_that_of_scipy(seed: int) -> None:
    generator = np.random.default_rng(seed)
    count = int(generator.integers(3, 9))
    source, target = generator.uniform(-100, 100, (2, count, 3))
    wanted, rssd = Rotation.align_vectors(
        target - target.mean(axis=0), source - source.mean(axis=0)
    )
    motion = register(source[None], target[None])
    assert motion.rotation[0] == pytest.approx(wanted.as_matrix(), abs=1e-10)
    gaps = motion.points(source[None])[0] - target
    assert np.sqrt((gaps**2).sum()) == pytest.approx(rssd, rel=1e-10)


@pytest.mark.parametrize("seed", range(10))
def test_motion_is_found_again(seed: int) -> None:
    generator = np.random.default_rng(seed)
    source = generator.uniform(-300, 300, (1, 5, 3))
    directions = generator.normal(size=(1, 4, 3))
    rotation = Rotation.random(rng=generator)
    shift = generator.uniform(-900, 900, 3)
    target = rotation.apply(source[0])[None] + shift
    turned = rotation.apply(directions[0])[None]
    found = register(source, target, directions, turned)
    assert found.rotation[0] == pytest.approx(rotation.as_matrix(), abs=1e-13)
    assert found.translation[0] == pytest.approx(shift, abs=1e-10)


def test_directions_settle_what_points_on_a_line_leave_open() -> None:
    line = np.array([[[0.0, 0.0, 0.0], [0.0, 100.0, 0.0]]])
    ahead, up = np.array([[[50.0, 0.0, 0.0]]]), np.array([[[0.0, 0.0, 50.0]]])
    found = register(line, line, ahead, up)
    wanted = Rotation.from_euler("y", -90, degrees=True).as_matrix()
    assert found.rotation[0] == pytest.approx(wanted, abs=1e-14)


def test_mirror_image_is_met_by_a_rotation_only() -> None:
    generator = np.random.default_rng(3)
    source = generator.uniform(-1, 1, (50, 6, 3))
    motion = register(source, source * np.array([1.0, -1.0, 1.0]))
    assert np.linalg.det(motion.rotation) == pytest.approx(np.ones(50), abs=1e-12)


@pytest.mark.parametrize("angle", [1e-3, 0.3, 1.5, 3.0, math.pi - 1e-7, math.pi])
def test_screw_is_that_of_the_rotation_vector(angle: float) -> None:
    generator = np.random.default_rng(5)
    for _ in range(20):
        axis = generator.normal(size=3)
        axis /= np.linalg.norm(axis)
        point, slide = generator.uniform(-100, 100, 3), float(generator.uniform(-50, 50))
        rotation = Rotation.from_rotvec(axis * angle)
        screw = screw_of(motion_of(rotation, point - rotation.apply(point) + slide * axis))
        assert screw.angle[0] == pytest.approx(angle, abs=1e-9)
        along = float(screw.axis[0] @ axis)
        assert abs(along) == pytest.approx(1.0, abs=1e-12)
        if angle < 3.1:  # at a half turn both ends of the axis are right
            assert along > 0
        assert screw.slide[0] == pytest.approx(math.copysign(1, along) * slide, abs=1e-6)
        off = np.cross(screw.point[0] - point, axis)
        assert np.linalg.norm(off) < 1e-4
        assert abs(screw.point[0] @ axis) < 1e-4  # the point nearest to the origin


def test_pure_shift_has_no_axis() -> None:
    screw = screw_of(motion_of(Rotation.identity(), np.array([3.0, 0.0, 4.0])))
    assert screw.angle[0] == 0.0
    assert np.isnan(screw.axis).all()
    assert np.isnan(screw.point).all()
    assert screw.slide[0] == pytest.approx(5.0)


def test_half_turns_have_their_axis_forward() -> None:
    for place, axis in enumerate(np.eye(3)):
        screw = screw_of(motion_of(Rotation.from_rotvec(axis * math.pi), np.zeros(3)))
        assert screw.axis[0, place] == pytest.approx(1.0)


def test_rows_do_not_depend_on_each_other() -> None:
    generator = np.random.default_rng(6)
    source, target = generator.uniform(-1, 1, (2, 40, 4, 3))
    whole = register(source, target)
    screws = screw_of(whole)
    for row in range(40):
        alone = register(source[row : row + 1], target[row : row + 1])
        assert alone.rotation[0].tobytes() == whole.rotation[row].tobytes()
        assert screw_of(alone).axis[0].tobytes() == screws.axis[row].tobytes()
