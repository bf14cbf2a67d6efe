"""What the tools of a programme cost, and what sharing and carrying over save."""

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

__all__ = ["CHECK", "DEFAULT_GATES", "gate_names"]

DEFAULT_GATES = ("concept", "design", "tooling", "pilot", "launch")
"""Gates in their order where the configuration names none."""

_PARTS = (
    PortColumn("part", "Name of the part", CellKind.TEXT),
    PortColumn("process", "How it is made", CellKind.TEXT, default=""),
    PortColumn("set_cost", "Cost of one set of tools", unit="money"),
    PortColumn("set_life", "Pieces one set of tools makes", unit="piece"),
    PortColumn("piece_cost", "Cost of one piece", unit="money/piece"),
    PortColumn("per_vehicle", "Pieces on one vehicle", CellKind.INTEGER),
    PortColumn("carried_over", "Whether its tools exist already", CellKind.FLAG, default=False),
    PortColumn(
        "fits_both_sides",
        "Whether the same piece goes left and right",
        CellKind.FLAG,
        default=False,
    ),
    PortColumn("lead_weeks", "Time from order to tool", unit="week", default=0.0),
    PortColumn("gate", "Gate the tool is due at", CellKind.TEXT, default=""),
)

_ONE_OFFS = (
    PortColumn("item", "Fixture, gauge, sample or change", CellKind.TEXT),
    PortColumn("cost", "What it costs, once", unit="money"),
    PortColumn("gate", "Gate it is due at", CellKind.TEXT, default=""),
)

_GATES = (
    PortColumn("gate", "Name of the gate", CellKind.TEXT),
    PortColumn("date", "Its date, ISO 8601 (2026-09-30)", CellKind.TEXT),
)


def _inputs(gates: tuple[str, ...]) -> tuple[Port, ...]:
    return (
        Port(
            key="parts",
            title="Parts",
            doc="One row per part; a part that needs no tools has a set cost of 0",
            kind=Kind.TABLE,
            columns=_PARTS,
        ),
        Port(
            key="one_offs",
            title="One-off costs",
            doc="Fixtures, gauges, samples, changes",
            kind=Kind.TABLE,
            columns=_ONE_OFFS,
            optional=True,
        ),
        Port(
            key="volume_per_year",
            title="Volume",
            doc="Vehicles a year",
            unit="vehicle/year",
        ),
        Port(key="years", title="Years", doc="Years of production", unit="year"),
        Port(
            key="gate",
            title="Gate",
            doc="Gate up to which, itself included, `tooling_to_gate` sums",
            kind=Kind.CHOICE,
            choices=gates,
            optional=True,
        ),
        Port(
            key="gates",
            title="Gate dates",
            doc="Gates with their dates; their order replaces the configured one",
            kind=Kind.TABLE,
            columns=_GATES,
            optional=True,
        ),
    )


_OUTPUTS = (
    Port(
        key="tooling_total",
        title="Tooling, total",
        doc="All tool sets over the years of production, one-off costs included",
        unit="money",
    ),
    Port(
        key="tooling_per_vehicle",
        title="Tooling per vehicle",
        doc="Total tooling spread over all vehicles",
        unit="money/vehicle",
    ),
    Port(
        key="piece_cost_per_vehicle",
        title="Pieces per vehicle",
        doc="Cost of the pieces on one vehicle, carried-over parts included",
        unit="money/vehicle",
    ),
    Port(
        key="cost_per_vehicle",
        title="Cost per vehicle",
        doc="Pieces and tooling of one vehicle",
        unit="money/vehicle",
    ),
    Port(
        key="tool_sets",
        title="Tool sets",
        doc="Sets of tools bought over the years of production",
        kind=Kind.INTEGER,
    ),
    Port(
        key="one_offs_total",
        title="One-off costs, total",
        doc="Part of the total that is not tool sets",
        unit="money",
    ),
    Port(
        key="saved_by_both_sides",
        title="Saved by parts that fit both sides",
        doc="Further tooling if every such part needed a left and a right tool",
        unit="money",
    ),
    Port(
        key="saved_by_carry_over",
        title="Saved by carrying over",
        doc="Further tooling if the carried-over parts needed tools at their stated set cost",
        unit="money",
    ),
    Port(
        key="tooling_to_gate",
        title="Tooling to the gate",
        doc="Tool sets and one-off costs due at `gate` or before",
        unit="money",
        optional=True,
    ),
    Port(
        key="order_lead",
        title="First order before the gate",
        doc="How long before `gate` the first tool due by it must be ordered; needs `gates`",
        unit="week",
        optional=True,
    ),
)

_TRENDS = {"tooling_total": 1, "tool_sets": 1, "piece_cost_per_vehicle": 0, "one_offs_total": 0}

_CAUTIONS = (
    (
        "Costs are sums of what the tables state: no inflation, interest, scrap or currency "
        "change, and money is never converted."
    ),
    (
        "All sets a part needs over the whole production are counted at the gate of the part, "
        "replacements included."
    ),
    (
        "A part that is on the vehicle more than once and does not fit both sides is taken to "
        "need a left and a right tool."
    ),
)

_SOURCES = (
    Source(
        "Ashby, Materials Selection in Mechanical Design",
        "batch cost model",
        "tooling term stepping up at every multiple of the tool life; read",
    ),
    Source("Tool sets for left and right parts", "", "common practice, no source"),
)


class ToolingBudget:
    """The check; see the manifest. Configuration: `gates`, names in order, separated by commas."""

    def manifest(self, config: Config) -> Manifest:
        """Describe the check.

        Raises
        ------
        ConfigError
            A gate is named twice or not at all, or a field is unknown.
        """
        return Manifest(
            key="tooling-budget",
            version="1",
            title="Tooling budget",
            purpose="Add up tools and pieces over the years of production, tell what sharing and "
            "carrying over save, and when the tools must be ordered",
            inputs=_inputs(gate_names(config)),
            outputs=_OUTPUTS,
            sources=_SOURCES,
            cautions=_CAUTIONS,
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        """Add up, row by row of volume, years and gate."""
        from whybone_chassis.tooling_sums import budget

        return budget(inputs, gate_names(config))

    def monotone(self, output: str, input: str, config: Config) -> int | None:  # noqa: A002, ARG002 - the contract's names
        """Promise that more vehicles never need fewer tools; pieces and one-offs do not count them.

        What sharing and carrying over save, and what a vehicle costs, goes up and down.
        """
        return _TRENDS.get(output) if input in ("volume_per_year", "years") else None

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:
        """Show spend by gate and by part, and the order-by dates."""
        from whybone_chassis.tooling_figures import figures

        return figures(inputs, gate_names(config))


CHECK = ToolingBudget()


def gate_names(config: Config) -> tuple[str, ...]:
    """Return the gates in their order.

    Parameters
    ----------
    config : mapping of str to str
        May hold `gates`: names separated by commas.

    Returns
    -------
    tuple of str
        Their names; `DEFAULT_GATES` without a configuration.

    Raises
    ------
    ConfigError
        A gate is named twice or not at all, or a field is unknown.
    """
    return configured_names(
        config,
        "gates",
        DEFAULT_GATES,
        called="gate",
        form="a name is empty; write the gates like concept, tooling, launch",
    )
