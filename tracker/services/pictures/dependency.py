"""What depends on what: decisions, or checks, against each other, put into blocks.

From a notebook::

    from tracker.bootstrap import open_session
    from tracker.services.pictures.dependency import dependency

    session = open_session("programme.db")
    for block in dependency(session).blocks:
        print(block.level, block.keys)
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from tracker.errors import InputError
from tracker.explore.partition import Block, partition
from tracker.model.records import CheckUse, Decision, DecisionState, Quantity, Requirement
from tracker.services.pictures.dependency_views import (
    BlockView,
    DependencyView,
    LinkCell,
    MatrixItem,
)
from tracker.services.present import check_line, decision_line, key_of
from tracker.services.session import Reading

__all__ = ["KINDS", "dependency"]

KINDS = ("decision", "check")
"""What there are matrices of."""


@dataclass(slots=True)
class _Web:
    """Who needs whom, and why.

    Parameters
    ----------
    through : mapping
        (item, what it needs) → ids of the quantities that pass, in order.
    rests : set
        Pairs of decisions of which the first rests on the second.
    reads : mapping
        Item → ids of the quantities it takes in, in order.
    """

    through: dict[tuple[str, str], dict[str, None]] = field(default_factory=dict)
    rests: set[tuple[str, str]] = field(default_factory=set)
    reads: dict[str, dict[str, None]] = field(default_factory=dict)

    def read(self, item: str, quantity: str, source: str) -> None:
        """Note that an item takes in a quantity that another one gives."""
        self.reads[item][quantity] = None
        if source in self.reads and source != item:
            self.through.setdefault((item, source), {})[quantity] = None


def dependency(reading: Reading, of: str = "decision") -> DependencyView:
    """Return the dependency matrix of the decisions that are in play, or of the bound checks.

    A decision needs another one if a check it carries takes in a quantity that the other one sets
    or computes, if a requirement it serves judges such a quantity, or if it rests on the other one.
    A check needs another one if it takes in what the other one computes.

    Parameters
    ----------
    of : str
        `decision` or `check`.

    Raises
    ------
    InputError
        There is no such matrix.
    """
    if of not in KINDS:
        raise InputError(
            f"there is no dependency matrix of {of[:40]!r}", remedy="Say decision or check"
        )
    web = _of_decisions(reading) if of == "decision" else _of_checks(reading)
    needs: dict[str, set[str]] = {each: set() for each in web.reads}
    for item, source in (*web.through, *web.rests):
        needs[item].add(source)
    blocks = partition(needs)
    return DependencyView(
        revision=reading.head.revision,
        of=of,
        items=tuple(_items(reading, web, blocks)),
        blocks=tuple(
            BlockView(level=block.level, keys=tuple(key_of(reading, each) for each in block.items))
            for block in blocks
        ),
        cells=tuple(_cells(reading, web, [each for block in blocks for each in block.items])),
    )


def _of_decisions(reading: Reading) -> _Web:
    web = _Web()
    live = [
        each for each in reading.programme.of(Decision) if each.state is not DecisionState.WITHDRAWN
    ]
    web.reads = {each.id: {} for each in live}
    graph = reading.engine.graph
    for decision in live:
        for quantity in _taken_in(reading, decision, graph.carried.get(decision.id, ())):
            web.read(decision.id, quantity, _decided_by(reading, quantity))
        web.rests |= {(decision.id, each) for each in decision.rests_on if each in web.reads}
    return web


def _taken_in(reading: Reading, decision: Decision, checks: Iterable[str]) -> Iterator[str]:
    """Yield the quantities a decision's checks take in and its requirements judge."""
    for check in checks:
        yield from _inputs(reading, reading.programme.at(check, CheckUse))
    for each in decision.serves:
        yield reading.programme.at(each, Requirement).quantity


def _inputs(reading: Reading, use: CheckUse) -> Iterator[str]:
    for ref in use.inputs.values():
        if isinstance(reading.programme.get(ref.id), Quantity):
            yield ref.id


def _writer(reading: Reading, quantity: str) -> str:
    graph = reading.engine.graph
    return graph.writer.get(graph.index[quantity, ""], "")


def _decided_by(reading: Reading, quantity: str) -> str:
    """Return the decision that sets a quantity, or whose check computes it."""
    owner = reading.engine.graph.owner.get(quantity)
    if owner is not None:
        return owner
    writer = _writer(reading, quantity)
    return reading.programme.at(writer, CheckUse).decision if writer else ""


def _of_checks(reading: Reading) -> _Web:
    web = _Web()
    uses = list(reading.programme.of(CheckUse))
    web.reads = {each.id: {} for each in uses}
    for use in uses:
        for quantity in _inputs(reading, use):
            web.read(use.id, quantity, _writer(reading, quantity))
    return web


def _items(reading: Reading, web: _Web, blocks: Iterable[Block[str]]) -> Iterator[MatrixItem]:
    for number, block in enumerate(blocks):
        for each in block.items:
            title, sign = _told(reading, each)
            yield MatrixItem(
                key=key_of(reading, each),
                title=title,
                sign=sign,
                block=number,
                level=block.level,
                reads=tuple(key_of(reading, one) for one in web.reads[each]),
            )


def _told(reading: Reading, record_id: str) -> tuple[str, str]:
    record = reading.programme.get(record_id)
    if isinstance(record, Decision):
        line = decision_line(reading, record)
        return line.question, line.standing
    check = check_line(reading, reading.programme.at(record_id, CheckUse))
    return check.title, check.state


def _cells(reading: Reading, web: _Web, items: list[str]) -> Iterator[LinkCell]:
    place: Mapping[str, int] = {each: at for at, each in enumerate(items)}
    for item, source in sorted(
        {*web.through, *web.rests}, key=lambda pair: (place[pair[0]], place[pair[1]])
    ):
        yield LinkCell(
            row=place[item],
            column=place[source],
            quantities=tuple(key_of(reading, each) for each in web.through.get((item, source), ())),
            rests_on=(item, source) in web.rests,
        )
