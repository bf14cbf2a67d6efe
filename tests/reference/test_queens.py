"""Queens that do not attack each other, as a programme: a decision for each column.

Numbers of solutions: sequence A000170 of the On-Line Encyclopedia of Integer Sequences, recalled
from memory; for the smaller boards they are counted here once more.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping

import numpy as np
import pytest

from tests.property.toy_checks import Shelf, Toy, port
from tests.unit.small_world import INFO, decision, quantity, requirement, use
from tracker.contract.check import Array
from tracker.evaluate.engine import Engine
from tracker.explore.option_sets import option_sets
from tracker.model.programme import Programme
from tracker.model.records import Record


def _apart(a: Array, b: Array, columns: Array) -> Mapping[str, Array]:
    """Return how many rows two queens are from attacking each other."""
    rows = np.abs(a - b)
    return {"out": np.minimum(rows, np.abs(rows - columns))}


def board(size: int) -> Engine:
    toy = Toy("apart", (port("a"), port("b"), port("columns")), (port("out"),), _apart)
    records: list[Record] = [INFO]
    for column in range(size):
        options = {f"r{row}": {f"q{column}": float(row)} for row in range(size)}
        records += [quantity(f"q{column}"), decision(f"D{column}", options)]
    for left, right in itertools.combinations(range(size), 2):
        name = f"{left}-{right}"
        records += [
            quantity(f"apart{name}"),
            use(
                f"C{name}",
                "apart",
                {"a": f"q{left}", "b": f"q{right}"},
                {"out": f"apart{name}"},
                decision="D0",
                literals={"columns": float(right - left)},
            ),
            requirement(f"R{name}", f"apart{name}", lower=1.0),
        ]
    return Engine(Shelf({"apart": toy}), Programme(records))


def counted(size: int) -> int:
    """Count permutations with all sums and all differences distinct."""
    return sum(
        len({row + column for column, row in enumerate(rows)}) == size
        and len({row - column for column, row in enumerate(rows)}) == size
        for rows in itertools.permutations(range(size))
    )


@pytest.mark.parametrize(("size", "solutions"), [(4, 2), (5, 10), (6, 4), (7, 40), (8, 92)])
def test_queens(size: int, solutions: int) -> None:
    found = option_sets(board(size))
    assert (found.total, found.count) == (size**size, solutions)
    assert len(found.groups) == 1
    assert len(found.sets) == min(solutions, 10)
    assert counted(min(size, 7)) == {4: 2, 5: 10, 6: 4, 7: 40, 8: 40}[size]
    for each in found.sets:
        rows = each.options
        assert len({row + column for column, row in enumerate(rows)}) == size
        assert len({row - column for column, row in enumerate(rows)}) == size


def test_three_queens_cannot_be_placed_and_every_square_says_why() -> None:
    found = option_sets(board(3))
    assert found.count == 0
    assert len(found.killed) == 9
    for each in found.killed:
        assert each.smallest
        assert len(each.others) == (1 if each.option == 1 else 2)  # the middle row sees most
