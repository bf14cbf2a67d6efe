"""Blocks come in an order that can be worked through, whatever the matrix looks like."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tracker.explore.partition import Block, partition

NEEDS = st.dictionaries(
    st.integers(0, 9), st.frozensets(st.integers(0, 12), max_size=5), max_size=10
)


def test_nothing_has_no_blocks() -> None:
    assert partition({}) == ()


def test_what_needs_nothing_keeps_its_order() -> None:
    blocks = partition({"c": set[str](), "a": set[str](), "b": set[str]()})
    assert blocks == (Block(("c",), 0), Block(("a",), 0), Block(("b",), 0))


def test_an_item_that_needs_itself_or_a_stranger_is_alone() -> None:
    assert partition({"a": {"a", "stranger"}}) == (Block(("a",), 0),)


def test_a_ring_is_one_block_and_what_hangs_on_it_comes_later() -> None:
    blocks = partition({"late": {"x"}, "x": {"y"}, "y": {"z"}, "z": {"x", "early"}, "early": set()})
    assert [each.items for each in blocks] == [("early",), ("x", "z", "y"), ("late",)]


def test_within_a_block_comes_next_what_lacks_fewest_of_it() -> None:
    (block,) = partition({"a": {"b", "c"}, "b": {"a"}, "c": {"a", "b"}})
    assert block.items == ("b", "a", "c")


def test_a_very_long_chain_is_walked() -> None:
    blocks = partition({at: {at + 1} for at in range(20_000)})
    assert blocks[0] == Block((19_999,), 0)
    assert blocks[-1] == Block((0,), 19_999)


@given(NEEDS)
def test_every_item_is_in_one_block_after_all_it_needs(needs: dict[int, frozenset[int]]) -> None:
    blocks = partition(needs)
    place = {item: at for at, block in enumerate(blocks) for item in block.items}
    assert sorted(place) == sorted(needs)
    for item, wanted in needs.items():
        for each in wanted & needs.keys():
            assert place[each] <= place[item]
            if place[each] != place[item]:
                assert blocks[place[each]].level < blocks[place[item]].level
