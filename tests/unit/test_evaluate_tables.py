"""Tables on their way into a check."""

from __future__ import annotations

import numpy as np
import pytest

from tests.property.toy_checks import KELVIN, METRE, MM, port
from tests.unit.probe import Probe, fault
from tests.unit.small_world import change, quantity
from tracker.contract.check import PortColumn, Table
from tracker.evaluate.slots import Rows, Unknown
from tracker.model.records import Quantity
from tracker.model.units import Unit
from tracker.model.values import CellKind, Column, Kind

TABLE = port(
    "t",
    Kind.TABLE,
    columns=(
        PortColumn("name", "row", CellKind.TEXT),
        PortColumn("mass", "mass", CellKind.REAL, "mm"),
        PortColumn("count", "count", CellKind.INTEGER, default=2),
        PortColumn("own", "own", CellKind.FLAG, default=False),
        PortColumn("note", "note", CellKind.TEXT, default="none"),
    ),
)


def parts(*columns: Column, rows: Rows = (("arm", 1.5),)) -> Quantity:
    return quantity("parts", rows, Kind.TABLE, columns=columns)


NAME = Column("name", CellKind.TEXT)


def test_a_table_reaches_the_check_by_column_with_its_units_and_defaults() -> None:
    probe = Probe(TABLE)
    rows = (("arm", 1.5, "x"), ("hub", 2.0, "y"))
    probe.engine(
        parts(NAME, Column("mass", unit=METRE), Column("extra", CellKind.TEXT), rows=rows),
        inputs={"t": "parts"},
    )
    table = probe.seen["t"]
    assert isinstance(table, Table)
    assert table.rows == 2
    assert table.texts("name") == ("arm", "hub")
    assert table.reals("mass").tolist() == [1500.0, 2000.0]
    assert table.columns["count"].tolist() == [2, 2]  # type: ignore[union-attr] # a numeric column
    assert table.flags("own").tolist() == [False, False]
    assert table.texts("note") == ("none", "none")


def test_nobody_can_change_a_table() -> None:
    probe = Probe(TABLE)
    probe.engine(parts(NAME, Column("mass", unit=MM)), inputs={"t": "parts"})
    with pytest.raises(TypeError):
        probe.seen["t"].columns["mass"] = np.zeros(1)
    with pytest.raises(ValueError, match="read-only"):
        probe.seen["t"].columns["mass"][0] = 0.0


def test_a_table_is_read_once_as_long_as_it_stays() -> None:
    probe = Probe(TABLE, port("a"))
    engine = probe.engine(
        parts(NAME, Column("mass", unit=MM)), quantity("q", 1.0), inputs={"t": "parts", "a": "q"}
    )
    first = probe.seen["t"]
    change(engine, quantity("q", 2.0))
    assert probe.seen["t"] is first
    change(engine, parts(NAME, Column("mass", unit=MM), rows=(("arm", 9.0),)))
    assert probe.seen["t"].reals("mass").tolist() == [9.0]


def test_whole_cells_widen_and_keep_their_kind_elsewhere() -> None:
    probe = Probe(TABLE)
    columns = (NAME, Column("mass", CellKind.INTEGER, MM), Column("count", CellKind.INTEGER))
    probe.engine(parts(*columns, rows=(("arm", 3, 4),)), inputs={"t": "parts"})
    assert probe.seen["t"].columns["mass"].dtype == np.float64
    assert probe.seen["t"].columns["count"].tolist() == [4]


@pytest.mark.parametrize(
    ("columns", "rows", "says"),
    [
        ((NAME,), (("arm",),), "the table lacks the column 'mass'"),
        ((NAME, Column("mass", CellKind.FLAG)), (("arm", True),), "flag cells cannot feed real"),
        ((NAME, Column("mass", unit=KELVIN)), (("arm", 1.0),), "K does not measure the same"),
        (
            (NAME, Column("mass", unit=MM), Column("count", CellKind.REAL)),
            (("arm", 1.0, 1.0),),
            "real cells cannot feed integer cells",
        ),
        (
            (NAME, Column("mass", unit=MM), Column("count", CellKind.INTEGER, Unit("k", (), 1e3))),
            (("arm", 1.0, 1),),
            "a whole number of k is not converted to a pure number",
        ),
    ],
)
def test_a_table_that_does_not_fit_is_refused(
    columns: tuple[Column, ...],
    rows: Rows,
    says: str,
) -> None:
    probe = Probe(TABLE)
    engine = probe.engine(parts(*columns, rows=rows), inputs={"t": "parts"})
    assert says in fault(engine)


def test_a_cell_too_large_in_the_checks_unit_blocks() -> None:
    probe = Probe(TABLE)
    engine = probe.engine(
        parts(NAME, Column("mass", unit=METRE), rows=(("arm", 1e308),)), inputs={"t": "parts"}
    )
    assert engine.state.blocks == [Unknown("t is too large in the check's unit", "C")]
