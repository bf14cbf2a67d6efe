"""The opening page, lists, finding, the journal and a change, line by line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from tracker.services.change_views import JournalLine
from tracker.services.journal import journal_page
from tracker.services.overview import listing, overview
from tracker.services.views import ListLine
from tracker.tui.finding import Haystack
from tracker.tui.jobs import Undone, everything, undo_named
from tracker.tui.layout.home import answer_lines, answers, pulse
from tracker.tui.layout.journal import change_lines, journal_row
from tracker.tui.layout.paper import Fixed, Line, Lines, Paper, Rows, Span, list_row
from tracker.tui.linear.talk import Stop, Talk, Word
from tracker.tui.linear.voice import WIDTH
from tracker.tui.notices import undone_words

__all__ = ["ChangeStop", "FoundStop", "HomeStop", "JournalStop", "ListStop", "say_undone"]

_FIRST = 10
"""Items of each answer that the opening page reads out."""


def say_undone(talk: Talk, undone: Undone) -> None:
    """Say what was undone."""
    talk.voice.say(undone_words(undone))


class HomeStop(Stop):
    """The three answers: what is broken or shifted first."""

    name = "Opening page"

    def page(self, talk: Talk) -> Lines:
        """Lay the answers out, each with its first items."""
        face, view = talk.voice.face, overview(talk.session)
        counts = pulse(view, WIDTH, face)
        lines = [counts.line(at) for at in range(len(counts))]
        stands, troubled, due = answers(view)
        for answer in (troubled, due, stands):
            lines.append(Line((Span(f"{answer.question}: {answer.summary}."),)))
            first = replace(answer, entries=answer.entries[:_FIRST])
            laid = answer_lines(first, WIDTH, face, roomy=False)
            lines += [laid.line(at) for at in range(len(laid))]
            if more := len(answer.entries) - _FIRST:
                lines += [Line((Span(f"and {more} more, in the lists"),))] if more > 0 else []
        lines.append(Line((Span("A number opens an item, where e tries a change; ? tells all."),)))
        return Fixed(lines)


class ListStop(Stop):
    """All items of a kind.

    Parameters
    ----------
    kind : str
        The kind.
    title : str
        What the list is called.
    """

    def __init__(self, kind: str, title: str) -> None:
        self.kind = kind
        self.name = title

    def page(self, talk: Talk) -> Lines:
        """Lay the list out."""
        return _rows(talk, listing(talk.session, self.kind).lines, f"No {self.kind} here.")


class FoundStop(Stop):
    """What meets a text, best first.

    Parameters
    ----------
    typed : str
        A key or words.
    """

    def __init__(self, typed: str) -> None:
        self.typed = typed
        self.name = "Found"

    def page(self, talk: Talk) -> Lines:
        """Lay out what meets it."""
        found = everything(talk.session)
        hay = Haystack((each.line.key, each.line.title) for each in found)
        lines = [found[at].line for at in hay.matches(self.typed)]
        return _rows(talk, lines, "Nothing meets that.")


def _rows(talk: Talk, lines: Sequence[ListLine], nothing: str) -> Lines:
    face = talk.voice.face
    if not lines:
        paper = Paper(WIDTH, face)
        paper.text(nothing)
        return paper.done()
    return Rows([each.key for each in lines], lambda at: (list_row(face, lines[at], WIDTH),))


class JournalStop(Stop):
    """Every change, newest first."""

    name = "Journal"
    cautious = False
    _STRETCH = 200

    def __init__(self) -> None:
        self._lines: dict[int, JournalLine] = {}

    def page(self, talk: Talk) -> Lines:
        """Lay the changes out; each stretch is read once it is looked at."""
        head, face = talk.session.head.revision, talk.voice.face

        def lay(at: int) -> tuple[Line]:
            return (journal_row(self._line(talk, head - at), WIDTH, face),)

        return Rows([str(each) for each in range(head, 0, -1)], lay)

    def _line(self, talk: Talk, revision: int) -> JournalLine:
        if revision not in self._lines:
            page = journal_page(talk.session, limit=self._STRETCH, before=revision + 1)
            self._lines.update({each.revision: each for each in page.lines})
        return self._lines[revision]

    def choose(self, talk: Talk, target: str) -> None:
        """Go to a change."""
        talk.go(ChangeStop(self._line(talk, int(target))))


class ChangeStop(Stop):
    """One change.

    Parameters
    ----------
    line : JournalLine
        The change.
    """

    cautious = False

    def __init__(self, line: JournalLine) -> None:
        self._line = line
        self.name = f"Change {line.revision}"

    def page(self, talk: Talk) -> Lines:
        """Lay the change out."""
        return change_lines(self._line, WIDTH, talk.voice.face)

    def words(self, talk: Talk) -> Sequence[Word]:
        """Return what can be said here."""
        return (Word("z", "undo_this", "undo this change", partial(self._undo, talk)),)

    def _undo(self, talk: Talk, _: str) -> None:
        say_undone(talk, undo_named(talk.session, self._line.revision))
