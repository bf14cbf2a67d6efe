"""Headroom as a gate pack tells it: when a decision has to be reopened."""

from __future__ import annotations

from collections.abc import Callable

from tracker.evaluate.engine import Cancel
from tracker.explore.headroom import Allowed, Headroom, Stretch
from tracker.explore.headroom import headroom as find_headroom
from tracker.explore.sources import Source, adjustables, bounds, pickables
from tracker.services.packs.parts import PackHeadroom
from tracker.services.packs.rounding import END_DIGITS, largest, rounded
from tracker.services.present import address_text
from tracker.services.session import Reading
from tracker.services.wording import value_text, value_with_unit, with_unit

__all__ = ["headroom_by_decision"]

Progress = Callable[[str], None]
_TOGETHER = 256  # lines looked along at a time: what was seen on them is kept until they end


def headroom_by_decision(
    reading: Reading, cancel: Cancel | None, progress: Progress | None
) -> dict[str, tuple[PackHeadroom, ...]]:
    """Find, for every decision that stands, the values at which it stops standing.

    Values that do not break it anywhere they may go are left out.

    Returns
    -------
    dict
        Decision id → what would have it reopened.

    Raises
    ------
    CancelledError
        `cancel` asked to stop.
    """
    engine = reading.engine
    sources = [*adjustables(engine), *pickables(engine), *bounds(engine)]
    told: dict[str, list[PackHeadroom]] = {}
    for first in range(0, len(sources), _TOGETHER):
        if progress is not None:
            progress(f"headroom {first} of {len(sources)}")
        found = find_headroom(engine, sources[first : first + _TOGETHER], cancel=cancel)
        for source, stretch in ((each, one) for each in found for one in each.decisions):
            if stretch.low.breaks or stretch.high.breaks:
                line = _told(reading, source, stretch)
                told.setdefault(stretch.decision, []).append(line)
        for picked, allowed in ((each, one) for each in found for one in each.allowed):
            told.setdefault(allowed.decision, []).append(_picked(reading, picked.source, allowed))
    return {each: tuple(lines) for each, lines in told.items()}


def _told(reading: Reading, found: Headroom, stretch: Stretch) -> PackHeadroom:
    source = found.source
    size = largest((stretch.low.at, stretch.high.at, source.number))
    low, high = (
        None if end.at is None or not end.breaks else rounded(end.at, size, END_DIGITS)
        for end in (stretch.low, stretch.high)
    )
    gap = None if stretch.certified else found.resolution
    resolution = None if gap is None else rounded(gap, digits=3)
    subject = address_text(reading, source.id, source.part)
    return PackHeadroom(
        subject=subject,
        value=source.value,
        text=value_text(source.value, source.kind, source.unit),
        unit=source.unit.text,
        low=low,
        high=high,
        low_breaks=low is not None,
        high_breaks=high is not None,
        certified=stretch.certified,
        resolution=resolution,
        words=_words(subject, source, low, high, resolution),
        revision=reading.head.revision,  # how far is looked depends on all that stands
    )


def _picked(reading: Reading, source: Source, allowed: Allowed) -> PackHeadroom:
    """Tell which values of a choice or flag a decision does not stand with; all were tried."""
    subject = address_text(reading, source.id, source.part)
    now = value_text(source.value, source.kind, source.unit)
    lost = tuple(value_text(each, source.kind, source.unit) for each in allowed.lost)
    return PackHeadroom(
        subject=subject,
        value=source.value,
        text=now,
        unit=source.unit.text,
        low=None,
        high=None,
        low_breaks=False,
        high_breaks=False,
        certified=True,
        resolution=None,
        words=f"Reopen if {subject} becomes {' or '.join(lost)} (now {now}; proven).",
        revision=reading.head.revision,
        lost=lost,
    )


def _words(
    subject: str, source: Source, low: float | None, high: float | None, gap: float | None
) -> str:
    below = None if low is None else f"falls below {with_unit(low, source.unit)}"
    above = None if high is None else f"exceeds {with_unit(high, source.unit)}"
    ends = " or ".join(filter(None, (below, above)))
    now = value_with_unit(source.value, source.kind, source.unit)
    proof = "proven" if gap is None else f"sampled every {with_unit(gap, source.unit)}"
    return f"Reopen if {subject} {ends} (now {now}; {proof})."
