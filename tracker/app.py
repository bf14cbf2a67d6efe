"""Console entry: the only place that knows both front ends."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from tracker.cli.version import VERSION

__all__ = ["main"]


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments without the program's name; those of the process when not told.
    """
    args = list(sys.argv[1:] if argv is None else argv)
    try:
        if args == ["--version"]:  # told before anything is loaded
            sys.stdout.write(f"whybone {VERSION}\n")
            return 0
        from tracker.cli.main import run

        return run(args, open_ui=_open_ui)
    except KeyboardInterrupt:
        return 130


def _open_ui(location: str, author: str, linear: bool) -> None:
    """Open the terminal UI; imported late, no command needs it."""
    if linear:
        from tracker.tui.linear.open import run_linear

        run_linear(location, author)
        return
    from tracker.tui.app import run

    run(location, author)


if __name__ == "__main__":
    sys.exit(main())
