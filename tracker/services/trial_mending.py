"""What would mend the decisions that a trial breaks, with what is tried left as it is."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from tracker.evaluate.engine import Cancel
from tracker.model.address import parse_address
from tracker.model.changes import Entry
from tracker.model.records import Quantity
from tracker.services.intake import Document
from tracker.services.mending import mend
from tracker.services.mending_views import MendedView, MendView
from tracker.services.ripple import ripple_view
from tracker.services.session import Reading
from tracker.services.trying import trial_entries
from tracker.services.wording import CAUTION

__all__ = ["mend_trial"]

Progress = Callable[[str], None]


def mend_trial(
    reading: Reading,
    edits: Mapping[str, object],
    documents: Sequence[Document] = (),
    *,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> MendView:
    """Return the smallest further edits that make what a trial newly breaks stand, each for itself.

    Parameters
    ----------
    edits : mapping of str to object
        Address → value as typed; decision → option. None of these is moved.
    documents : sequence of Document
        New items of the trial.
    cancel : callable, optional
        Asked between checks.
    progress : callable, optional
        Told in words how far it got.

    Raises
    ------
    InputError
        The trial does not hold.
    CancelledError
        `cancel` asked to stop.
    """
    entries = trial_entries(reading, edits, documents)
    with reading.trying(entries, cancel) as report:
        broken = ripple_view(reading, report, entries).broken
        with reading.engine.trial(_held(reading, edits), cancel):
            found = [
                each
                for key in broken
                for each in mend(reading, key, cancel=cancel, progress=progress).decisions
            ]
    return MendView(
        revision=reading.head.revision,
        decisions=tuple(_without(each, edits) for each in found),
        caution=CAUTION,
    )


def _held(reading: Reading, edits: Mapping[str, object]) -> tuple[Entry, ...]:
    """Take away the ranges of the quantities tried, so that nothing moves them."""
    quantities = (reading.programme.find(parse_address(each).key) for each in edits)
    ranged = {
        each.id: each
        for each in quantities
        if isinstance(each, Quantity)
        and ((each.low, each.high) != (None, None) or each.part_ranges)
    }
    return tuple(
        Entry(each, replace(each, low=None, high=None, part_ranges={})) for each in ranged.values()
    )


def _without(found: MendedView, edits: Mapping[str, object]) -> MendedView:
    """Leave out what would lean to another option than the one tried."""
    kept = tuple(each for each in found.proposals if not edits.keys() & each.leans.keys())
    return replace(found, proposals=kept, mended=bool(kept))
