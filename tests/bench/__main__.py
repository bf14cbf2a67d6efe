"""`python -m tests.bench [--json] [--quick] [--repeat N] [--page FILE] [ROW …]`: the bench."""

from __future__ import annotations

import argparse
import inspect
import json
import os
import sys
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from tests.bench.check_rows import (
    batch_ball_joint_moment,
    batch_brake_package,
    batch_camber_travel,
    batch_joint_angles,
    batch_ratio_band,
    batch_rear_links,
    batch_roll_steer,
    batch_steering_axis,
    linkage,
)
from tests.bench.engine_rows import edit, minimality, overhead
from tests.bench.explore_rows import headroom_row, spread_loop, spread_numpy
from tests.bench.formula_rows import formula
from tests.bench.growth_rows import cone, cone_dense, cone_share, growth
from tests.bench.harness import Row, load, machine, measure
from tests.bench.pack_rows import pack_freeze, pack_write
from tests.bench.page import Run, line_of, page
from tests.bench.preview_rows import preview, preview_structure
from tests.bench.reasons import REASONS
from tests.bench.screen_rows import screen_idle, screen_key, screen_paint, screen_start
from tests.bench.set_rows import sets_row
from tests.bench.start_rows import start_status, start_version
from tests.bench.store_rows import durable, journal

ROWS: Mapping[str, Callable[..., Row]] = {
    "minimality": minimality,
    "edit": edit,
    "overhead": overhead,
    "cone": cone,
    "cone-share": cone_share,
    "cone-dense": cone_dense,
    "growth": growth,
    "preview": preview,
    "preview-structure": preview_structure,
    "formula": formula,
    "linkage": linkage,
    "batch-ratio-band": batch_ratio_band,
    "batch-ball-joint-moment": batch_ball_joint_moment,
    "batch-rear-links": batch_rear_links,
    "batch-roll-steer": batch_roll_steer,
    "batch-camber-travel": batch_camber_travel,
    "batch-steering-axis": batch_steering_axis,
    "batch-joint-angles": batch_joint_angles,
    "batch-brake-package": batch_brake_package,
    "headroom": headroom_row,
    "spread-loop": spread_loop,
    "spread-numpy": spread_numpy,
    "sets": sets_row,
    "durable": durable,
    "journal": journal,
    "start-version": start_version,
    "start-status": start_status,
    "screen-paint": screen_paint,
    "screen-start": screen_start,
    "pack-freeze": pack_freeze,
    "pack-write": pack_write,
    "screen-key": screen_key,
    "screen-idle": screen_idle,
}


def main() -> int:
    """Measure, print the table or JSON, and write the results page where asked to."""
    options = _options()
    began, loads = datetime.now(UTC), [load()]
    measured = []
    for name in options.rows or ROWS:
        found = measure(partial(ROWS[name], quick=options.quick), options.repeat)
        measured.append(found)
        print(line_of(found), file=sys.stderr if options.json else sys.stdout, flush=True)
    loads.append(load())
    if options.json:
        rows = [each.plain() for each in measured]
        print(json.dumps({"machine": machine(), "rows": rows}, indent=2))
    if options.page:
        words = {name: inspect.getdoc(row) or "" for name, row in ROWS.items()}
        run = Run(began.strftime("%Y-%m-%d %H:%M UTC"), machine(), loads, quick=options.quick)
        options.page.write_text(page(run, measured, words, REASONS), encoding="utf-8")
    return 0


def _options() -> argparse.Namespace:
    os.environ["WHYBONE_TRACES"] = "off"  # the rows compute, whatever this machine computed before
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("rows", nargs="*", choices=[*ROWS, []], help="rows to measure; all if none")
    parser.add_argument("--json", action="store_true", help="one JSON document on stdout")
    parser.add_argument("--quick", action="store_true", help="fewer rounds, smaller programmes")
    parser.add_argument(
        "--repeat",
        type=int,
        default=1,
        metavar="N",
        help="measure each N times, if it is quick",
    )
    parser.add_argument("--page", type=Path, metavar="FILE", help="write the results page here")
    return parser.parse_args()


if __name__ == "__main__":
    raise SystemExit(main())
