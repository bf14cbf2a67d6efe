"""What would make a decision stand again.

From a notebook::

    from tracker.bootstrap import open_session
    from tracker.services.actions import set_values
    from tracker.services.mending import mend

    session = open_session("programme.db")
    best = mend(session, "D-TIE-ROD").decisions[0].proposals[0]
    set_values(session, best.values, "brings the response back into its band")

It only looks: nothing is stored until a proposal is adopted.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from tracker.errors import BadValueError, DecisionError
from tracker.evaluate.engine import Cancel
from tracker.explore.mend import POINTS, Mended, Plan
from tracker.explore.mend import mend as find_mendings
from tracker.explore.mend_ranges import Mover, Pricing
from tracker.explore.mend_rows import Choice, Mending, Move
from tracker.model.address import Address, parse_address
from tracker.model.changes import Entry
from tracker.model.records import Decision, DecisionState, Quantity
from tracker.model.values import AXES, Kind
from tracker.services.change_views import FindingChange
from tracker.services.deciding import lean_entries
from tracker.services.edits import value_entries
from tracker.services.mending_views import (
    EditView,
    MendedView,
    MendView,
    ProposalView,
    RangeView,
    WorseView,
)
from tracker.services.present import address_text, decision_line, key_of
from tracker.services.ripple import ripple_of
from tracker.services.session import Reading
from tracker.services.wording import CAUTION, number_text, visible

__all__ = ["mend"]

_WORSE = ("met", "tight", "unknown", "missed")
Progress = Callable[[str], None]


def mend(
    reading: Reading,
    decision: str = "",
    *,
    strained: bool = False,
    prices: Mapping[str, float] | None = None,
    points: int = POINTS,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> MendView:
    """Return the smallest edits that make decisions stand again, each for itself.

    Parameters
    ----------
    decision : str
        Key of one that is broken, unproven or strained; without it all that are broken.
    strained : bool
        Whether being strained will not do; strained ones are mended then, too.
    prices : mapping of str to float
        Address → cost of a move by one unit, in shares of a range; without it the range decides.
    points : int
        Stretches between samples over a range where nothing is proven.
    cancel : callable, optional
        Asked between checks.
    progress : callable, optional
        Told in words how far it got.

    Raises
    ------
    UnknownKeyError
        No decision, or nothing with a price, is called that.
    DecisionError
        The decision is withdrawn.
    BadValueError
        A price is negative or no finite number.
    CancelledError
        `cancel` asked to stop.
    """
    plan = Plan(strained=strained, points=points, pricing=_pricing(reading, prices or {}))
    targets = _targets(reading, decision, strained=strained)
    found = [
        find_mendings(reading.engine, each.id, plan, cancel=cancel, progress=progress)
        for each in targets
    ]
    return MendView(
        revision=reading.head.revision,
        decisions=tuple(_mended(reading, each, cancel) for each in found),
        caution=CAUTION,
    )


def _targets(reading: Reading, key: str, *, strained: bool) -> list[Decision]:
    if key:
        decision = reading.programme.named(key, Decision)
        if decision.state is DecisionState.WITHDRAWN:
            remedy = f"Reopen {key} first"
            raise DecisionError("the decision is withdrawn", item=key, remedy=remedy)
        return [decision]
    wanted = ("broken", "strained") if strained else ("broken",)
    standings = reading.engine.state.standings
    return [
        each
        for each in reading.programme.of(Decision)
        if each.id in standings and standings[each.id].standing in wanted
    ]


def _pricing(reading: Reading, prices: Mapping[str, float]) -> Pricing:
    found = {}
    for text, price in prices.items():
        address = parse_address(text)
        quantity = reading.programme.named(address.key, Quantity)
        if not (math.isfinite(price) and price >= 0):
            raise BadValueError(
                "a price is a number, zero or more", item=text, remedy="Say what one unit costs"
            )
        found[quantity.id, address.part] = price
    return Pricing(found)


def _mended(reading: Reading, found: Mended, cancel: Cancel | None) -> MendedView:
    line = decision_line(reading, reading.programme.at(found.decision, Decision))
    return MendedView(
        decision=line.key,
        standing=line.standing,
        why=line.why,
        stands=found.reached,
        mended=bool(found.mendings),
        proposals=tuple(_proposal(reading, line.key, each, cancel) for each in found.mendings),
        ranges=tuple(_range(reading, each) for each in found.tried),
        paired=found.paired,
        options=found.options,
    )


def _range(reading: Reading, mover: Mover) -> RangeView:
    key = address_text(reading, mover.source.id, mover.source.part)
    return RangeView(key=key, low=mover.low, high=mover.high, unit=mover.source.unit.text)


def _proposal(
    reading: Reading, decision: str, found: Mending, cancel: Cancel | None
) -> ProposalView:
    values = _values(reading, found.moves)
    leans = {_key(reading, each): _option(reading, each, each.option) for each in found.choices}
    entries: list[Entry] = [*value_entries(reading, values)]
    for key, option in leans.items():
        entries += lean_entries(reading, key, option)
    ripple = ripple_of(reading, entries, cancel)
    moves = [_move(reading, each) for each in found.moves]
    return ProposalView(
        decision=decision,
        edits=(*moves, *(_choice(reading, each) for each in found.choices)),
        cost=found.cost,
        money=found.money,
        proven=found.proven,
        restores=ripple.restored,
        breaks=ripple.broken,
        worsens=tuple(worse for each in ripple.findings for worse in _worse(each)),
        look=ripple.look,
        values=values,
        leans=leans,
    )


def _values(reading: Reading, moves: Sequence[Move]) -> dict[str, str]:
    """Write moves as addresses and values that can be set; points that an option states whole."""
    values: dict[str, str] = {}
    wholes: dict[str, list[float]] = {}
    for each in moves:
        source = each.mover.source
        address = _settable(reading, source.id, source.part)
        if source.part and not address.part:
            held = wholes.setdefault(str(address), list(_point(reading, source.id)))
            held[AXES.index(source.part)] = each.to
            values[str(address)] = f"[{', '.join(map(repr, held))}]"
        else:
            whole = source.kind is Kind.INTEGER
            values[str(address)] = repr(int(each.to) if whole else each.to)
    return values


def _settable(reading: Reading, quantity_id: str, part: str) -> Address:
    """Return the address under which a number is set: as such, or in the option applied."""
    key = key_of(reading, quantity_id)
    owner = reading.engine.graph.owner.get(quantity_id)
    if owner is None:
        return Address(key, part)
    decision = reading.programme.at(owner, Decision)
    return Address(key, "", decision.key, _option_key(decision, decision.chosen))


def _option_key(decision: Decision, option_id: str) -> str:
    return next(each.key for each in decision.options if each.id == option_id)


def _point(reading: Reading, quantity_id: str) -> list[float]:
    slot: Any = reading.engine.state.slots[reading.engine.graph.index[quantity_id, ""]]
    numbers: list[float] = slot[0].tolist()
    return numbers


def _key(reading: Reading, choice: Choice) -> str:
    return key_of(reading, choice.decision)


def _option(reading: Reading, choice: Choice, option_id: str) -> str:
    return _option_key(reading.programme.at(choice.decision, Decision), option_id)


def _move(reading: Reading, move: Move) -> EditView:
    source = move.mover.source
    return EditView(
        key=address_text(reading, source.id, source.part),
        before=source.number,
        after=move.to,
        unit=source.unit.text,
        before_text=number_text(source.number, source.unit),
        after_text=number_text(move.to, source.unit),
    )


def _choice(reading: Reading, choice: Choice) -> EditView:
    chosen = reading.programme.at(choice.decision, Decision).chosen
    before = _option(reading, choice, chosen) if chosen else None
    after = _option(reading, choice, choice.option)
    return EditView(
        key=_key(reading, choice),
        before=before,
        after=after,
        unit="",
        before_text=before or "open",
        after_text=after,
    )


def _worse(change: FindingChange) -> list[WorseView]:
    before, after = change.before, change.after
    assert before is not None  # noqa: S101 - values and options add no judge
    assert after is not None  # noqa: S101 - nor do they take one away
    if _WORSE.index(after.verdict) <= _WORSE.index(before.verdict):
        return []
    text = f"{after.text} {visible(after.unit)}".rstrip()
    return [WorseView(judge=after.judge, before=before.verdict, after=after.verdict, text=text)]
