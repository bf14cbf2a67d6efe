"""One source per quantity: given, owned by one decision, or computed by one check.

A withdrawn decision keeps what it owned from being given, and lets another decision or a check take
it over.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tracker.errors import SourceError
from tracker.model.programme import Programme
from tracker.model.records import CheckUse, Decision, DecisionState, Quantity

__all__ = ["check_sources"]


def check_sources(programme: Programme, touched: Iterable[str]) -> None:
    """Refuse a quantity with two sources.

    Parameters
    ----------
    programme : Programme
        The programme with the change applied.
    touched : iterable of str
        Ids of the changed records.

    Raises
    ------
    SourceError
        A quantity would have two.
    """
    touched = set(touched)
    sources: dict[str, tuple[str, str]] = {}
    for source_id, words, quantity_id in _claims(programme):
        if _live(programme, source_id):
            first_id, first = sources.setdefault(quantity_id, (source_id, words))
            repeats = _repeats(programme, source_id, quantity_id)
            if (first_id, first) != (source_id, words) or repeats:
                raise _second(programme, quantity_id, first, words)
        quantity = programme.at(quantity_id, Quantity)
        if quantity.given is not None and touched & {source_id, quantity_id}:
            raise _second(programme, quantity_id, words, "a given value")


def _claims(programme: Programme) -> Iterator[tuple[str, str, str]]:
    for decision in programme.of(Decision):
        for each in decision.owns:
            yield decision.id, f"decision {decision.key}", each
    for use in programme.of(CheckUse):
        for each in use.outputs.values():
            yield use.id, f"check {use.key}", each


def _live(programme: Programme, source_id: str) -> bool:
    """Tell whether a source keeps others out; what a withdrawn decision owned may be taken over."""
    source = programme.get(source_id)
    return not isinstance(source, Decision) or source.state is not DecisionState.WITHDRAWN


def _repeats(programme: Programme, source_id: str, quantity_id: str) -> bool:
    use = programme.get(source_id)
    if isinstance(use, CheckUse):
        return list(use.outputs.values()).count(quantity_id) > 1
    return isinstance(use, Decision) and use.owns.count(quantity_id) > 1


def _second(programme: Programme, quantity_id: str, first: str, second: str) -> SourceError:
    quantity = programme.at(quantity_id, Quantity)
    return SourceError(
        f"it would have two sources, {first} and {second}",
        item=quantity.key,
        remedy="A quantity is given, owned by one decision or computed by one check",
    )
