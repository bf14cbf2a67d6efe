"""What is under way and not stored in the programme: drafts of forms, and trials.

In memory it is always there; on disk once the programme is known, so that it survives a crash.
"""

from __future__ import annotations

from collections import UserDict
from collections.abc import Callable, Iterator
from pathlib import Path

from tracker.tui.keeping import Keeper, Thing
from tracker.tui.trial import Trial
from tracker.tui.trials import Trials

__all__ = ["Kept", "KeptDraft"]

_DRAFT, _TRIAL = "draft", "trial"


class KeptDraft(UserDict[str, str]):
    """Texts typed into a form, by field.

    Parameters
    ----------
    changed : callable
        Told whenever a text changed.
    """

    def __init__(self, changed: Callable[[], object]) -> None:
        self._changed: Callable[[], object] | None = None
        super().__init__()
        self._changed = changed

    def __setitem__(self, name: str, text: str) -> None:
        super().__setitem__(name, text)
        if self._changed is not None:
            self._changed()

    @property
    def begun(self) -> bool:
        """Whether anything was typed."""
        return any(map(str.strip, self.values()))


class Kept:
    """Drafts and trials of one programme.

    Parameters
    ----------
    state : Path or None
        Where the program may keep things; None keeps them in memory alone.
    trouble : callable
        Told in words what could not be written, on any thread.
    """

    def __init__(self, state: Path | None, trouble: Callable[[str], object]) -> None:
        self._state = state
        self._trouble = trouble
        self._keeper: Keeper | None = None
        self._drafts: dict[str, KeptDraft] = {}
        self.trials = Trials(self._trial_changed, self._trial_dropped)

    @property
    def on_disk(self) -> bool:
        """Whether what is typed survives the program."""
        return self._keeper is not None

    @property
    def under_way(self) -> tuple[str, ...]:
        """Name everything that is typed and not stored."""
        drafts = [name for name, each in self._drafts.items() if each.begun]
        return (*drafts, *(each.name for each in self.trials.every if each.tries))

    def open(self, programme: str) -> str:
        """Take in what was kept of a programme; say what that was, if anything.

        Parameters
        ----------
        programme : str
            Its identity, fit for a file name.
        """
        if self._state is None or self._keeper is not None:
            return ""
        self._keeper = Keeper(self._state / "under-way" / programme, self._trouble)
        things, aside = self._keeper.things()
        aside = (*aside, *(self._keeper.set_aside(each) for each in things if not self._take(each)))
        return ". ".join(_told(self.under_way, aside))

    def _take(self, thing: Thing) -> bool:
        if thing.kind == _DRAFT:
            return self._take_draft(thing)
        return thing.kind == _TRIAL and self._take_trial(thing)

    def _take_draft(self, thing: Thing) -> bool:
        if not all(isinstance(each, str) for each in thing.body.values()):
            return False
        draft = self.draft(thing.name)
        if not draft.begun:  # what is typed already is newer
            draft.data.update(thing.body)
        return True

    def _take_trial(self, thing: Thing) -> bool:
        read = Trial()
        if not read.restore(thing.body):
            return False
        self.trials.begin(thing.name).restore(thing.body)
        return True

    def draft(self, name: str) -> KeptDraft:
        """Return the texts typed into a form so far."""
        if name not in self._drafts:
            self._drafts[name] = KeptDraft(lambda: self._draft_changed(name))
        return self._drafts[name]

    def forget(self, name: str) -> None:
        """Drop a draft: it has been stored."""
        if self._drafts.pop(name, None) is not None and self._keeper is not None:
            self._keeper.drop(_DRAFT, name)

    def close(self) -> None:
        """Finish writing."""
        if self._keeper is not None:
            self._keeper.close()

    def _draft_changed(self, name: str) -> None:
        if self._keeper is not None and name in self._drafts:
            self._keeper.keep(Thing(_DRAFT, name, dict(self._drafts[name])))

    def _trial_changed(self, trial: Trial) -> None:
        if self._keeper is None:
            return
        if len(trial):
            self._keeper.keep(Thing(_TRIAL, trial.name, trial.body()))
        else:
            self._keeper.drop(_TRIAL, trial.name)

    def _trial_dropped(self, name: str) -> None:
        if self._keeper is not None:
            self._keeper.drop(_TRIAL, name)


def _told(under_way: tuple[str, ...], aside: tuple[str, ...]) -> Iterator[str]:
    if under_way:
        yield f"Kept from last time, and not stored: {', '.join(under_way)}"
    if aside:
        yield f"Could not be read and was set aside: {', '.join(aside)}"
