"""headroom, drivers, spread: seeing further than one edit."""

from __future__ import annotations

import click

from tracker.cli.as_json import plain
from tracker.cli.options import Command
from tracker.cli.progress import progressing
from tracker.cli.text.exploring import drivers_text, headroom_text, spread_text
from tracker.cli.work import Work
from tracker.services.exploring import Plan, drivers, headroom, spread

__all__ = ["drivers_command", "headroom_command", "spread_command"]


@click.command("headroom", cls=Command)
@click.argument("key", required=False, default="")
@click.option(
    "--points",
    default=128,
    type=click.IntRange(2, 100_000),
    show_default=True,
    help="Stretches between samples where nothing is certified.",
)
@click.pass_obj
def headroom_command(work: Work, key: str, points: int) -> None:
    """Show how far a value may move before a decision that stands stops standing.

    KEY is a quantity, a component KEY.x, a cell KEY[row].column, a requirement or a bound of one,
    REQUIREMENT.upper; without it, every adjustable quantity and every bound is asked for.
    """
    with progressing() as tell:
        view = headroom(work.reading(), key, points=points, progress=tell)
    work.tell(view, plain, headroom_text)


@click.command("drivers", cls=Command)
@click.argument("requirement")
@click.pass_obj
def drivers_command(work: Work, requirement: str) -> None:
    """Show which values the verdict of a REQUIREMENT depends on most.

    Each is moved by its tolerance, else by half its adjustable range, else by 1 % of its size, a
    coordinate by 1 mm. What has none of these comes last, with its slope alone.
    """
    with progressing() as tell:
        view = drivers(work.reading(), requirement, progress=tell)
    work.tell(view, plain, drivers_text)


@click.command("spread", cls=Command)
@click.option(
    "--half-width",
    default=0.005,
    type=click.FloatRange(0, 0.5, min_open=True),
    show_default=True,
    help="Know every probability to within this.",
)
@click.option(
    "--samples",
    default=131_072,
    type=click.IntRange(4096, 2**22),
    show_default=True,
    help="Stop at so many samples, whatever is known then.",
)
@click.option(
    "--seed", default=1, type=click.IntRange(0), show_default=True, help="Of the samples."
)
@click.option(
    "--owners",
    default=4096,
    type=click.IntRange(0, 2**20),
    show_default=True,
    help="Base samples for whose scatter makes the risk, a power of two; 0 leaves that out.",
)
@click.pass_obj
def spread_command(work: Work, half_width: float, samples: int, seed: int, owners: int) -> None:
    """Show how likely each decision is to stand, given the tolerances.

    A normal tolerance ± is two standard deviations; a rectangular or triangular one holds every
    value.
    """
    plan = Plan(half_width=half_width, most=samples, seed=seed, owner_samples=owners)
    with progressing() as tell:
        view = spread(work.reading(), plan, progress=tell)
    work.tell(view, plain, spread_text)
