"""Many random edits of one programme, each held against passes from scratch.

Run it as `python -m tests.property.longrun --edits 10000 --seed 1`.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass

from tests.property.engine_edits import random_edit
from tests.property.engine_oracle import check_edit
from tests.property.programmes import Chooser, Seeded, allowed, binds_badly, first_records
from tests.property.toy_checks import TOYS, Shelf
from tracker.evaluate.engine import Engine
from tracker.evaluate.structure import is_structural
from tracker.model.programme import Programme

__all__ = ["Result", "run"]

_RESTART = 400  # edits after which a new programme is begun


@dataclass
class Result:
    """What a long run counted."""

    edits: int = 0
    structural: int = 0
    not_allowed: int = 0
    rings: int = 0
    runs: int = 0
    expected: int = 0
    seconds: float = 0.0
    programmes: int = 0
    largest: int = 0


def run(*, edits: int, seed: int) -> Result:
    """Make edits until so many have been applied; every one is checked.

    Raises
    ------
    AssertionError
        An edit differs from a pass from scratch, or ran a check too many or too few.
    """
    result, start = Result(), time.perf_counter()
    dice = Seeded(seed)
    while result.edits < edits:
        result.programmes += 1
        _one_programme(result, dice, min(_RESTART, edits - result.edits))
    result.seconds = time.perf_counter() - start
    return result


def _one_programme(result: Result, dice: Seeded, edits: int) -> None:
    shelf = Shelf(TOYS)
    engine = Engine(shelf, Programme(first_records()))
    choose = Chooser(dice, engine)
    goal = result.edits + edits
    while result.edits < goal:
        entries = random_edit(choose)
        if not allowed(engine.programme, entries) or (
            dice.whole(1, 6) > 1 and binds_badly(engine, entries)
        ):
            result.not_allowed += 1
            continue
        outcome = check_edit(engine, shelf, entries, stop_after=dice.whole(0, 5))
        if outcome.ring:
            result.rings += 1
            continue
        choose.history.append(entries)
        result.edits += 1
        result.structural += any(is_structural(each) for each in entries)
        result.runs += outcome.runs
        result.expected += outcome.expected
        result.largest = max(result.largest, len(engine.programme))


def main() -> None:
    """Run from the command line and print what was counted."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--edits", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    result = run(edits=given.edits, seed=given.seed)
    for name, count in vars(result).items():
        print(f"{name:12} {count:.1f}" if isinstance(count, float) else f"{name:12} {count}")
    print(f"runs ÷ expected = {result.runs / result.expected:.3f}")


if __name__ == "__main__":
    main()
