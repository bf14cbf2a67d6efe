"""The weighted score against a published selection matrix.

K. T. Ulrich and S. D. Eppinger, *Product Design and Development*, chapter on concept selection,
the scoring matrix of the reusable syringe (as reprinted in course notes): weights, ratings and the
totals 2.75, 3.45, 3.10 and 3.05, with concept DF first.
"""

from __future__ import annotations

import pytest

from tracker.services.weighing import score

CRITERIA = (
    "ease of handling",
    "ease of use",
    "readability of settings",
    "dose metering accuracy",
    "durability",
    "ease of manufacture",
    "portability",
)
WEIGHTS = ("5 ", "15", "10", "25", "15", "20", "10")
RATINGS = {
    "A": "3323233",
    "DF": "3433533",
    "E": "4452423",
    "G+": "4353323",
}
TOTALS = {"A": 2.75, "DF": 3.45, "E": 3.10, "G+": 3.05}


def test_the_published_totals_and_ranks() -> None:
    view = score(
        tuple(RATINGS),
        dict(zip(CRITERIA, WEIGHTS, strict=True)),
        {
            (concept, criterion): rating
            for concept, ratings in RATINGS.items()
            for criterion, rating in zip(CRITERIA, ratings, strict=True)
        },
    )
    assert view.totals == {concept: pytest.approx(total) for concept, total in TOTALS.items()}
    assert view.ranks == {"DF": 1, "E": 2, "G+": 3, "A": 4}
    assert view.shares["dose metering accuracy"] == pytest.approx(0.25)
