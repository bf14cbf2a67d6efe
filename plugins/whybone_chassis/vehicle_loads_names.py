"""Trims, axles and load cases of the vehicle loads."""

from __future__ import annotations

__all__ = ["AXLES", "CASES", "TRIMS"]

TRIMS = ("kerb", "design", "laden")
"""Trims in the order of mass."""

AXLES = ("front", "rear")
"""Axles, from the front."""

CASES = {
    "static": ("standing level", "fz"),
    "braking": ("braking straight ahead at `braking`", "fx", "fz"),
    "cornering": ("outer wheel of a turn at `cornering`", "fy", "fz"),
    "bump": ("`bump_factor` times the static load", "fz"),
    "step": ("rolling against a step of `step_height`, force through the wheel centre", "fx", "fz"),
    "kerb": ("sliding against a kerb at `kerb_strike`, the other wheel just lifting", "fy", "fz"),
    "drive": ("driving away at `acceleration`", "fx", "fz"),
}
"""Load case → what it is, and the force components that are not zero."""
