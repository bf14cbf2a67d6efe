"""Findings and stated values as a gate pack keeps them: rounded, with the revision behind them."""

from __future__ import annotations

from collections.abc import Iterable

from tracker.model.records import Decision, Quantity, Setting
from tracker.services.gates.deviating import Deviations
from tracker.services.packs.parts import PackFinding, PackGround, PackHistory, PackSetting
from tracker.services.packs.rounding import largest, rounded, rounded_value
from tracker.services.packs.trace import Trace
from tracker.services.present import finding_view
from tracker.services.session import Reading
from tracker.services.views import HistoryLine
from tracker.services.wording import margin_text, value_text, visible

__all__ = ["PackSource", "history_of"]


class PackSource:
    """What the parts of a pack are made from.

    Parameters
    ----------
    reading : Reading
        The programme at the revision that is frozen.
    trace : Trace
        Revisions behind its values.
    """

    def __init__(self, reading: Reading, trace: Trace) -> None:
        self.reading = reading
        self.trace = trace
        self.deviations = Deviations(reading)

    def finding(self, place: int) -> PackFinding:
        """Show one of the graph's judges."""
        judge = self.reading.engine.graph.judges[place]
        view, unit = finding_view(self.reading, place), judge.measure.unit
        against = largest((view.lower, view.upper))
        value = view.value
        if judge.slot in self.reading.engine.graph.writer:
            value = rounded_value(value, against)
        distance = None if view.distance is None else rounded(view.distance, against)
        margin = None if view.margin is None else rounded(view.margin, 1.0)
        return PackFinding(
            judge=view.judge,
            rule=view.rule,
            statement=view.statement,
            subject=view.subject,
            required=view.required,
            verdict=view.verdict,
            value=value,
            text=value_text(value, judge.measure.kind, unit),
            unit=view.unit,
            lower=view.lower,
            upper=view.upper,
            target=view.target,
            margin=margin,
            percent=None if margin is None else rounded(100 * margin, 100.0),
            distance=distance,
            margin_text=margin_text(distance, margin, unit),
            bound=view.bound,
            reason=view.reason,
            deviation=self.deviations.key_of(place),
            revision=self.trace.judged(place),
        )

    def staked(self, decision: Decision) -> tuple[PackFinding, ...]:
        """Show the findings a decision stands or falls with."""
        return tuple(map(self.finding, self.reading.engine.graph.stakes.get(decision.id, ())))

    def setting(self, quantity: Quantity, setting: Setting | None) -> PackSetting:
        """Show what an option states for a quantity."""
        held = setting or Setting(reason="this option does not state it")
        known = held.value is not None
        return PackSetting(
            quantity=quantity.key,
            value=held.value,
            text=value_text(held.value, quantity.kind, quantity.unit),
            unit=quantity.unit.text,
            basis=held.basis.kind.value if known else "",
            source=visible(held.basis.source),
            dated=held.basis.dated,
            reason=visible(held.reason),
        )

    def ground(self, quantity: Quantity, setting: Setting) -> PackGround:
        """Show a stated value something rests on."""
        return PackGround(
            quantity=quantity.key,
            title=visible(quantity.title),
            value=setting.value,
            text=value_text(setting.value, quantity.kind, quantity.unit),
            unit=quantity.unit.text,
            basis=setting.basis.kind.value,
            source=visible(setting.basis.source),
            dated=setting.basis.dated,
            revision=self.trace.value(quantity.id),
        )


def history_of(lines: Iterable[HistoryLine]) -> tuple[PackHistory, ...]:
    """Keep changes of the journal in a pack."""
    return tuple(
        PackHistory(
            revision=each.revision,
            at=each.at,
            author=each.author,
            reason=each.reason,
            what=each.what,
        )
        for each in lines
    )
