"""The version `whybone --version` prints."""

from __future__ import annotations

from tracker.services.version import VERSION

__all__ = ["VERSION"]
