"""All combinations of open options that meet every requirement that depends on them.

A requirement is asked only about the decisions it depends on: first those that depend on a single
decision, which prune its options, then those on two, then those on more, each on what is left. What
depends on separate decisions is multiplied and never enumerated jointly.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from tracker.evaluate.engine import Cancel, Engine
from tracker.evaluate.verdict import Verdict
from tracker.explore.option_best import (
    OptionSet,
    Target,
    best_by_margin,
    best_by_value,
    refuse_no_number,
)
from tracker.explore.option_reasons import Killed, killed
from tracker.explore.option_scopes import Scope, Web, decisions_in_play, groups_of, web_of
from tracker.explore.option_tables import Table, table_of
from tracker.explore.option_walk import Limit, Walker, arranged
from tracker.model.records import CheckUse, Decision, DecisionState

__all__ = ["LIMIT", "Group", "OptionSets", "SetPlan", "option_sets"]

LIMIT = 1_000_000
"""Combinations held at a time, unless told otherwise."""

Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class SetPlan:
    """What is asked.

    Parameters
    ----------
    leaning : bool
        Whether decisions that only lean to an option are open as well.
    target : Target or None
        What makes a combination good; the least margin where None.
    most : int
        Number of combinations to list.
    limit : int
        Most combinations looked at together; independent groups do not add to each other.
    """

    leaning: bool = False
    target: Target | None = None
    most: int = 10
    limit: int = LIMIT


@dataclass(frozen=True, slots=True)
class Group:
    """Decisions that share findings.

    Parameters
    ----------
    decisions : tuple of int
        Their numbers.
    total, count : int
        Combinations of their options, and those that meet every requirement.
    shares : dict of int to dict of int to int
        Decision → option → how many of these it is in, where it is in any.
    """

    decisions: Scope
    total: int
    count: int
    shares: dict[int, dict[int, int]]


@dataclass(frozen=True, slots=True)
class OptionSets:
    """Which combinations are alive.

    Parameters
    ----------
    decisions : tuple of Decision
        Those in play; all numbers of decisions refer to them.
    total, count : int
        All combinations, and those that meet every requirement.
    evaluated : int
        Rows computed to know that.
    groups : tuple of Group
        Independent of each other.
    killed : tuple of Killed
        Options that are in no combination of their group.
    sets : tuple of OptionSet
        The best.
    beside : tuple of int
        Requirements and rules that are missed or unknown whatever is chosen here, as positions in
        the graph's judges: they depend on none of the decisions and count against no combination.
    """

    decisions: tuple[Decision, ...]
    total: int
    count: int
    evaluated: int
    groups: tuple[Group, ...]
    killed: tuple[Killed, ...]
    sets: tuple[OptionSet, ...]
    beside: tuple[int, ...]


def option_sets(
    engine: Engine,
    plan: SetPlan | None = None,
    *,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> OptionSets:
    """Find the combinations of open options that meet every requirement that depends on them.

    A requirement that is unknown is not met.

    Parameters
    ----------
    engine : Engine
        The present; only read.
    plan : SetPlan
        What is asked.
    cancel : callable, optional
        Asked between checks and between decisions.
    progress : callable, optional
        Told in words how far it got.

    Raises
    ------
    BadValueError
        Nothing is open, the target is no number, or the limit is exceeded.
    CancelledError
        `cancel` asked to stop.
    """
    plan = plan or SetPlan()
    if plan.target is not None:
        refuse_no_number(engine, plan.target)
    web = web_of(engine, decisions_in_play(engine, leaning=plan.leaning))
    survey = _Survey(engine, web, Limit(plan.limit, cancel), progress or _unheard)
    survey.fill()
    groups = [survey.group(each) for each in groups_of(web)]
    count = math.prod(each.count for each in groups)
    return OptionSets(
        decisions=web.decisions,
        total=math.prod(each.total for each in groups),
        count=count,
        groups=tuple(groups),
        killed=tuple(survey.killed(groups)),
        sets=tuple(survey.best(plan, groups)) if count else (),
        evaluated=survey.evaluated,
        beside=tuple(_beside(engine, web)),
    )


def _unheard(_: str) -> None:
    """Tell nobody."""


@dataclass(slots=True)
class _Survey:
    """What is known of the combinations so far."""

    engine: Engine
    web: Web
    limit: Limit
    tell: Progress
    tables: list[Table] = field(default_factory=list)
    evaluated: int = 0

    def fill(self) -> None:
        """Ask every requirement, those on few decisions first."""
        for scope in sorted(self.web.judges, key=lambda each: (len(each), each)):
            self.tables.append(self._table(scope))

    def _table(self, scope: Scope) -> Table:
        what = f"a requirement depends on {self.web.names(scope)}"
        decisions = [self.web.decisions[each] for each in scope]
        every = math.prod(len(each.options) for each in decisions)
        if every >= 2**62:  # combinations are numbered in 64 bits
            self.limit.check(every, what)
        codes = self._walker().walk(scope, what, keep=set(scope)).ends
        judges = self.web.judges[scope]
        return table_of(self.engine, decisions, scope, judges, codes, self.limit.cancel, self._told)

    def _told(self, rows: int) -> None:
        self.evaluated += rows
        asked = len(self.tables) + 1
        self.tell(
            f"{self.evaluated} combinations evaluated, "
            f"{asked} of {len(self.web.judges)} groups of requirements asked"
        )

    def _walker(self) -> Walker:
        return Walker(self.web.sizes, self.tables, self.limit)

    def group(self, decisions: Scope) -> Group:
        """Count the combinations of a group."""
        self.tell(f"{self.evaluated} combinations evaluated, counting {len(decisions)} decisions")
        what = f"{self.web.names(decisions)} share requirements"
        walk = self._walker().walk(arranged(decisions, self.tables), what)
        total = math.prod(self.web.sizes[each] for each in decisions)
        return Group(decisions, total, walk.count, walk.shares())

    def killed(self, groups: Sequence[Group]) -> list[Killed]:
        """Explain every option that is in no combination of its group."""
        found: list[Killed] = []
        for group in groups:
            for decision in group.decisions:
                for option in range(self.web.sizes[decision]):
                    if option not in group.shares[decision]:
                        self.tell(f"{len(found)} options explained")
                        found.append(killed(self._walker(), group.decisions, decision, option))
        return found

    def best(self, plan: SetPlan, groups: Sequence[Group]) -> list[OptionSet]:
        """Find the best combinations."""
        self.tell(f"{self.evaluated} combinations evaluated, looking for the best")
        walker = self._walker()
        order = [one for each in groups for one in arranged(each.decisions, self.tables)]
        if plan.target is None:
            return best_by_margin(walker, order, plan.most)
        found, rows = best_by_value(
            self.engine, self.web, walker, order, plan.target, plan.most, self.limit.cancel
        )
        self.evaluated += rows
        return found


def _beside(engine: Engine, web: Web) -> list[int]:
    asked = {place for places in web.judges.values() for place in places}
    return [
        place
        for place, finding in enumerate(engine.state.findings)
        if place not in asked
        and finding is not None
        and not finding.moot
        and finding.judgement.verdict in (Verdict.MISSED, Verdict.UNKNOWN)
        and not finding.deviation
        and not _withdrawn(engine, place)
    ]


def _withdrawn(engine: Engine, place: int) -> bool:
    """Tell whether a rule belongs to a check that a withdrawn decision carries."""
    record = engine.programme.get(engine.graph.judges[place].id)
    if not isinstance(record, CheckUse):
        return False
    return engine.programme.at(record.decision, Decision).state is DecisionState.WITHDRAWN
