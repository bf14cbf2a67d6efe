"""Freezing a gate, and reading back what was frozen."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from typing import Protocol

from tracker.errors import NotReadyError, StoreDamagedError
from tracker.evaluate.engine import Cancel
from tracker.model.changes import Entry
from tracker.model.programme import Programme
from tracker.model.records import Baseline, Gate
from tracker.model.texts import check_text
from tracker.services.gates.order import baseline_for
from tracker.services.gates.readiness import UNMET, is_ready, readiness
from tracker.services.gates.views import CriterionView, FrozenView
from tracker.services.packs.codec import digest_of, pack_bytes, read_pack
from tracker.services.packs.content import Freeze, pack_content, versions_of
from tracker.services.packs.views import PackContent
from tracker.services.ports import Store
from tracker.services.session import Session
from tracker.services.wording import CAUTION

__all__ = ["Stored", "freeze_gate", "frozen_pack"]

Progress = Callable[[str], None]


class Stored(Protocol):
    """A programme as it is stored, evaluated or not: packing computes nothing."""

    @property
    def store(self) -> Store:
        """Where it is kept."""

    @property
    def programme(self) -> Programme:
        """Its records."""


def freeze_gate(
    session: Session,
    key: str,
    why: str = "",
    *,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> FrozenView:
    """Freeze a gate: keep all it is shown, with a baseline, in one change.

    Parameters
    ----------
    why : str
        Reason; may be left out where the gate is ready.
    cancel : callable, optional
        Asked between two pieces of work.
    progress : callable, optional
        Told in words how far it got.

    Raises
    ------
    NotReadyError
        The gate is not ready and no reason is given to freeze it all the same.
    StaleChangeError
        Somebody else stored a change meanwhile; nothing was frozen.
    CancelledError
        `cancel` asked to stop; nothing was frozen.
    """
    session.refresh()
    gate = session.programme.named(key, Gate)
    criteria = readiness(session, gate)
    reason = _reason(gate, criteria, why)
    head, at = session.head, session.tools.clock()
    freeze = Freeze(
        gate=gate,
        baseline=_free_key(session.programme, gate),
        at=at,
        author=session.author,
        reason=reason,
        criteria=criteria,
    )
    data = pack_bytes(pack_content(session, freeze, cancel=cancel, progress=progress))
    baseline = Baseline(
        id=session.tools.ids(),
        key=freeze.baseline,
        gate=gate.id,
        revision=head.revision,
        head=head.hash,
        content=digest_of(data),
        ready=is_ready(criteria),
        criteria={each.name: each.result for each in criteria},
        versions=versions_of(session),
    )
    contents = {baseline.content: data}
    stored = session.commit((Entry(None, baseline),), reason, contents=contents, upon=head, at=at)
    return FrozenView(
        gate=gate.key,
        baseline=baseline.key,
        ready=baseline.ready,
        revision=head.revision,
        head=head.hash,
        content=baseline.content,
        stored=stored.change.revision,
        hash=stored.change.hash,
        criteria=criteria,
        caution=CAUTION,
    )


def _reason(gate: Gate, criteria: tuple[CriterionView, ...], why: str) -> str:
    if why.strip():
        return check_text(why, item="change", field="why", long=True)
    unmet = [each.name for each in criteria if each.result == UNMET]
    if unmet:
        raise NotReadyError(
            f"it is not ready: {', '.join(unmet)} not met",
            item=gate.key,
            field="why",
            remedy="Mend what offends them, or say with --why why it is frozen all the same",
        )
    return f"freeze {gate.key}: every criterion is met or set aside"


def _free_key(programme: Programme, gate: Gate) -> str:
    """Return the first key of the form GATE-1 that nothing has."""
    numbered = (f"{gate.key}-{number}" for number in itertools.count(1))
    return next(each for each in numbered if programme.find(each) is None)


def frozen_pack(stored: Stored, key: str, baseline: str = "") -> PackContent:
    """Read what was frozen at a gate, having made sure it is what the journal says.

    Parameters
    ----------
    stored : Stored
        A session, or just what is stored.
    baseline : str
        Key of a baseline of the gate; its latest when not told.

    Raises
    ------
    UnknownKeyError
        There is no such gate or baseline.
    StoreDamagedError
        Journal, record and content do not agree.
    """
    gate = stored.programme.named(key, Gate)
    record = baseline_for(stored.programme, gate, baseline)
    _refuse(stored.store.audit().problems, stored.store.name)
    content = read_pack(stored.store.content(record.content))
    _agree(stored, record, content)
    return content


def _agree(stored: Stored, record: Baseline, content: PackContent) -> None:
    """Compare a baseline with the change that froze it, the journal and its content."""
    change = next(iter(stored.store.touching(record.id)), None)
    frozen = next(iter(stored.store.changes(record.revision - 1, record.revision)), None)
    cover = content.cover
    faults = {
        f"baseline {record.key}: the journal has no change that froze it": change is None
        or change.entries[0].after != record,
        f"revision {record.revision}: its hash is not the one baseline {record.key} names": frozen
        is None
        or frozen.hash != record.head,
        f"the content of {record.key} names another revision": (cover.revision, cover.head)
        != (record.revision, record.head),
        f"the content of {record.key} was frozen by another change": change is not None
        and (cover.baseline, cover.frozen_at) != (record.key, change.at),
    }
    _refuse([words for words, is_so in faults.items() if is_so], record.key)


def _refuse(faults: Sequence[str], item: str) -> None:
    if faults:
        more = f", and {len(faults) - 1} more" if len(faults) > 1 else ""
        raise StoreDamagedError(
            f"no pack is made of what does not hold: {faults[0]}{more}",
            item=item,
            remedy="`whybone audit` lists all that does not hold",
        )
