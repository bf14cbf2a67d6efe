"""The linear mode as a whole: what can be said everywhere, and where it begins."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from contextlib import closing
from functools import partial
from typing import TextIO

from tracker.bootstrap import open_session
from tracker.services.session import Session
from tracker.tui.face import ascii_wanted
from tracker.tui.jobs import redo_named, undo_named
from tracker.tui.kinds import PLURALS
from tracker.tui.linear.asking import HeadroomStop, MendStop
from tracker.tui.linear.items import ItemStop
from tracker.tui.linear.looking import FoundStop, HomeStop, JournalStop, ListStop, say_undone
from tracker.tui.linear.talk import Stop, Talk, Word
from tracker.tui.linear.trying import TrialStop
from tracker.tui.linear.voice import SpokenFace, Voice

__all__ = ["run_linear", "talk_about"]

_LISTS = (("r", "requirement"), ("d", "decision"), ("q", "quantity"), ("c", "check"), ("g", "gate"))


def talk_about(session: Session, source: TextIO, sink: TextIO, *, ascii_only: bool) -> int:
    """Talk about a programme, line by line, until the user leaves or nothing comes any more.

    Parameters
    ----------
    session : Session
        The programme.
    source, sink : TextIO
        What is typed, and where lines go.
    ascii_only : bool
        Write nothing but ASCII.

    Returns
    -------
    int
        Exit code.
    """
    voice = Voice(source, sink, SpokenFace(ascii_only=ascii_only))
    talk = Talk(session, voice, ItemStop)
    talk.common = _common(talk)
    voice.say("Line by line: type a number or a word and Enter; ? reads out the words.")
    talk.run(HomeStop())
    return 0


def run_linear(location: str, author: str) -> int:
    """Open a programme and talk about it on standard input and output.

    Parameters
    ----------
    location : str
        File, or database URL.
    author : str
        Who makes the changes.
    """
    ascii_only = ascii_wanted(os.environ, sys.stdout.encoding)
    with closing(open_session(location, author)) as session:
        return talk_about(session, sys.stdin, sys.stdout, ascii_only=ascii_only)


def _common(talk: Talk) -> Sequence[Word]:
    def to(make: Callable[[], Stop]) -> partial[None]:
        return partial(_go, talk, make)

    return (
        Word("f", "find", "find an item by key or words: find WORDS", partial(_find, talk)),
        *(
            Word(key, PLURALS[kind].lower(), f"list the {PLURALS[kind].lower()}",
                 to(partial(ListStop, kind, PLURALS[kind])))
            for key, kind in _LISTS
        ),
        Word("t", "trial", "the trial, where values are tried", to(TrialStop)),
        Word("j", "journal", "every change, newest first", to(JournalStop)),
        Word("u", "undo", "undo my last change", lambda _: _undo(talk, again=False)),
        Word("U", "redo", "redo what was undone last", lambda _: _undo(talk, again=True)),
        Word("H", "headroom", "how far each value may move", to(HeadroomStop)),
        Word("M", "mend", "what would mend all that is broken", to(MendStop)),
        Word("h", "home", "the opening page", lambda _: talk.home()),
        Word("esc", "back", "go back", lambda _: talk.back()),
        Word("?", "help", "read out what can be said here", lambda _: talk.explain()),
        Word("^q", "quit", "leave the program", partial(_quit, talk)),
    )  # fmt: skip


def _go(talk: Talk, make: Callable[[], Stop], _: str) -> None:
    talk.go(make())


def _find(talk: Talk, typed: str) -> None:
    typed = typed or talk.ask("find what")
    if typed:
        talk.go(FoundStop(typed))


def _undo(talk: Talk, *, again: bool) -> None:
    say_undone(talk, redo_named(talk.session) if again else undo_named(talk.session))


def _quit(talk: Talk, _: str) -> None:
    if talk.trial.tries and not talk.warned:
        talk.warned = True
        talk.voice.say("Not stored yet: the trial. quit again drops it and leaves.")
        return
    talk.done = True
