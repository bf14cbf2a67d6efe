"""Which tolerances scatter together, and whether that can be.

Correlations are stated in the records, quantity by quantity, and may be told anew for a question.
Two points go together component by component; a number and a point, with every component.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from tracker.errors import BadValueError
from tracker.evaluate.engine import Engine
from tracker.explore.scatter import Correlations, Name, Scatter
from tracker.model.programme import Programme
from tracker.model.records import Quantity

__all__ = ["correlations_of", "unpaired"]


def correlations_of(
    engine: Engine, drawn: Sequence[Scatter], told: Correlations
) -> dict[tuple[Name, Name], float]:
    """Return the correlations of what scatters.

    Parameters
    ----------
    engine : Engine
        Whose records state correlations.
    drawn : sequence of Scatter
        What scatters.
    told : Correlations
        Further ones; they replace what the records state of a pair.

    Raises
    ------
    BadValueError
        A pair that is told names what does not scatter, or they cannot all be: there is no
        positive definite matrix of correlation with these coefficients.
    """
    names = {each.name: place for place, each in enumerate(drawn)}
    for pair in told:
        for name in pair:
            if name not in names:
                item = _key(engine.programme, name)
                raise BadValueError("it does not scatter", item=item, field="correlated")
    found: dict[tuple[Name, Name], float] = {}
    for pair, coefficient in (*_stated(engine, drawn), *told.items()):
        one, other = sorted(pair, key=names.__getitem__)
        found[one, other] = coefficient
    _refuse_contradictions(engine.programme, found, names)
    return found


def unpaired(engine: Engine, drawn: Sequence[Scatter]) -> list[Quantity]:
    """Return the quantities whose stated correlation says nothing: one of the two is exact."""
    moving = {each.source.id for each in drawn}
    every = engine.programme.of(Quantity)
    return [each for each in every if any({each.id, one} - moving for one in each.correlated)]


def _stated(engine: Engine, drawn: Sequence[Scatter]) -> Iterator[tuple[tuple[Name, Name], float]]:
    by_id: dict[str, list[Name]] = {}
    for each in drawn:
        by_id.setdefault(each.source.id, []).append(each.name)
    for quantity in engine.programme.of(Quantity):
        for other, coefficient in quantity.correlated.items():
            for one in by_id.get(quantity.id, ()):
                for two in by_id.get(other, ()):
                    if not (one[1] and two[1]) or one[1] == two[1]:
                        yield (one, two), coefficient


def _matrix(
    correlated: Mapping[tuple[Name, Name], float], names: Sequence[Name]
) -> NDArray[np.float64]:
    places = {name: place for place, name in enumerate(names)}
    matrix = np.eye(len(names))
    for (one, other), coefficient in correlated.items():
        if one in places and other in places:
            pair = [places[one], places[other]]
            matrix[pair, pair[::-1]] = coefficient
    return matrix


def _holds(matrix: NDArray[np.float64]) -> bool:
    try:
        np.linalg.cholesky(matrix)
    except np.linalg.LinAlgError:
        return False
    return True


def _refuse_contradictions(
    programme: Programme,
    correlated: Mapping[tuple[Name, Name], float],
    names: Mapping[Name, int],
) -> None:
    """Name few quantities whose coefficients cannot all be: none of them can be left out."""
    paired = {name for pair in correlated for name in pair}
    left = [name for name in names if name in paired]
    if _holds(_matrix(correlated, left)):
        return
    for name in tuple(left):
        fewer = [each for each in left if each != name]
        if not _holds(_matrix(correlated, fewer)):
            left = fewer
    raise BadValueError(
        f"the correlations of {', '.join(_key(programme, each) for each in left)} contradict each "
        "other: no values scatter like that",
        field="correlated",
        remedy="A coefficient lies between −1 and 1; what goes with two that go apart cannot go "
        "fully with both",
    )


def _key(programme: Programme, name: Name) -> str:
    record = programme.get(name[0])
    return ".".join(filter(None, (record.key if record else name[0], name[1])))
