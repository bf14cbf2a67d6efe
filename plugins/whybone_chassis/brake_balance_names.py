"""Choices of the brake balance."""

from __future__ import annotations

__all__ = ["AXLES", "LAWS", "ORDERS", "TRIMS"]

TRIMS = ("laden", "unladen")
"""Trims the regulations look at."""

AXLES = ("front", "rear")
"""Axles, from the front."""

LAWS = ("fixed", "valve", "follows-load")
"""How pressure is shared between the axles."""

ORDERS = ("front", "rear", "together")
"""Which axle locks first."""
