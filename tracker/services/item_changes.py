"""What became of every item between two readings, worst first, each with the reasons behind it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from tracker.model.changes import Entry
from tracker.model.records import Decision, Quantity, Record, kind_of
from tracker.services.causes import Causes
from tracker.services.change_views import CONSEQUENCES, ItemChange
from tracker.services.comparing import decision_lines, finding_views
from tracker.services.packs.trace import Trace
from tracker.services.present import quantity_line
from tracker.services.session import Reading
from tracker.services.titles import title_of
from tracker.services.views import DecisionLine, FindingView, HistoryLine
from tracker.services.words import describe

__all__ = ["item_changes"]

_Told = Iterator[tuple[str, str]]
_MOST = 12  # changes named behind one item
_VERDICTS = ("met", "tight", "unknown", "missed")
_STANDINGS = ("", "stands", "strained", "unproven", "broken")
_KINDS = ("decision", "requirement", "check", "quantity")


def item_changes(old: Reading, new: Reading, trace: Trace) -> tuple[ItemChange, ...]:
    """Compare two readings of one programme, item by item.

    Parameters
    ----------
    old, new : Reading
        What it was and what it is; also the other way round.
    trace : Trace
        Of the one that is further on, kept since the other.
    """
    return tuple(sorted(_Comparer(old, new, trace).changes(), key=_severity))


def _severity(change: ItemChange) -> tuple[int, int]:
    kind = _KINDS.index(change.kind) if change.kind in _KINDS else len(_KINDS)
    return CONSEQUENCES.index(change.consequence), kind


class _Comparer:
    """Two readings side by side."""

    def __init__(self, old: Reading, new: Reading, trace: Trace) -> None:
        self._old, self._new, self._trace = old, new, trace
        self._since = min(old.head.revision, new.head.revision)
        self._lines = decision_lines(old), decision_lines(new)
        self._judged: dict[str, list[tuple[FindingView | None, FindingView]]] = {}
        before = finding_views(old)
        for (record_id, output), view in finding_views(new).items():
            self._judged.setdefault(record_id, []).append((before.get((record_id, output)), view))
        self._causes = Causes(new, lambda each: bool(trace.lines(each, self._since)))

    def changes(self) -> Iterator[ItemChange]:
        programmes = self._old.programme, self._new.programme
        for each in dict.fromkeys(record.id for held in programmes for record in held):
            entry = Entry(*(held.get(each) for held in programmes))
            stated, computed = list(self._stated(entry)), list(self._computed(entry))
            if stated or computed:
                yield self._change(entry.record, stated, computed)

    def _change(
        self, record: Record, stated: list[tuple[str, str]], computed: list[tuple[str, str]]
    ) -> ItemChange:
        told = [*stated, *computed]
        consequences = [consequence for consequence, _ in told]
        return ItemChange(
            key=record.key,
            kind=kind_of(record),
            title=title_of(record),
            what=tuple(words for _, words in told),
            consequence=min(consequences, key=CONSEQUENCES.index),
            reasons=self._reasons(record, computed=bool(computed)),
        )

    def _reasons(self, record: Record, *, computed: bool) -> tuple[HistoryLine, ...]:
        """Return its own changes and, where what is computed for it differs, those behind that."""
        ids = [record.id, *(self._causes.of(record) if computed else ())]
        told: dict[int, HistoryLine] = {}
        for line in (line for each in ids for line in self._trace.lines(each, self._since)):
            before = told.get(line.revision, replace(line, what=()))
            what = dict.fromkeys((*before.what, *line.what))
            told[line.revision] = replace(before, what=tuple(what))
        return tuple(told[each] for each in sorted(told)[-_MOST:])

    def _stated(self, entry: Entry) -> _Told:
        if entry.before == entry.after:
            return
        consequence = "new" if entry.before is None else "changed" if entry.after else "gone"
        names = self._new.programme, self._old.programme
        for words in describe(entry, lambda one: names[0].get(one) or names[1].get(one)):
            yield consequence, words

    def _computed(self, entry: Entry) -> _Told:
        match entry.after:
            case None:
                return
            case Decision():
                before, after = self._lines
                yield from _decision(before.get(entry.id), after[entry.id])
            case Quantity():
                yield from self._quantity(entry.before, entry.after)
            case _:
                for then, now in self._judged.get(entry.id, ()):
                    yield from _finding(then, now)

    def _quantity(self, before: Record | None, after: Quantity) -> _Told:
        if not isinstance(before, Quantity) or self._is_given(after):
            return
        old, new = quantity_line(self._old, before), quantity_line(self._new, after)
        if (old.text, old.unit) != (new.text, new.unit):
            was, now = (f"{each.text} {each.unit}".rstrip() for each in (old, new))
            yield "changed", f"{after.key}: {was} → {now} ({new.source})"

    def _is_given(self, quantity: Quantity) -> bool:
        return quantity_line(self._new, quantity).source == "given"


def _finding(before: FindingView | None, after: FindingView) -> _Told:
    if before is not None and _shown(before) == _shown(after):
        return
    was = "" if before is None else f" (was {before.verdict} at {_value(before)})"
    words = f"{after.judge} is {after.verdict}: {_value(after)} against {after.required}{was}"
    if before is None:
        if after.verdict != "met":
            yield after.verdict, words
    elif before.verdict != after.verdict:
        better = _VERDICTS.index(after.verdict) < _VERDICTS.index(before.verdict)
        yield "restored" if better and after.verdict == "met" else after.verdict, words
    elif not after.rule:  # what a rule judges is told as a quantity
        yield "changed", words


def _shown(view: FindingView) -> tuple[str, ...]:
    return view.verdict, view.text, view.unit, view.required


def _value(view: FindingView) -> str:
    return f"{view.text} {view.unit}".rstrip() if view.value is not None else "no value"


def _decision(before: DecisionLine | None, after: DecisionLine) -> _Told:
    held = before.standing if before else ""
    if held != after.standing and after.standing:
        worse = _STANDINGS.index(after.standing) > _STANDINGS.index(held)
        why = f": {after.why}" if after.why else ""
        was = f" (was {held})" if held else ""
        verb = "stands" if after.standing == "stands" else f"is {after.standing}"
        words = f"{after.key} {verb}{why}{was}"
        if worse and after.standing != "stands":
            yield after.standing, words
        else:
            yield "restored" if held else "changed", words
    shifted = before is not None and before.shifted
    if after.shifted and not shifted:
        yield "shifted", f"{after.key} wants another look: its ground has shifted"
    elif shifted and not after.shifted:
        yield "restored", f"{after.key} no longer shows a shift"
