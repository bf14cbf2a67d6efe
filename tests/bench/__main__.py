"""`python -m tests.bench [--json] [--quick] [ROW …]`: the bench table, ratios in one run."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Mapping

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
from tests.bench.harness import Row, machine
from tests.bench.screen_rows import screen_key, screen_paint
from tests.bench.set_rows import sets_row
from tests.bench.start_rows import start_status, start_version
from tests.bench.store_rows import durable, journal

ROWS: Mapping[str, Callable[..., Row]] = {
    "minimality": minimality,
    "edit": edit,
    "overhead": overhead,
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
    "screen-key": screen_key,
}


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("rows", nargs="*", choices=[*ROWS, []], help="rows to measure; all if none")
    parser.add_argument("--json", action="store_true", help="one JSON document on stdout")
    parser.add_argument("--quick", action="store_true", help="fewer rounds, smaller programmes")
    options = parser.parse_args()
    rows = []
    for name in options.rows or ROWS:
        row = ROWS[name](quick=options.quick)
        rows.append(row)
        sign = "≥" if row.at_least else "≤"
        met = "met" if row.met else "MISSED"
        line = f"{row.name:<24} {row.ratio:8.3f}  {sign} {row.aim:<6g} {met:<7} {row.note}"
        print(line, file=sys.stderr if options.json else sys.stdout, flush=True)
    if options.json:
        print(json.dumps({"machine": machine(), "rows": [row.plain() for row in rows]}, indent=2))
    return 0


raise SystemExit(main())
