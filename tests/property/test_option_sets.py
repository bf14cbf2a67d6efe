"""Option sets of random programmes against the engine's own trials, one combination at a time."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import pytest

from tests.property.optioned import Tried, brute_force, optioned, reaches
from tests.property.sweeping import grown
from tracker.errors import BadValueError
from tracker.evaluate.engine import Engine
from tracker.explore.option_best import Target
from tracker.explore.option_reasons import Killed
from tracker.explore.option_sets import OptionSets, SetPlan, option_sets
from tracker.model.records import Quantity
from tracker.model.values import Kind

_MOST = 400


def test_sets_are_those_that_trials_find() -> None:
    """Programmes in which nothing is open do not count."""
    assert sum(_compare(optioned(seed), seed) for seed in range(640)) >= 500


@pytest.mark.parametrize("seed", range(30))
def test_sets_of_grown_programmes_are_those_that_trials_find(seed: int) -> None:
    _compare(grown(seed, 90), seed)


def _compare(engine: Engine, seed: int) -> bool:
    plan = SetPlan(leaning=seed % 3 > 0, most=7)
    try:
        found = option_sets(engine, plan)
    except BadValueError as error:
        assert "open" in str(error)  # noqa: PT017 - it may also find sets
        return False
    if found.total > _MOST:
        return False
    tried = list(brute_force(engine, found.decisions))
    alive = [each for each in tried if each.alive]
    assert (found.total, found.count) == (len(tried), len(alive))
    _compare_groups(found, alive)
    _compare_best(found, alive, plan.most)
    _compare_killed(engine, found, tried)
    _compare_target(engine, found, alive, plan)
    return True


def _compare_groups(found: OptionSets, alive: Sequence[Tried]) -> None:
    assert sorted(one for each in found.groups for one in each.decisions) == list(
        range(len(found.decisions))
    )
    for group in found.groups:
        rest = math.prod(each.count for each in found.groups if each is not group)
        for decision, shares in group.shares.items():
            for option in range(len(found.decisions[decision].options)):
                count = sum(each.options[decision] == option for each in alive)
                assert rest * shares.get(option, 0) == count


def _compare_best(found: OptionSets, alive: Sequence[Tried], most: int) -> None:
    margins = {each.options: each.margin for each in alive}
    best = sorted(margins.values(), reverse=True)[:most]
    assert [each.margin for each in found.sets] == best
    assert len({each.options for each in found.sets}) == len(best)
    for each in found.sets:
        assert margins[each.options] == each.margin
        assert (each.closest is None) == (each.margin == math.inf)


def _compare_target(
    engine: Engine, found: OptionSets, alive: Sequence[Tried], plan: SetPlan
) -> None:
    """Look at the last real quantity, which depends on the most."""
    reals = [each.id for each in engine.programme.of(Quantity) if each.kind is Kind.REAL]
    if not reals:
        return
    slot = engine.graph.index[reals[-1], ""]
    for largest in (False, True):
        target = Target(reals[-1], largest=largest)
        ranked = option_sets(engine, SetPlan(plan.leaning, target, plan.most)).sets
        values = {each.options: each.number(slot) for each in alive}
        known = sorted((each for each in values.values() if each is not None), reverse=largest)
        wanted = [*known, *[None] * (len(values) - len(known))][: plan.most]
        assert [each.value for each in ranked] == wanted
        assert all(values[each.options] == each.value for each in ranked)
        assert len({each.options for each in ranked}) == len(wanted)
    assert len(found.sets) == len(wanted)


def _compare_killed(engine: Engine, found: OptionSets, tried: Sequence[Tried]) -> None:
    judges = reaches(engine, found.decisions)
    dead = {(each.decision, each.option) for each in found.killed}
    for group in found.groups:
        for decision in group.decisions:
            for option in range(len(found.decisions[decision].options)):
                ruled = _ruled_out(judges, tried, (decision, option), set(group.decisions))
                assert ruled == ((decision, option) in dead)
    for each in found.killed:
        _check_reason(
            judges,
            tried,
            each,
            next(g for g in found.groups if each.decision in g.decisions).decisions,
        )


def _ruled_out(
    judges: dict[int, frozenset[int]],
    tried: Sequence[Tried],
    picked: tuple[int, int],
    within: set[int],
) -> bool:
    """Tell whether every row with the option fails a judge that depends only on these."""
    asked = [place for place, scope in judges.items() if scope <= within]
    rows = [each for each in tried if each.options[picked[0]] == picked[1]]
    return all(any(each.fails(place) for place in asked) for each in rows)


def _check_reason(
    judges: dict[int, frozenset[int]],
    tried: Sequence[Tried],
    found: Killed,
    group: Sequence[int],
) -> None:
    picked = (found.decision, found.option)
    assert found.smallest
    assert not found.left_out
    assert _ruled_out(judges, tried, picked, {found.decision, *found.others})
    others = [each for each in group if each != found.decision]
    for fewer in itertools.combinations(others, max(len(found.others) - 1, 0)):
        smaller = len(fewer) < len(found.others)
        assert not smaller or not _ruled_out(judges, tried, picked, {found.decision, *fewer})
    covered = set()
    for each in found.conflicts:
        named = dict([*each.choices, *([picked] if each.itself else [])])
        assert set(named) == judges[each.judge]
        rows = [one for one in tried if all(one.options[k] == v for k, v in named.items())]
        assert rows
        assert all(one.fails(each.judge) for one in rows)
        verdicts = {one.findings[each.judge].judgement.verdict.value for one in rows}
        assert verdicts == {"missed" if each.missed else "unknown"}
        covered |= {one.options for one in rows}
    assert {one.options for one in tried if one.options[found.decision] == found.option} <= covered
