"""What the form of an item asks of the engine thread, and the messages that answer."""

from __future__ import annotations

from collections.abc import Mapping

from textual.message import Message

from tracker.errors import InputError
from tracker.services.session import Session
from tracker.services.writing import CheckPorts, Held, Written, ports_of
from tracker.tui.jobs import Found

__all__ = [
    "Fetched",
    "Installed",
    "Known",
    "Ported",
    "Weighed",
    "installed_checks",
    "ports_or_none",
]


class Known(Message):
    """What there is to link to has been read."""

    def __init__(self, items: tuple[Found, ...]) -> None:
        super().__init__()
        self.items = items


class Fetched(Message):
    """The item to amend has been read."""

    def __init__(self, held: Held) -> None:
        super().__init__()
        self.held = held


class Ported(Message):
    """The ports of a check have been read; None where it cannot be loaded."""

    def __init__(self, ports: CheckPorts | None) -> None:
        super().__init__()
        self.ports = ports


class Weighed(Message):
    """What is typed has been looked at."""

    def __init__(self, written: Written) -> None:
        super().__init__()
        self.written = written


class Installed(Message):
    """The checks there are have been listed."""

    def __init__(self, checks: tuple[tuple[str, str], ...]) -> None:
        super().__init__()
        self.checks = checks


def ports_or_none(session: Session, check: str, config: Mapping[str, str]) -> CheckPorts | None:
    """Return the ports of a check; None where it cannot be loaded like this."""
    try:
        return ports_of(session, check, config)
    except InputError:
        return None


def installed_checks(session: Session) -> tuple[tuple[str, str], ...]:
    """Return every installed check with its title, empty where it does not load by itself."""
    found = ((each, ports_or_none(session, each, {})) for each in session.tools.catalogue.keys())  # noqa: SIM118 - no mapping
    return tuple((each, ports.title if ports else "") for each, ports in found)
