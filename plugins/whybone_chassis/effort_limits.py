"""Limits of the steering effort by vehicle class."""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["LIMITS", "REGULATION"]

REGULATION = "UN Regulation No. 79, 01 series, 6.2 (recalled from memory)"
"""Where the limits come from."""

LIMITS: Mapping[str, tuple[float, float]] = {
    "M1": (15.0, 30.0),
    "M2": (15.0, 30.0),
    "M3": (20.0, 45.0),
    "N1": (20.0, 30.0),
    "N2": (25.0, 40.0),
    "N3": (20.0, 45.0),
}
"""Vehicle class → largest rim force in daN, steering intact and assistance failed."""
