"""gate list, show, freeze, pack, compare: readiness, baselines and what is shown at a gate."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracker.cli.as_json import comparison_json, plain
from tracker.cli.lazy import LazyGroup
from tracker.cli.options import Command, shared_options
from tracker.cli.progress import progressing
from tracker.cli.text.gates import frozen_text, gate_list_text, gate_page_text, packed_text
from tracker.cli.text.ripple import comparison_text
from tracker.cli.work import Work
from tracker.services.gates.readiness import gate_list, gate_page
from tracker.services.gates.views import PackedFile, PackedView

if TYPE_CHECKING:
    from tracker.services.packs.views import PackContent

__all__ = [
    "compare_command",
    "freeze_command",
    "gate_command",
    "list_command",
    "pack_command",
    "show_command",
]

FORMATS = ("html", "pdf", "md", "xlsx", "csv", "json")
"""What a pack can be written as: what `tracker.report.pack` writes, known without loading it."""

_HERE = "tracker.cli.commands.gates"
_AT_A_GATE: Mapping[str, tuple[str, str]] = {
    "list": (_HERE, "All gates: which are ready, which are frozen."),
    "show": (_HERE, "One gate: every criterion with what offends it."),
    "freeze": (_HERE, "Keep what the gate is shown, as a baseline."),
    "pack": (_HERE, "Write what was frozen, to be shown."),
    "compare": (_HERE, "What differs between two gates, worst first."),
}

_NOT_READY = 1

gate_command = LazyGroup(
    "gate",
    table=_AT_A_GATE,
    help="Readiness, baselines and packs of the programme's gates.",
    params=shared_options(),
)


@click.command("list", cls=Command)
@click.pass_obj
def list_command(work: Work) -> int:
    """List the gates by date; exits 1 if the next one to freeze is not ready."""
    view = gate_list(work.reading())
    work.tell(view, plain, gate_list_text)
    blocked = any(each.key == view.next and not each.ready for each in view.gates)
    return _NOT_READY if blocked else 0


@click.command("show", cls=Command)
@click.argument("gate")
@click.pass_obj
def show_command(work: Work, gate: str) -> int:
    """Show how ready a GATE is now, criterion by criterion; exits 1 if it is not."""
    view = gate_page(work.reading(), gate)
    work.tell(view, plain, gate_page_text)
    return 0 if view.ready else _NOT_READY


@click.command("freeze", cls=Command)
@click.argument("gate")
@click.option(
    "--why", default="", metavar="TEXT", help="The reason; needed where the gate is not ready."
)
@click.pass_obj
def freeze_command(work: Work, gate: str, why: str) -> None:
    """Freeze a GATE: keep all it is shown, with revision, head hash and versions.

    A gate that is not ready is frozen only with a reason, and the baseline says so; without one
    nothing is stored and the exit code is 1.
    """
    from tracker.services.gates.freezing import freeze_gate

    with progressing() as tell:
        view = freeze_gate(work.session(), gate, why, progress=tell)
    work.tell(view, plain, frozen_text)


@click.command("pack", cls=Command)
@click.argument("gate")
@click.option("--baseline", default="", metavar="KEY", help="Which one; else the gate's latest.")
@click.option("--out", default=".", metavar="DIR", help="Where the files go.", show_default=True)
@click.option(
    "--format",
    "formats",
    multiple=True,
    type=click.Choice(FORMATS),
    help="May be said several times; else all of them.",
)
@click.option("--force", is_flag=True, help="Overwrite files that hold something else.")
@click.pass_obj
def pack_command(
    work: Work, gate: str, baseline: str, out: str, formats: tuple[str, ...], force: bool
) -> None:
    """Write what was frozen at a GATE, from its baseline alone; nothing is computed again.

    Journal, baseline and content are compared first. Where they do not agree nothing is written and
    the exit code is 4. The same baseline gives the same bytes every time.
    """
    from tracker.services.gates.freezing import frozen_pack

    with progressing() as tell:
        tell("comparing journal, baseline and content")
        content = frozen_pack(work.records(), gate, baseline)
        files = []
        for each in dict.fromkeys(formats or FORMATS):
            tell(f"writing {each}")
            files.append(_written(content, each, Path(out), force))
    cover = content.cover
    view = PackedView(
        gate=cover.gate,
        baseline=cover.baseline,
        ready=cover.ready,
        revision=cover.revision,
        head=cover.head,
        files=tuple(files),
        caution=cover.caution,
    )
    work.tell(view, plain, packed_text)


def _written(content: PackContent, form: str, folder: Path, force: bool) -> PackedFile:
    from tracker.exchange.files import keep_whole
    from tracker.report.pack import SUFFIXES, render
    from tracker.services.packs.codec import digest_of

    data = render(content, form)
    path = folder / f"{content.cover.baseline}{SUFFIXES[form]}"
    keep_whole(path, data, overwrite=force)
    return PackedFile(format=form, path=str(path), bytes=len(data), sha256=digest_of(data))


@click.command("compare", cls=Command)
@click.argument("earlier")
@click.argument("later")
@click.pass_obj
def compare_command(work: Work, earlier: str, later: str) -> None:
    """Say what differs between two gates, baselines or revisions, worst first, and why."""
    from tracker.services.journal import compare, revision_named

    reading = work.reading()
    first, second = (revision_named(reading, each) for each in (earlier, later))
    work.tell(compare(reading, first, second), comparison_json, comparison_text)
