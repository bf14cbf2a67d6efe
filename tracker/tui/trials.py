"""The trials there are: several, by name, one of them being worked at."""

from __future__ import annotations

from collections.abc import Callable
from itertools import count

from tracker.tui.trial import Trial

__all__ = ["Trials"]

_WORD = "trial"


class Trials:
    """Named trials; there always is one.

    Parameters
    ----------
    changed : callable
        Told whenever something in a trial changed.
    dropped : callable
        Told the name of a trial that is gone.
    """

    def __init__(
        self, changed: Callable[[Trial], object], dropped: Callable[[str], object]
    ) -> None:
        self._changed = changed
        self._dropped = dropped
        self._trials: dict[str, Trial] = {}
        self.current = self.begin()

    @property
    def every(self) -> tuple[Trial, ...]:
        """All trials, in the order they were begun."""
        return tuple(self._trials.values())

    def begin(self, name: str = "") -> Trial:
        """Begin a trial and work at it; an empty one that was never used makes room for it."""
        self._trials = {each.name: each for each in self.every if len(each)}
        name = self.free(name)
        self.current = self._trials[name] = Trial(name, self._changed)
        return self.current

    def copy(self) -> Trial:
        """Begin a trial with what the present one holds."""
        held = self.current
        self.begin().take_over(held)
        return self.current

    def free(self, name: str = "") -> str:
        """Return a name no trial has, close to the one wanted."""
        wanted = name.strip()
        if wanted and wanted not in self._trials:
            return wanted
        numbered = (f"{wanted or _WORD} {number}" for number in count(2 if wanted else 1))
        return next(each for each in numbered if each not in self._trials)

    def pick(self, name: str) -> None:
        """Work at another trial."""
        self.current = self._trials[name]

    def rename(self, trial: Trial, name: str) -> None:
        """Call a trial something else."""
        old, wanted = trial.name, name.strip()
        if wanted in ("", old):
            return
        trial.name = self.free(wanted)
        self._trials = {each.name: each for each in self.every}
        self._dropped(old)
        self._changed(trial)

    def drop(self, trial: Trial) -> None:
        """Drop a trial with all it holds; if it was the last, an empty one takes its place."""
        del self._trials[trial.name]
        self._dropped(trial.name)
        if self.current is trial:
            self.current = next(iter(self._trials.values()), None) or self.begin()
