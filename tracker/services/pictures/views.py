"""Read models of pictures: figures with where the design stands on them and what it is held to."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.contract.figure import Figure

__all__ = ["BandView", "CornerView", "PictureView", "PicturesView", "PointView"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BandView:
    """A band on what an axis shows.

    Parameters
    ----------
    judge : str
        Key of the requirement, or `check.output` of a rule.
    axis : str
        `across` or `up`.
    lower, upper : float or None
        Bounds in the axis's unit.
    verdict : str
        What the present value is judged.
    """

    judge: str
    axis: str
    lower: float | None
    upper: float | None
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureView:
    """A figure of a check as it stands now.

    Parameters
    ----------
    check, title : str
        Key and title of the check that draws it.
    across, up : float or None
        Where the present design is on each axis; None where nothing tells.
    """

    check: str
    title: str
    figure: Figure
    across: float | None
    up: float | None
    bands: tuple[BandView, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PicturesView:
    """All curves and sketches that have to do with an item.

    Parameters
    ----------
    why_none : str
        Why there is none, where there is none.
    """

    revision: int
    key: str
    pictures: tuple[PictureView, ...]
    why_none: str
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PointView:
    """A point of the vehicle that a check takes in.

    Parameters
    ----------
    key, title : str
        The quantity.
    at : tuple of float
        Its coordinates in the sketch's unit.
    address : str
        What to set to move it; empty where it cannot be moved.
    own : tuple of float
        Its coordinates in its own unit, as the address takes them.
    unit : str
        That unit.
    scale : float
        One unit of the sketch in its own unit.
    why_not : str
        Why it cannot be moved.
    """

    key: str
    title: str
    at: tuple[float, float, float]
    address: str
    own: tuple[float, float, float]
    unit: str
    scale: float
    why_not: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerView:
    """A corner's points in its views, with curves that depend on them.

    Parameters
    ----------
    check, title : str
        The check that draws it; empty where none does.
    points : tuple of PointView
        Points it takes in.
    sketches : tuple of Figure
        Its views.
    followers : tuple of (key, title)
        Checks that take in one of the points and draw figures.
    curves : tuple of PictureView
        Curves of the followers asked for.
    why_none : str
        Why there is no sketch, where there is none.
    """

    revision: int
    check: str
    title: str
    points: tuple[PointView, ...]
    sketches: tuple[Figure, ...]
    followers: tuple[tuple[str, str], ...]
    curves: tuple[PictureView, ...]
    why_none: str
    caution: str
