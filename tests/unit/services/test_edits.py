"""Setting values: every form of address, every kind, and what is refused."""

from __future__ import annotations

from typing import Any

import pytest

from tracker.errors import (
    BadKeyError,
    BadTextError,
    BadValueError,
    DecisionError,
    DimensionError,
    InputError,
    SourceError,
    UnknownKeyError,
)
from tracker.model.records import Basis, BasisKind, Decision, Quantity, Requirement, Setting
from tracker.services.actions import add_items, set_values, try_values
from tracker.services.session import Session


def given(session: Session, key: str) -> Setting:
    setting = session.programme.named(key, Quantity).given
    assert setting is not None
    return setting


def band(session: Session, key: str) -> Requirement:
    return session.programme.named(key, Requirement)


def stated(session: Session, option: str) -> Setting:
    decision = session.programme.named("D-ARM", Decision)
    quantity = session.programme.named("arm", Quantity)
    return next(each for each in decision.options if each.key == option).settings[quantity.id]


@pytest.mark.parametrize(
    ("address", "raw", "value"),
    [
        ("load", "0.12 kN", 120.0),
        ("load", 120, 120.0),
        ("hub", "[1, 2, 3] cm", (10.0, 20.0, 30.0)),
        ("hub.x", "5 cm", (50.0, 600.0, 300.0)),
        ("hub.z", 1.5, (0.0, 600.0, 1.5)),
        ("side", "right", "right"),
        ("sealed", "no", False),
        ("parts[arm].mass", "2 kg", (("arm", 2.0, 2, False), ("stop L/R", 0.2, 4, False))),
        ("parts[1].count", "5", (("arm", 1.6, 5, False), ("stop L/R", 0.2, 4, False))),
        ("parts[stop L/R].spare", "yes", (("arm", 1.6, 2, False), ("stop L/R", 0.2, 4, True))),
        ("parts[2].part", "bump.stop", (("arm", 1.6, 2, False), ("bump.stop", 0.2, 4, False))),
        ("parts[2].part", "", (("arm", 1.6, 2, False), ("", 0.2, 4, False))),
        ("parts", [["hub", "5 kg", 1, True]], (("hub", 5.0, 1, True),)),
        ("parts", [], ()),
        ("tread", "1.5 m", 1500.0),
    ],
)
def test_every_form_of_address_sets_its_value(
    small: Session, address: str, raw: object, value: object
) -> None:
    set_values(small, {address: raw}, "try")
    assert given(small, address.partition("[")[0].partition(".")[0]).value == value


def test_several_edits_of_one_item_add_up(small: Session) -> None:
    done = set_values(small, {"hub.x": "1", "hub.y": "2", "parts[1].mass": 1, "load": 90}, "all")
    assert given(small, "hub").value == (1.0, 2.0, 300.0)
    assert done.revision == small.head.revision == 3


def test_the_text_typed_and_the_basis_are_kept(small: Session) -> None:
    basis = Basis(kind=BasisKind.MEASURED, source="Rig 4", dated="2031-01-10")
    set_values(small, {"load": " 0.12 kN "}, "measured", basis)
    assert given(small, "load") == Setting(value=120.0, typed="0.12 kN", basis=basis)
    set_values(small, {"load": "130"}, "a guess")
    assert given(small, "load").basis == Basis()


def test_an_empty_text_makes_a_value_unknown(small: Session) -> None:
    set_values(small, {"load": "", "D-ARM/long.arm": ""}, "we do not know")
    assert given(small, "load") == Setting(reason="taken away")
    assert stated(small, "long").value is None


@pytest.mark.parametrize("address", ["hub.z", "parts[arm].mass", "parts[arm].count"])
def test_a_part_cannot_be_taken_away(small: Session, address: str) -> None:
    with pytest.raises(BadValueError) as caught:
        set_values(small, {address: ""}, "gone")
    assert caught.value.item == address


@pytest.mark.parametrize(
    ("address", "raw", "field", "value"),
    [
        ("R-TORQUE.upper", "1.5e4 N*mm", "upper", 15.0),
        ("R-TORQUE.upper", 15, "upper", 15.0),
        ("R-TORQUE.lower", "1", "lower", 1.0),
        ("R-HUB.target", "29.5 cm", "target", 295.0),
        ("R-CELL.upper", "3e-3 t", "upper", 3.0),
        ("R-TORQUE.scale", "2000 N*mm", "scale", 2.0),
    ],
)
def test_bounds_are_set_in_the_judged_unit(
    small: Session, address: str, raw: object, field: str, value: float
) -> None:
    set_values(small, {address: raw}, "agreed")
    bound = getattr(band(small, address.partition(".")[0]), field)
    assert bound.value == pytest.approx(value)


def test_guard_and_allowed_values_are_set(small: Session) -> None:
    set_values(
        small,
        {"R-TORQUE.guard": "0.3", "R-SIDE.allowed": "left, right", "R-SEAL.allowed": ["yes", "no"]},
        "agreed",
    )
    assert band(small, "R-TORQUE").guard == 0.3
    assert band(small, "R-SIDE").allowed == ("left", "right")
    assert band(small, "R-SEAL").allowed == ("yes", "no")


def test_bounds_are_taken_away(small: Session) -> None:
    set_values(small, {"R-HUB.lower": "", "R-HUB.target": "", "R-HUB.scale": "10 mm"}, "agreed")
    requirement = band(small, "R-HUB")
    assert (requirement.lower, requirement.target) == (None, None)
    set_values(small, {"R-HUB.scale": ""}, "agreed")
    assert band(small, "R-HUB").scale is None


def test_the_last_bound_stays(small: Session) -> None:
    with pytest.raises(BadValueError) as caught:
        set_values(small, {"R-TORQUE.upper": ""}, "no limit")
    assert caught.value.item == "R-TORQUE"
    assert band(small, "R-TORQUE").upper is not None


def test_what_an_option_states_is_set(small: Session) -> None:
    set_values(small, {"D-ARM/short.arm": "11 cm", "D-ARM/later.arm": "140"}, "new sketch")
    assert stated(small, "short").value == 110.0
    assert stated(small, "later") == Setting(value=140.0, typed="140")


def test_what_a_settled_decision_states_stays(settled: Session) -> None:
    with pytest.raises(DecisionError) as caught:
        set_values(settled, {"D-ARM/long.arm": "160"}, "longer")
    assert "Reopen D-ARM" in caught.value.remedy


def test_a_value_with_another_source_names_it(small: Session) -> None:
    with pytest.raises(SourceError) as caught:
        set_values(small, {"arm": "100"}, "shorter")
    assert "D-ARM/OPTION.arm" in caught.value.remedy
    with pytest.raises(SourceError) as caught:
        set_values(small, {"torque": "1"}, "less")
    assert "computed by check C-LEVER" in caught.value.message


@pytest.mark.parametrize(
    ("address", "raw", "error", "word"),
    [
        ("nothing", "1", UnknownKeyError, "nothing is called 'nothing'"),
        ("D-ARM", "1", BadKeyError, "only quantities, bounds and option values"),
        ("G1", "1", BadKeyError, "only quantities, bounds and option values"),
        ("programme", "1", BadKeyError, "only quantities, bounds and option values"),
        ("R-TORQUE", "1", BadKeyError, "no field ''"),
        ("R-TORQUE.colour", "1", BadKeyError, "lower, upper, target, scale, guard, allowed"),
        ("R-TORQUE.upper", "5 kg", DimensionError, "N*m"),
        ("R-TORQUE.guard", "5 kg", DimensionError, "a pure number"),
        ("R-TORQUE.guard", "", BadValueError, "does not begin with a number"),
        ("R-TORQUE.guard", "1", BadValueError, "a guard is a share"),
        ("R-SIDE.allowed", "up", BadValueError, "Possible: left, right"),
        ("R-SIDE.upper", "3", BadValueError, "no bounds"),
        ("R-HUB.lower", "400", BadValueError, "upside down"),
        ("load", "5 kg", DimensionError, "kg does not measure the same thing as N"),
        ("load", "1,5", BadValueError, "comma"),
        ("load", "1e999", BadValueError, "too large"),
        ("load.x", "1", BadKeyError, "no part 'x'"),
        ("hub.w", "1", BadKeyError, "no part 'w'"),
        ("hub[1].x", "1", BadKeyError, "no part"),
        ("parts.mass", "1", BadKeyError, "no part 'mass'"),
        ("parts[arm].weight", "1", BadKeyError, "no part"),
        ("parts[wheel].mass", "1", UnknownKeyError, "Rows: arm, stop L/R"),
        ("parts[0].mass", "1", UnknownKeyError, "no row '0'"),
        ("parts[arm].mass", "3 mm", DimensionError, "mm does not"),
        ("parts[arm].count", "1.5", BadValueError, "not a whole number"),
        ("parts[", "1", BadKeyError, "not a cell"),
        ("tread.x", "1", BadKeyError, "no part"),
        ("D-ARM/short", "1", BadKeyError, "DECISION/option.quantity"),
        ("D-ARM/none.arm", "1", UnknownKeyError, "Options: short, long, later"),
        ("D-ARM/short.load", "1", UnknownKeyError, "no option short that sets load"),
        ("D-ARM/short.nothing", "1", UnknownKeyError, "no quantity is called"),
        ("R-HUB/short.arm", "1", UnknownKeyError, "is a requirement, not a decision"),
        ("no/short.arm", "1", UnknownKeyError, "no decision is called"),
        ("", "1", BadKeyError, "is not a key"),
        ("a b", "1", BadKeyError, "is not a key"),
        ("load\u202e", "1", BadKeyError, "is not a key"),
        ("load", "5 N\x1b[31m", InputError, ""),
        ("parts[arm].part", "a\x00b", BadTextError, "control character"),
        ("parts[arm].part", "a" * 501, BadTextError, "501 characters"),
        ("load", "9" * 500, BadValueError, "too long"),
    ],
)
def test_what_does_not_fit_is_refused_and_nothing_changes(
    small: Session, address: str, raw: object, error: type[InputError], word: str
) -> None:
    head, records = small.head, list(small.programme)
    for attempt in (lambda: try_values(small, {address: raw}), lambda: _set(small, address, raw)):
        with pytest.raises(error) as caught:
            attempt()
        assert word in str(caught.value)
    assert small.head == head
    assert list(small.programme) == records


def _set(session: Session, address: str, raw: object) -> Any:  # noqa: ANN401 - never returns
    return set_values(session, {address: raw}, "try")


def test_a_part_of_what_is_unknown_cannot_be_set(small: Session) -> None:
    add_items(
        small,
        [{"kind": "quantity", "key": "p", "title": "P", "type": "point", "unit": "mm"}],
        "a point",
    )
    with pytest.raises(BadValueError) as caught:
        set_values(small, {"p.x": "1"}, "try")
    assert (caught.value.item, caught.value.remedy) == ("p.x", "Give it whole")
    set_values(small, {"p": "[1, 2, 3]", "p.x": "9"}, "whole first")
    assert given(small, "p").value == (9.0, 2.0, 3.0)


def test_a_row_goes_by_its_name_before_its_number(small: Session) -> None:
    """What is written is what a check reads at the same address."""
    rows = [["2", 1.0, 1, False], ["1", 2.0, 1, False]]
    set_values(small, {"parts": rows}, "numbers for names")
    add_items(
        small,
        [
            {
                "kind": "requirement",
                "key": "R-ONE",
                "statement": "First",
                "quantity": "parts[1].mass",
                "upper": "9 kg",
            }
        ],
        "judge it",
    )
    set_values(small, {"parts[1].mass": "3 kg"}, "heavier")
    assert given(small, "parts").value == (("2", 1.0, 1, False), ("1", 3.0, 1, False))
    place = small.engine.graph.judges_of[band(small, "R-ONE").id][0]
    slot = small.engine.state.slots[small.engine.graph.judges[place].slot]
    assert slot == 3.0


def test_a_table_without_names_goes_by_number(small: Session) -> None:
    table = {
        "kind": "quantity",
        "key": "curve",
        "title": "Curve",
        "type": "table",
        "columns": [{"name": "x", "unit": "mm"}, {"name": "y", "unit": "N"}],
        "value": [[2, 10], [1, 20]],
    }
    add_items(small, [table], "a curve")
    set_values(small, {"curve[1].y": "0.05 kN"}, "stiffer")
    assert given(small, "curve").value == ((2.0, 50.0), (1.0, 20.0))
    with pytest.raises(UnknownKeyError):
        set_values(small, {"curve[2.0].y": "1"}, "by value")


def test_setting_needs_a_reason_and_a_change(small: Session) -> None:
    with pytest.raises(DecisionError) as caught:
        set_values(small, {"load": "1 N"}, "  ")
    assert caught.value.field == "why"
    with pytest.raises(InputError, match="nothing would change"):
        set_values(
            small,
            {"load": "100 N"},
            "again",
            Basis(kind=BasisKind.QUOTED, source="Supplier sheet 7", dated="2030-11-02"),
        )
    with pytest.raises(BadTextError):
        set_values(small, {"load": "1 N"}, "because\x07")
