"""One open programme: the store, the engine on top of it, and the way a change gets stored."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from types import MappingProxyType

from tracker.errors import InputError, StaleChangeError, UnknownRevisionError
from tracker.evaluate.engine import Cancel, Engine
from tracker.evaluate.state import Report
from tracker.evaluate.tracing import Traces
from tracker.model.changes import Change, Draft, Entry, merged
from tracker.model.invariants import check_entries
from tracker.model.programme import Programme
from tracker.model.records import CheckUse
from tracker.model.texts import check_text
from tracker.services.ports import Catalogue, Clock, Files, Head, Ids, Store, UnitReader
from tracker.services.run_log import RunLog
from tracker.services.wording import visible
from tracker.services.words import describe

__all__ = ["Reading", "Session", "Stored", "Tools", "past"]


@dataclass(frozen=True, slots=True)
class Tools:
    """What a session works with besides its store.

    Parameters
    ----------
    catalogue : Catalogue
        Installed checks.
    units : UnitReader
        Reads unit texts.
    clock : Clock
        Present UTC time.
    ids : Ids
        New record ids.
    files : Files or None
        Where evidence is looked at; None where there is no place for it.
    traces : Traces or None
        What checks computed before on this machine; None where nothing is kept.
    """

    catalogue: Catalogue
    units: UnitReader
    clock: Clock
    ids: Ids
    files: Files | None = None
    traces: Traces | None = None


@dataclass(frozen=True, slots=True)
class Stored:
    """A change that is durably stored, and what it did."""

    change: Change
    report: Report


class Reading:
    """A programme at one revision, evaluated: all that looking needs.

    Parameters
    ----------
    store : Store
        Where it is kept.
    tools : Tools
        Everything else from outside.
    head : Head
        The revision it stands at.
    programme : Programme
        Its records.
    """

    def __init__(self, store: Store, tools: Tools, head: Head, programme: Programme) -> None:
        self.store = store
        self.tools = tools
        self.head = head
        self.engine = Engine(tools.catalogue, programme, traces=tools.traces)
        self.runs = RunLog(head.revision, self.engine.opening)

    @property
    def programme(self) -> Programme:
        """The records."""
        return self.engine.programme

    @contextmanager
    def trying(self, entries: Sequence[Entry], cancel: Cancel | None = None) -> Iterator[Report]:
        """Apply entries for the length of a `with` block; nothing is stored.

        Raises
        ------
        InputError
            The change would not be allowed.
        """
        folded = merged(entries)
        self._check_records(folded)
        with self.engine.trial(folded, cancel) as report:
            self._check_bindings(folded)
            yield report

    def _check_records(self, entries: tuple[Entry, ...]) -> None:
        """Check the invariants before the engine sees the entries: it relies on them."""
        self.programme.apply(entries)
        try:
            check_entries(self.programme, entries)
        finally:
            self.programme.take_back(entries)

    def _check_bindings(self, entries: tuple[Entry, ...]) -> None:
        """Refuse a binding that does not hold where the change itself puts it."""
        graph = self.engine.graph
        for each in entries:
            if isinstance(each.after, CheckUse):
                fault = graph.nodes[graph.position[each.id]].fault
                if fault is not None:
                    raise fault


def past(reading: Reading, revision: int) -> Reading:
    """Open an earlier revision, read-only, by replaying the journal.

    Raises
    ------
    UnknownRevisionError
        The journal has no such revision.
    """
    if not 0 <= revision <= reading.head.revision:
        raise UnknownRevisionError(
            f"there is no revision {revision}",
            remedy=f"The journal has revisions 1 to {reading.head.revision}",
        )
    programme, head = Programme(), Head(0, "0" * 64)
    for change in reading.store.changes(0, revision):
        programme.apply(change.entries)
        head = Head(change.revision, change.hash)
    return Reading(reading.store, reading.tools, head, programme)


class Session(Reading):
    """An open programme that can be changed. Belongs to one thread.

    Parameters
    ----------
    store : Store
        Where it is kept.
    tools : Tools
        Everything else from outside.
    author : str
        Who makes the changes.
    """

    def __init__(self, store: Store, tools: Tools, author: str) -> None:
        head, programme = store.load()
        super().__init__(store, tools, head, programme)
        if tools.traces is not None:
            tools.traces.flush()
        self.author = check_text(author, item="author", field="name")

    def close(self) -> None:
        """Keep what was computed for the next opening, and release the store."""
        try:
            self._keep_traces()
        finally:
            self.store.close()

    def _keep_traces(self) -> None:
        traces = self.tools.traces
        if traces is not None:
            self.engine.keep_traces(self.runs.unkept())
            traces.flush()
            traces.close()

    def refresh(self) -> bool:
        """Take in what others stored since; tell whether there was anything."""
        if self.store.head() == self.head:
            return False
        self._catch_up(list(self.store.changes(self.head.revision)))
        return True

    def _catch_up(self, news: Sequence[Change]) -> None:
        for change in news:
            self._moved_to(change, self.engine.advance(change.entries))

    def _moved_to(self, change: Change, report: Report) -> None:
        """Stand at a stored change that the engine has taken in."""
        self.head = Head(change.revision, change.hash)
        self.runs.take(change, report, self.engine.graph, self.engine.state)

    def commit(
        self,
        entries: Sequence[Entry],
        reason: str,
        *,
        undoes: int = 0,
        based_on: int | None = None,
        contents: Mapping[str, bytes] = MappingProxyType({}),
        upon: Head | None = None,
        at: str = "",
    ) -> Stored:
        """Store a change, durably, or raise and leave everything as it was.

        Parameters
        ----------
        entries : sequence of Entry
            What changes.
        reason : str
            Why.
        undoes : int
            Revision this inverts.
        based_on : int, optional
            Revision the author saw, if not the one this session is at.
        contents : mapping of str to bytes, optional
            SHA-256 → what a baseline among the entries froze.
        upon : Head, optional
            The journal must end here: anything stored since refuses the change.
        at : str, optional
            UTC time of the change, RFC 3339, if not the present.

        Raises
        ------
        InputError
            Nothing changes, or the change is not allowed.
        StaleChangeError
            A record it touches moved since `based_on`, or anything since `upon`.
        StoreError
            It cannot be written.
        """
        folded = merged(entries)
        if not folded:
            raise InputError("nothing would change", remedy="It already is as you say")
        seen = self.head.revision if based_on is None else based_on
        back: Callable[[], None] | None = None
        try:
            with self.store.writing() as writer:
                self._refuse_stale(writer.changes_since(seen), folded)
                self._refuse_news(writer.head, upon)
                self._catch_up(writer.changes_since(self.head.revision))
                self._check_records(folded)
                report, back = self.engine.step(folded)
                self._check_bindings(folded)
                change = writer.append(self._draft(folded, reason, seen, undoes, at), contents)
        except BaseException:
            if back is not None:  # refused, or the write or its sync failed
                back()
            raise
        self._moved_to(change, report)
        return Stored(change, report)

    def _draft(
        self, entries: tuple[Entry, ...], reason: str, seen: int, undoes: int, at: str
    ) -> Draft:
        return Draft(
            author=self.author,
            at=at or self.tools.clock(),
            reason=reason,
            based_on=seen,
            entries=entries,
            undoes=undoes,
        )

    @staticmethod
    def _refuse_news(head: Head, upon: Head | None) -> None:
        if upon is not None and head != upon:
            raise StaleChangeError(
                f"revision {head.revision} was stored meanwhile; yours was not stored",
                remedy="Look at what is new, then say it again",
            )

    def _refuse_stale(self, news: Sequence[Change], entries: tuple[Entry, ...]) -> None:
        mine = {each.id: each for each in entries}
        for change in news:
            for theirs in change.entries:
                if theirs.id in mine:
                    raise self._stale(change, theirs, mine[theirs.id])

    def _stale(self, change: Change, theirs: Entry, mine: Entry) -> StaleChangeError:
        """Name both versions of a record."""
        said, wanted = ("; ".join(describe(each, self.programme.get)) for each in (theirs, mine))
        return StaleChangeError(
            f"{visible(change.author)} changed it in revision {change.revision}: {said} "
            f"({visible(change.reason)}). Yours was not stored: {wanted}",
            item=theirs.record.key,
            remedy="Look at both, then say it again",
        )
