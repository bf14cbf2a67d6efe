"""Why a row misses its aim: kept by hand, shown on the results page where the row is missed."""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["REASONS"]

REASONS: Mapping[str, str] = {
    "overhead": """
        A bare call of the trivial check takes 0.65 µs, so the aim leaves the engine 1.0 µs a check;
        it takes 1.5 to 1.8. By profile: gathering the inputs 0.2, looking at what came back (type,
        shape, finite, read-only) 0.35, comparing it with the old bits and noting what moved 0.25,
        the walk in topological order with its place to cancel 0.3, the calls between these 0.2,
        judging and standings 0.2. Tried, before 0.2 was saved in these: gathering, calling and
        collecting in one function for checks with one plain output gave 3.15 instead of 3.67, a
        function made for every check 3.0; both would say twice what makes an answer acceptable,
        and neither reaches the aim. A real check takes a hundred times as long as all this (row
        `edit`).
        """,
    "screen-paint": """
        Starting the app and painting takes 0.15 s whatever there is to show. Opening 10,000 items
        adds 0.13 s: fetching the rows and their digest 20 ms, JSON 15, making the records 50,
        compiling 12, values, verdicts and standings 22; the opening page, 2,000 requirements and
        2,000 decisions in words, adds 35 ms. The app starts while the engine's thread opens the
        programme, but both want the interpreter's lock, so the two times add up and more where
        cores are short; opening only after the first frame was tried too, on a machine too busy to
        tell. Tried: one JSON text for all records (no gain), a shorter way to write numbers (3 ms),
        the garbage collector held off (done already). A page painted before all records are read
        would show what is not judged yet. What a user waits for, from the command to the items, is
        the row `screen-start`.
        """,
}
