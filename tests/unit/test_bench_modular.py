"""The large programmes of the bench: the same for a seed, and of the structure they claim."""

from __future__ import annotations

import pytest

from tests.bench.modular import DENSE, GIVENS, JUDGED, Modules, dense, given_to, shelf
from tests.bench.preview_rows import structure_edits, value_edits
from tracker.evaluate.engine import Engine
from tracker.evaluate.structure import is_structural
from tracker.model.programme import Programme
from tracker.model.records import CheckUse, Decision, Quantity, Requirement

LINKED = Modules(modules=10)


def module_of(record_id: str) -> int:
    return int(record_id.lstrip("cdgqr").partition("-")[0])


def crossing(programme: Programme) -> list[bool]:
    """Tell of every input whether it comes from another module, an earlier one."""
    found = []
    for use in programme.of(CheckUse):
        for ref in use.inputs.values():
            home, source = module_of(use.id), module_of(ref.id)
            assert source <= home
            found.append(source != home)
    return found


def test_a_seed_gives_the_same_programme() -> None:
    assert list(LINKED.records()) == list(LINKED.records())
    assert list(dense(50)) == list(dense(50))
    assert list(LINKED.records()) != list(Modules(modules=10, seed=1).records())
    assert list(dense(50)) != list(dense(50, seed=1))


def test_it_has_the_modules_and_checks_it_says() -> None:
    programme = LINKED.programme()
    assert sum(1 for _ in programme.of(CheckUse)) == LINKED.nodes == 1_000
    assert sum(1 for _ in programme.of(Decision)) == 10
    assert sum(1 for _ in programme.of(Requirement)) == 10 * JUDGED
    given = [each.id for each in programme.of(Quantity) if each.given]
    assert given == list(LINKED.givens())
    assert len(given) == 10 * GIVENS


def test_the_share_of_links_across_modules_is_kept() -> None:
    crossed = crossing(Modules(modules=50).programme())
    assert len(crossed) == pytest.approx(1.5 * 5_000, rel=0.03)
    assert sum(crossed) / len(crossed) == pytest.approx(0.02 * 49 / 50, abs=0.005)
    assert not any(crossing(Modules(modules=5, cross=0.0).programme()))


def test_first_modules_do_not_depend_on_how_many_follow() -> None:
    short, long = Modules(modules=2), Modules(modules=4)
    records = list(short.records())
    assert list(long.records())[: len(records)] == records


def test_every_check_runs_and_judges_something() -> None:
    engine = Engine(shelf(), LINKED.programme())
    assert len(engine.opening.ran) == LINKED.nodes
    verdicts = {each.judgement.verdict.value for each in engine.state.findings if each}
    assert verdicts == {"met", "tight", "missed"}


def test_nearly_all_of_the_dense_programme_is_downstream() -> None:
    engine = Engine(shelf(), dense(400))
    report = engine.advance([given_to(engine, "g0", 0.5)])
    assert len(report.ran) >= 0.95 * 400
    assert DENSE < 400


def test_value_edits_move_values_and_structure_edits_reshape() -> None:
    programme = Modules(modules=1).programme()
    values, reshaping = list(value_edits(programme)), list(structure_edits(programme))
    assert len(values) == 2 * GIVENS
    assert not any(is_structural(each) for edit in values for each in edit)
    assert len(reshaping) == 2 * 100 + JUDGED
    assert all(any(is_structural(each) for each in edit) for edit in reshaping)
    engine = Engine(shelf(), programme)
    for edit in (*values, *reshaping[:4], *reshaping[-4:]):
        with engine.trial(edit) as report:
            assert report.slots or any(is_structural(each) for each in edit)
