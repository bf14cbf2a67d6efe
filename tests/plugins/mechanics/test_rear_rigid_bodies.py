"""Rear joint, link and spring forces against a general rigid-body engine, MuJoCo.

The integral link is a body that hangs on the arm and is closed onto the knuckle by the engine's
own connection, as are arm and upper links; the rest is as for the front corner.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.plugins.mechanics.rear_samples import LAYOUTS, rear
from tests.plugins.mechanics.samples import loads_of
from tests.plugins.mechanics.test_rigid_bodies import _settle, _text
from whybone_chassis.mechanics.rear_linkage import RearPose, pose_rear
from whybone_chassis.mechanics.rear_statics import balance_rear
from whybone_chassis.mechanics.vectors import FloatArray

AGREEMENT = 1e-3

CASES: dict[str, dict[str, float]] = {
    "static": {"fz": 6130.0},
    "braking": {"fx": -3900.0, "fz": 4600.0},
    "cornering": {"fy": -7000.0, "fz": 8900.0},
}


def _body(name: str, origin: FloatArray, tip: FloatArray, joint: str, inside: str = "") -> str:
    """Body from its joint to its tip, placed in its parent's axes, metres."""
    return (
        f'<body name="{name}" pos="{_text(origin)}">{joint}'
        f'<inertial pos="{_text(0.5 * tip)}" mass="2" diaginertia="0.02 0.02 0.02"/>{inside}</body>'
    )


def _model(pose: RearPose) -> str:
    seats, corner = pose.linkage.seats, pose.linkage.corner
    assert seats is not None

    def at(name: str) -> FloatArray:
        source = pose if hasattr(pose, name) else corner
        point: FloatArray = getattr(source, name)[0] / 1000.0
        return point

    ball = '<joint type="ball" damping="20"/>'
    pivot, hub = at("lower_front_inner"), at("wheel_centre")
    hinge = f'<joint type="hinge" axis="{_text(at("lower_rear_inner") - pivot)}" damping="20"/>'
    link = _body(
        "integral",
        at("integral_on_arm") - pivot,
        at("integral_on_knuckle") - at("integral_on_arm"),
        ball,
    )
    site = f'<site name="lower_seat" pos="{_text(at("spring_lower") - pivot)}"/>'
    bodies = [_body("arm", pivot, at("lower_outer") - pivot, hinge, site + link)]
    joins = [("arm", "lower_outer"), ("integral", "integral_on_knuckle")]
    for side in ("front", "rear"):
        inner, outer = at(f"upper_{side}_inner"), at(f"upper_{side}_outer")
        bodies.append(_body(f"upper_{side}", inner, outer - inner, ball))
        joins.append((f"upper_{side}", f"upper_{side}_outer"))
    connects = "".join(
        f'<connect name="{body}" body1="knuckle" body2="{body}" anchor="{_text(at(point) - hub)}"/>'
        for body, point in joins
    )
    return f"""
    <mujoco><option timestep="0.0005" gravity="0 0 0" solver="Newton" iterations="100"
                    tolerance="1e-14" integrator="implicitfast"/>
      <default><equality solref="0.001 1" solimp="0.9999 0.9999 0.001"/></default>
      <worldbody><site name="upper_seat" pos="{_text(seats.upper[0] / 1000.0)}"/>
        {"".join(bodies)}
        <body name="knuckle" pos="{_text(hub)}"><freejoint/>
          <inertial pos="0 0 0" mass="20" diaginertia="0.5 0.5 0.5"/></body>
      </worldbody>
      <tendon><spatial name="spring"><site site="upper_seat"/><site site="lower_seat"/>
      </spatial></tendon>
      <equality>{connects}<tendon name="spring" tendon1="spring"/></equality>
    </mujoco>"""


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("layout", LAYOUTS)
def test_rear_forces_agree_with_a_rigid_body_engine(layout: str, case: str) -> None:
    travel = {"ahead": 0.0, "behind": 35.0, "raised": -30.0}[layout]
    pose = pose_rear(rear(LAYOUTS[layout]), np.array([travel]))
    loads = CASES[case]
    forces = balance_rear(pose, loads_of(1, **loads))
    push = np.array([loads.get(name, 0.0) for name in ("fx", "fy", "fz")])
    arm = (pose.contact_centre[0] - pose.wheel_centre[0]) / 1000.0
    engine = _settle(_model(pose), push, np.cross(arm, push))

    def axial(force: float, outer: FloatArray, inner: FloatArray) -> FloatArray:
        along: FloatArray = (inner - outer)[0]
        return force * along / np.linalg.norm(along)

    corner = pose.linkage.corner
    expected = {
        "arm": forces.lower_joint[0],
        "integral": axial(forces.integral[0], pose.integral_on_knuckle, pose.integral_on_arm),
        "upper_front": axial(
            forces.upper_front[0], pose.upper_front_outer, corner.upper_front_inner
        ),
        "upper_rear": axial(forces.upper_rear[0], pose.upper_rear_outer, corner.upper_rear_inner),
        "spring": np.array([forces.spring[0]]),
    }
    off = {
        name: float(np.linalg.norm(engine[name] - force) / np.linalg.norm(force))
        for name, force in expected.items()
    }
    print(f"{layout}, {case}: " + ", ".join(f"{n} {v:.1e}" for n, v in off.items()))
    assert max(off.values()) < AGREEMENT
