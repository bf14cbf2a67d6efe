"""What any posed wheel tells about itself, front or rear."""

from __future__ import annotations

from typing import Protocol

from whybone_chassis.mechanics.corner import camber_of, toe_of
from whybone_chassis.mechanics.status import REASONS, Status
from whybone_chassis.mechanics.vectors import FloatArray, IntArray

__all__ = ["WheelPose"]


class _Corner(Protocol):
    @property
    def wheel_centre(self) -> FloatArray: ...

    @property
    def loaded_radius(self) -> FloatArray: ...


class _Linkage(Protocol):
    @property
    def corner(self) -> _Corner: ...


class _Posed(Protocol):
    @property
    def linkage(self) -> _Linkage: ...

    @property
    def status(self) -> IntArray: ...

    @property
    def wheel_centre(self) -> FloatArray: ...

    @property
    def spin_axis(self) -> FloatArray: ...


class WheelPose:
    """Angles and travel of a wheel, from fields that its poses have."""

    __slots__ = ()

    @property
    def loaded_radius(self: _Posed) -> FloatArray:
        """Loaded radius (n,) in mm."""
        return self.linkage.corner.loaded_radius

    @property
    def toe(self: _Posed) -> FloatArray:
        """Toe (n,) in degrees."""
        return toe_of(self.spin_axis)

    @property
    def camber(self: _Posed) -> FloatArray:
        """Camber (n,) in degrees."""
        return camber_of(self.spin_axis)

    @property
    def travel(self: _Posed) -> FloatArray:
        """Wheel travel (n,) in mm, jounce positive."""
        travel: FloatArray = self.wheel_centre[:, 2] - self.linkage.corner.wheel_centre[:, 2]
        return travel

    def reasons(self: _Posed) -> list[str]:
        """Why each row has no pose; empty where it has one."""
        return [REASONS[Status(code)] for code in self.status]
