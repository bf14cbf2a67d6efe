"""Writing a decision history in any format, of a part of the programme and of its past."""

from __future__ import annotations

from tracker.errors import FileFormatError
from tracker.report.history.content import history_of
from tracker.report.history.graph import graph
from tracker.report.history.provenance import provenance
from tracker.report.history.render import WRITERS
from tracker.report.history.scope import area_of, item_scope, period_of, whole
from tracker.services.session import Reading, past

__all__ = ["HISTORY_FORMATS", "exported_history"]

HISTORY_FORMATS = (*WRITERS, "prov.json", "graphml")
"""Formats, which are how their files end too."""


def exported_history(
    reading: Reading, form: str, *, item: str = "", area: str = "", first: str = "", last: str = ""
) -> tuple[Reading, bytes]:
    """Return a decision history and the reading it was made from.

    Parameters
    ----------
    form : str
        One of `HISTORY_FORMATS`.
    item : str, optional
        Only this item.
    area : str, optional
        Only this item and all that is up- and downstream of it.
    first, last : str, optional
        Only changes from then on; as it was then. A revision, a date, a baseline or a gate.

    Raises
    ------
    InputError
        Nothing is called that, or both an item and an area are named.
    """
    if item and area:
        raise FileFormatError(
            "one item and an area cannot both be meant", field="--area", remedy="Say one of them"
        )
    period = period_of(reading, first, last)
    then = reading if period.last == reading.head.revision else past(reading, period.last)
    scope = whole()
    if item or area:
        scope = area_of(then.programme, area) if area else item_scope(then.programme, item)
    if form in WRITERS:
        return then, WRITERS[form](history_of(then, scope, period))
    return then, provenance(then, scope, period) if form == "prov.json" else graph(then, scope)
