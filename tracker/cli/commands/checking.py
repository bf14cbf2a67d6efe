"""checks, calc: the installed checks, without a programme."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from tracker.cli.as_json import calc_json, manifest_json
from tracker.cli.options import Command
from tracker.cli.page import Page
from tracker.cli.text.checks import calc_text, manifest_text
from tracker.cli.work import Work
from tracker.errors import FileFormatError, InputError
from tracker.exchange.files import decode, read_bytes
from tracker.exchange.json_text import read_json
from tracker.services.calc import calculate, manifest
from tracker.services.calc_views import CalcResult
from tracker.services.session import Tools
from tracker.services.wording import visible

__all__ = ["calc_command", "checks_command"]

Known = list[dict[str, str]]


@click.command("checks", cls=Command)
@click.argument("key", required=False)
@click.pass_obj
def checks_command(work: Work, key: str | None) -> None:
    """List the installed checks, or describe one: ports, units, rules, sources, cautions."""
    from tracker.bootstrap import tools

    parts = tools()
    if key is None:
        installed = parts.catalogue.keys()
        known = [_known(parts, each) for each in installed]
        work.tell(known, _known_json, _known_text)
    else:
        work.tell(manifest(parts, key), manifest_json, manifest_text)


def _known(parts: Tools, key: str) -> dict[str, str]:
    """Describe an installed check in a line; one that cannot be loaded says why."""
    try:
        found = manifest(parts, key)
    except InputError as problem:
        return {"key": key, "version": "", "title": "", "problem": visible(str(problem))}
    return {"key": key, "version": found.version, "title": visible(found.title), "problem": ""}


def _known_json(known: Known) -> dict[str, Any]:
    return {"checks": known}


def _known_text(page: Page, known: Known) -> None:
    page.rows([[e["key"], e["version"], e["problem"] or e["title"]] for e in known], indent=0)


@click.command("calc", cls=Command)
@click.argument("check")
@click.argument("file", metavar="FILE|-")
@click.pass_obj
def calc_command(work: Work, check: str, file: str) -> int:
    """Run one CHECK on the inputs of a JSON file, or of standard input.

    \b
    The file is {"inputs": {"PORT": VALUE}} or {"cases": [{…}, …]}, with "config"
    and "currency" where the check wants them. A VALUE is a number in the port's
    unit, "12 mm", [x, y, z], a choice, true or false, or a list of rows.

    Exits 1 if a rule of the check is missed.
    """  # noqa: D301 - click reads the backspace as "do not rewrap"
    from tracker.bootstrap import tools

    document = _document(file)
    result = calculate(tools(), check, document)
    work.tell(result, calc_json, calc_text)
    return 1 if _missed(result) else 0


def _document(file: str) -> Mapping[str, Any]:
    data = sys.stdin.buffer.read() if file == "-" else read_bytes(Path(file))
    found = read_json(decode(data, file), item=file)
    if not isinstance(found, dict):
        raise FileFormatError(
            "it is not an object", item=file, remedy='Write {"inputs": {"port": value}}'
        )
    return found


def _missed(result: CalcResult) -> bool:
    return any(rule.verdict == "missed" for case in result.cases for rule in case.rules)
