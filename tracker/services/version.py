"""The version of whybone: a constant, because asking the installation is slow."""

from __future__ import annotations

__all__ = ["VERSION"]

VERSION = "0.1.0"
