"""Finding by key or words: what begins a word comes before what is inside one."""

from __future__ import annotations

from tracker.tui.finding import Haystack, rank


def test_what_begins_words_comes_before_what_is_inside_them() -> None:
    hay = Haystack([("a", "the crack"), ("b", "tie-rack"), ("c", "track and rack"), ("d", "rac k")])
    assert list(hay.matches("rack")) == [1, 2, 0]


def test_each_way_to_meet_has_its_rank() -> None:
    text = "bush_rate rate of the rear bush"
    ranks = [
        rank(typed, typed.split(), "bush_rate", text)
        for typed in ("bush_rate", "bush", "h_r", "rear bu", "ear", "brt", "zz", "tb")
    ]
    assert ranks == [0, 1, 2, 3, 4, 5, 9, 9]
