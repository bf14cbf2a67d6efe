"""Which of several processes makes a part cheapest, and how far the volume may move before that."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.contract.check import (
    CellKind,
    Config,
    Inputs,
    Kind,
    Manifest,
    Outputs,
    Port,
    PortColumn,
    Source,
)
from tracker.contract.figure import Figure
from whybone_chassis.configured_names import configured_names

__all__ = ["CHECK", "process_names"]

_PROCESSES = (
    PortColumn("process", "Name of the process", CellKind.TEXT),
    PortColumn("set_cost", "Cost of one set of tools", unit="money"),
    PortColumn("set_life", "Pieces one set of tools makes", unit="piece"),
    PortColumn("piece_cost", "Cost of one piece as quoted", unit="money/piece", default=0.0),
    PortColumn("one_off", "Paid once, whatever the volume", unit="money", default=0.0),
    PortColumn(
        "fits_both_sides",
        "Whether one set of tools serves left and right",
        CellKind.FLAG,
        default=False,
    ),
    PortColumn("material_mass", "Material in one piece", unit="kg", default=0.0),
    PortColumn("material_price", "Price of the material", unit="money/kg", default=0.0),
    PortColumn("scrap", "Share of the material that is lost, 0 to 1", default=0.0),
    PortColumn(
        "rate", "Pieces made in an hour; needed by hourly_cost", unit="piece/h", default=0.0
    ),
    PortColumn("hourly_cost", "Machine, labour, overhead", unit="money/h", default=0.0),
)

_INPUTS = (
    Port(
        key="processes",
        title="Processes",
        doc="One row per rival; costs add up, so quote either a piece cost or its parts",
        kind=Kind.TABLE,
        columns=_PROCESSES,
    ),
    Port(key="volume_per_year", title="Volume", doc="Vehicles a year", unit="vehicle/year"),
    Port(key="years", title="Years", doc="Years of production", unit="year"),
    Port(
        key="per_vehicle",
        title="Pieces per vehicle",
        doc="Both sides together; a single piece needs no left and right tool",
        kind=Kind.INTEGER,
        optional=True,
        default=1,
    ),
)

_OUTPUTS = (
    Port(
        key="cheapest",
        title="Cheapest process",
        doc="Its place in the table, counted from 1",
        kind=Kind.INTEGER,
    ),
    Port(
        key="unit_cost",
        title="Unit cost",
        doc="Of the cheapest process: tools, one-off and piece over all pieces",
        unit="money/piece",
    ),
    Port(
        key="advantage",
        title="Advantage over the next",
        doc="Unit cost of the second cheapest process less that of the cheapest",
        unit="money/piece",
        optional=True,
    ),
    Port(
        key="break_even_below",
        title="Break-even below",
        doc="Volume under which another process wins, years unchanged",
        unit="vehicle/year",
        optional=True,
    ),
    Port(
        key="break_even_above",
        title="Break-even above",
        doc="Volume over which another process wins, years unchanged",
        unit="vehicle/year",
        optional=True,
    ),
    Port(
        key="volume_room",
        title="Room of the volume",
        doc="Smallest change of the volume, as a share of it, after which another process wins",
        optional=True,
    ),
)

_CAUTIONS = (
    (
        "Tools are bought in whole sets: the unit cost jumps at every multiple of a set's life, so "
        "the cheapest process may change back and forth; the break-even volumes are the nearest."
    ),
    (
        "Break-even volumes are looked for up to a bounded number of tool sets, which the reason "
        "of a missing one names."
    ),
    "Costs are as stated: no inflation, interest or currency change, and money is not converted.",
    "Cost alone: strength, mass, lead time and quality of the processes are not compared.",
)

_SOURCES = (
    Source(
        "Ashby, Materials Selection in Mechanical Design",
        "batch cost model",
        "material, tooling stepping up at every multiple of the tool life, time; read",
    ),
    Source("Break-even table of a tool-maker", "", "published; read"),
)


class ProcessChoice:
    """The check; see the manifest. Configuration: `processes`, names separated by commas."""

    def manifest(self, config: Config) -> Manifest:
        """Describe the check; with named processes the cheapest is told by name as well.

        Raises
        ------
        ConfigError
            A process is named twice or not at all, or a field is unknown.
        """
        names = process_names(config)
        named = Port(
            key="cheapest_process",
            title="Cheapest process, by name",
            doc="One of the configured processes",
            kind=Kind.CHOICE,
            choices=names,
        )
        return Manifest(
            key="process-choice",
            version="1",
            title="Process choice",
            purpose="Compare rival processes of one part over the volume, and tell how far the "
            "volume may move before another one wins",
            inputs=_INPUTS,
            outputs=(*_OUTPUTS, named) if names else _OUTPUTS,
            sources=_SOURCES,
            cautions=_CAUTIONS,
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        """Compare the processes, row by row of volume, years and pieces."""
        from whybone_chassis.process_choice_rivals import choose

        return choose(inputs, process_names(config))

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:  # noqa: ARG002  not needed here
        """Show unit cost over volume, and which process wins where."""
        from whybone_chassis.process_choice_figures import figures

        return figures(inputs)


CHECK = ProcessChoice()


def process_names(config: Config) -> tuple[str, ...]:
    """Return the processes named in the configuration; none without it.

    Parameters
    ----------
    config : mapping of str to str
        May hold `processes`: names separated by commas.

    Raises
    ------
    ConfigError
        A process is named twice or not at all, or a field is unknown.
    """
    return configured_names(
        config,
        "processes",
        (),
        called="process",
        form="a name is empty; write the processes like forged, cut profile",
    )
