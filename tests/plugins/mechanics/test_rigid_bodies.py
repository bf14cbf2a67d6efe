"""Joint and spring forces against a general rigid-body engine, MuJoCo.

Every link, arm and the knuckle is a body; loops close with the engine's own connections; the
spring is a cord held at its length. The bodies settle under the loads with damping, and the
connections' forces at rest are compared. Metres and newtons.
"""

from __future__ import annotations

from dataclasses import dataclass

import mujoco
import numpy as np
import pytest

from tests.plugins.mechanics.samples import loads_of, one_piece, split, split_rear
from whybone_chassis.mechanics.linkage import Pose, pose_at_travel
from whybone_chassis.mechanics.statics import Loads, balance
from whybone_chassis.mechanics.vectors import FloatArray

AGREEMENT = 1e-3
SETTLING_STEPS = 4000

CASES = {
    "static": {"fz": 5150.0},
    "braking": {"fx": -6257.0, "fz": 6953.0},
    "cornering": {"fy": -7004.0, "fz": 8240.0},
}
PLACES = [(0.0, 0.0), (45.0, 30.0), (-50.0, -40.0)]


def _text(values: FloatArray) -> str:
    return " ".join(repr(float(v)) for v in values)


def _normal_pair(line: FloatArray) -> tuple[FloatArray, FloatArray]:
    first = np.cross(line, np.eye(3)[np.argmin(np.abs(line))])
    first /= np.linalg.norm(first)
    return first, np.cross(line, first)


@dataclass(frozen=True)
class _Model:
    """Text of one corner's bodies, in metres, at its pose."""

    pose: Pose

    def _at(self, name: str) -> FloatArray:
        source = self.pose if hasattr(self.pose, name) else self.pose.linkage.corner
        point: FloatArray = getattr(source, name)[0] / 1000.0
        return point

    def _body(self, name: str, origin: FloatArray, joints: str, tip: FloatArray, extra: str) -> str:
        middle = 0.5 * (tip - origin)
        return (
            f'<body name="{name}" pos="{_text(origin)}">{joints}'
            f'<inertial pos="{_text(middle)}" mass="2" diaginertia="0.02 0.02 0.02"/>{extra}</body>'
        )

    def _arm(self, name: str, front: str, rear: str, outer: str, extra: str = "") -> str:
        start, end = self._at(front), self._at(rear)
        joint = f'<joint type="hinge" axis="{_text(end - start)}" damping="20"/>'
        return self._body(name, start, joint, self._at(outer), extra)

    def _rod(self, name: str, inner: str, outer: str) -> str:
        joint = '<joint type="ball" damping="20"/>'
        return self._body(name, self._at(inner), joint, self._at(outer), "")

    def _spring_link(self, side: str, extra: str) -> str:
        """Link that its bush lets turn about two lines, none of them between start and now."""
        corner = self.pose.linkage.corner
        inner, now = self._at(f"lower_{side}_inner"), self._at(f"lower_{side}_outer")
        start = getattr(corner, f"lower_{side}_outer")[0] / 1000.0 - inner
        middle = start / np.linalg.norm(start) + (now - inner) / np.linalg.norm(now - inner)
        joints = "".join(
            f'<joint type="hinge" axis="{_text(axis)}" damping="20"/>'
            for axis in _normal_pair(middle / np.linalg.norm(middle))
        )
        return self._body("carrier", inner, joints, now, extra)

    def text(self, one: bool, carrier: str) -> str:
        spring = self.pose.linkage.spring
        assert spring is not None
        other = "front" if carrier == "rear" else "rear"
        seat = self._at("spring_lower") - self._at(
            "lower_front_inner" if one else f"lower_{carrier}_inner"
        )
        site = f'<site name="lower_seat" pos="{_text(seat)}"/>'
        bodies, joins = self._parts(one, carrier, other, site)
        connects = "".join(
            f'<connect name="{body}" body1="knuckle" body2="{body}" '
            f'anchor="{_text(self._at(point) - self._at("wheel_centre"))}"/>'
            for body, point in joins
        )
        return f"""
        <mujoco><option timestep="0.0005" gravity="0 0 0" solver="Newton" iterations="100"
                        tolerance="1e-14" integrator="implicitfast"/>
          <default><equality solref="0.001 1" solimp="0.9999 0.9999 0.001"/></default>
          <worldbody><site name="upper_seat" pos="{_text(spring.upper[0] / 1000.0)}"/>
            {"".join(bodies)}</worldbody>
          <tendon><spatial name="spring"><site site="upper_seat"/><site site="lower_seat"/>
          </spatial></tendon>
          <equality>{connects}<tendon name="spring" tendon1="spring"/></equality>
        </mujoco>"""

    def _parts(
        self, one: bool, carrier: str, other: str, site: str
    ) -> tuple[list[str], list[tuple[str, str]]]:
        """Bodies, and which of them joins the knuckle at which point."""
        hub = self._at("wheel_centre")
        bodies = [
            self._arm("upper", "upper_front_inner", "upper_rear_inner", "upper_outer"),
            self._rod("tie", "tie_rod_inner", "tie_rod_outer"),
            f"""<body name="knuckle" pos="{_text(hub)}"><freejoint/>
                <inertial pos="0 0 0" mass="20" diaginertia="0.5 0.5 0.5"/></body>""",
        ]
        joins = [("upper", "upper_outer"), ("tie", "tie_rod_outer")]
        if one:
            bodies.append(
                self._arm(
                    "carrier", "lower_front_inner", "lower_rear_inner", "lower_front_outer", site
                )
            )
            joins.append(("carrier", "lower_front_outer"))
        else:
            bodies.append(self._spring_link(carrier, site))
            bodies.append(self._rod("other", f"lower_{other}_inner", f"lower_{other}_outer"))
            joins += [("carrier", f"lower_{carrier}_outer"), ("other", f"lower_{other}_outer")]
        return bodies, joins


def _settle(text: str, push: FloatArray, twist: FloatArray) -> dict[str, FloatArray]:
    """Forces of the connections on the knuckle and of the spring, at rest."""
    model = mujoco.MjModel.from_xml_string(text)
    data = mujoco.MjData(model)
    data.body("knuckle").xfrc_applied[:] = [*push, *twist]
    for _ in range(SETTLING_STEPS):
        mujoco.mj_step(model, data)
    mujoco.mj_forward(model, data)
    assert np.abs(data.qvel).max() < 1e-7
    found: dict[str, FloatArray] = {}
    for i in range(model.neq):
        name = model.equality(i).name
        rows = (data.efc_id == i) & (data.efc_type == mujoco.mjtConstraint.mjCNSTR_EQUALITY)
        found[name] = data.efc_force[rows].copy()
    return found


def _wheel_load(pose: Pose, loads: Loads) -> tuple[FloatArray, FloatArray]:
    """Force and moment at the wheel centre, written out once more."""
    force = np.array([loads.fx[0], loads.fy[0], loads.fz[0]])
    arm = (pose.contact_centre[0] - pose.wheel_centre[0]) / 1000.0
    return force, np.cross(arm, force)


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("kind", ["one-piece", "split", "split, spring on the rear link"])
def test_forces_agree_with_a_rigid_body_engine(
    kind: str, place: tuple[float, float], case: str
) -> None:
    linkage = {"one-piece": one_piece, "split": split}.get(kind, split_rear)()
    pose = pose_at_travel(linkage, np.array([place[0]]), np.array([place[1]]))
    loads = loads_of(1, **CASES[case])
    forces = balance(pose, loads)
    one = kind == "one-piece"
    model = _Model(pose).text(
        one, "front" if linkage.spring and not linkage.spring.on[0] else "rear"
    )
    engine = _settle(model, *_wheel_load(pose, loads))
    tie = (pose.tie_rod_inner - pose.tie_rod_outer)[0]
    expected = {
        "upper": forces.upper_joint[0],
        "carrier": forces.carrier_joint[0],
        "tie": forces.tie_rod[0] * tie / np.linalg.norm(tie),
        "spring": np.array([forces.spring[0]]),
    }
    if not one:
        expected["other"] = forces.lower_joint[0] - forces.carrier_joint[0]
    largest = max(float(np.linalg.norm(f)) for f in expected.values())
    off = {name: float(np.linalg.norm(engine[name] - f)) for name, f in expected.items()}
    print(
        f"{kind}, {place}, {case}: " + ", ".join(f"{n} {v / largest:.1e}" for n, v in off.items())
    )
    for name, force in expected.items():
        assert off[name] < AGREEMENT * float(np.linalg.norm(force))
