"""Option sets: which combinations of the still-open options are alive.

From a notebook::

    from tracker.bootstrap import open_session
    from tracker.services.set_search import option_sets

    view = option_sets(open_session("programme.db"), smallest="cost")
    view.count, view.total, view.sets[0].options

It only looks: nothing is stored. `cancel` stops a long run; `progress` is told in words how far it
got.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from tracker.errors import BadKeyError
from tracker.evaluate.engine import Cancel
from tracker.explore.option_best import OptionSet, Target
from tracker.explore.option_reasons import Conflict, Killed
from tracker.explore.option_sets import LIMIT, Group, OptionSets, SetPlan
from tracker.explore.option_sets import option_sets as find_sets
from tracker.model.address import parse_address
from tracker.model.records import Quantity
from tracker.model.values import Kind
from tracker.services.present import finding_view
from tracker.services.session import Reading
from tracker.services.set_views import (
    BesideView,
    ChoiceView,
    ConflictView,
    GroupView,
    KilledView,
    OpenDecisionView,
    SetsView,
    SetView,
    ShareView,
)
from tracker.services.wording import CAUTION, value_with_unit, visible

__all__ = ["LIMIT", "option_sets"]

Progress = Callable[[str], None]


def option_sets(
    reading: Reading,
    *,
    smallest: str = "",
    largest: str = "",
    leaning: bool = False,
    most: int = 10,
    limit: int = LIMIT,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> SetsView:
    """Return which combinations of open options meet every requirement that depends on them.

    A requirement that is unknown is not met.

    Parameters
    ----------
    smallest, largest : str
        Address of a number to make small, or large; at most one. Else the best combinations are
        those with the largest least margin.
    leaning : bool
        Whether decisions that only lean to an option are open as well.
    most : int
        Number of combinations to list.
    limit : int
        Most combinations looked at together; independent groups do not add to each other.

    Raises
    ------
    UnknownKeyError
        No quantity is called that.
    BadKeyError
        Two goals are named, or an address is no quantity's.
    BadValueError
        Nothing is open, the goal is no number, or the limit is exceeded.
    CancelledError
        `cancel` asked to stop.
    """
    target = _target(reading, smallest, largest)
    plan = SetPlan(leaning, target, most, limit)
    found = find_sets(reading.engine, plan, cancel=cancel, progress=progress)
    return SetsView(
        revision=reading.head.revision,
        count=found.count,
        total=found.total,
        evaluated=found.evaluated,
        goal=_goal(smallest, largest),
        decisions=tuple(_decision(found, each) for each in range(len(found.decisions))),
        groups=tuple(_group(found, each) for each in found.groups),
        killed=tuple(_killed(reading, found, each) for each in found.killed),
        sets=tuple(_set(reading, found, each, target) for each in found.sets),
        beside=tuple(_beside(reading, each) for each in found.beside),
        caution=CAUTION,
    )


def _target(reading: Reading, smallest: str, largest: str) -> Target | None:
    if smallest and largest:
        raise BadKeyError("two goals are named", item=largest, remedy="Name one of them")
    text = smallest or largest
    if not text:
        return None
    address = parse_address(text)
    if address.decision:
        raise BadKeyError(
            "what an option states is chosen as the quantity itself",
            item=text,
            remedy=f"Name {address.key}",
        )
    quantity = reading.programme.named(address.key, Quantity)
    return Target(quantity.id, address.part, largest=bool(largest))


def _goal(smallest: str, largest: str) -> str:
    if smallest:
        return f"smallest {visible(smallest)}"
    return f"largest {visible(largest)}" if largest else "largest least margin"


def _decision(found: OptionSets, number: int) -> OpenDecisionView:
    decision = found.decisions[number]
    own = next(each for each in found.groups if number in each.decisions)
    rest = math.prod(each.count for each in found.groups if each is not own)
    shares = own.shares[number]
    return OpenDecisionView(
        key=decision.key,
        question=visible(decision.question),
        state=decision.state.value,
        options=tuple(
            ShareView(
                option=each.key,
                title=visible(each.title),
                count=rest * shares.get(place, 0),
                group_count=shares.get(place, 0),
            )
            for place, each in enumerate(decision.options)
        ),
    )


def _group(found: OptionSets, group: Group) -> GroupView:
    keys = tuple(found.decisions[each].key for each in group.decisions)
    return GroupView(decisions=keys, total=group.total, count=group.count)


def _choice(found: OptionSets, decision: int, option: int) -> ChoiceView:
    record = found.decisions[decision]
    return ChoiceView(decision=record.key, option=record.options[option].key)


def _killed(reading: Reading, found: OptionSets, killed: Killed) -> KilledView:
    choice = _choice(found, killed.decision, killed.option)
    return KilledView(
        decision=choice.decision,
        option=choice.option,
        others=tuple(found.decisions[each].key for each in killed.others),
        conflicts=tuple(_conflict(reading, found, each) for each in killed.conflicts),
        left_out=killed.left_out,
        smallest=killed.smallest,
    )


def _conflict(reading: Reading, found: OptionSets, conflict: Conflict) -> ConflictView:
    choices = tuple(_choice(found, *each) for each in conflict.choices)
    judge = finding_view(reading, conflict.judge).judge
    verdict = "missed" if conflict.missed else "unknown"
    return ConflictView(
        requirement=judge,
        verdict=verdict,
        choices=choices,
        itself=conflict.itself,
        words=f"{judge} {verdict}{_with(choices, itself=conflict.itself)}",
    )


def _with(choices: Sequence[ChoiceView], *, itself: bool) -> str:
    if not choices:
        return ""
    words = " and ".join(f"{each.decision}/{each.option}" for each in choices)
    return f" with {words}" if itself else f" by {words}"


def _set(reading: Reading, found: OptionSets, each: OptionSet, target: Target | None) -> SetView:
    numbered = enumerate(each.options)
    choices = [_choice(found, number, option) for number, option in numbered]
    text = ""
    if target is not None:
        unit = reading.programme.at(target.quantity, Quantity).unit
        text = "unknown" if each.value is None else value_with_unit(each.value, Kind.REAL, unit)
    return SetView(
        options={choice.decision: choice.option for choice in choices},
        margin=each.margin if math.isfinite(each.margin) else None,
        closest="" if each.closest is None else finding_view(reading, each.closest).judge,
        value=each.value,
        text=text,
    )


def _beside(reading: Reading, place: int) -> BesideView:
    finding = finding_view(reading, place)
    return BesideView(requirement=finding.judge, verdict=finding.verdict)
