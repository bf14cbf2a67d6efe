"""What every screen has: the lines around it, a way back, how it keeps up with the programme."""

from __future__ import annotations

from typing import ClassVar, cast

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from tracker.tui.desk import Refused
from tracker.tui.host import Host
from tracker.tui.looking import why_not_then
from tracker.tui.plain import plain
from tracker.tui.widgets.bars import Caution, KeyLine, Notice, TitleLine
from tracker.tui.widgets.roll import Roll

__all__ = ["Page"]

_NAMES = {
    "enter": "↵", "escape": "esc", "question_mark": "?", "slash": "/",
    "plus": "+", "minus": "-", "left": "←", "right": "→", "up": "up", "down": "down",
    "full_stop": ".", "comma": ",",
}  # fmt: skip


def key_name(key: str) -> str:
    """Return a key as people write it."""
    return _NAMES.get(key, key.replace("ctrl+", "^"))


def _spoken(action: str) -> str:
    """Return an action as words."""
    return action.partition("(")[0].replace("_", " ")


class Page(Screen[None]):
    """Base of the screens."""

    CAUTIOUS: ClassVar[bool] = True
    """Whether verdicts show here, and so must the caution."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,backspace", "back", "back", show=False),
        Binding("y", "copy", "copy the page as text", show=False),
        Binding("Y", "copy_table", "copy the page as a table", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.revision: int | None = None

    @property
    def host(self) -> Host:
        """The app."""
        return cast("Host", self.app)

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return ""

    def body(self) -> ComposeResult:
        """Compose what is between the lines around the page."""
        yield from ()

    def load(self) -> None:
        """Ask for what the page shows."""

    def why_not(self, action: str) -> str:  # noqa: ARG002 - pages that can refuse say so
        """Say why an action cannot be done now; nothing when it can."""
        return ""

    def why(self, action: str) -> str:
        """Say why an action cannot be done now, of this page or of the revision that is open."""
        return why_not_then(self.host.where, action) or self.why_not(action)

    def compose(self) -> ComposeResult:
        """Compose the page."""
        face = self.host.face
        yield TitleLine(face)
        yield from self.body()
        yield Notice(face)
        if self.CAUTIOUS:
            yield Caution(face)
        yield KeyLine(face)

    def roll(self, name: str = "") -> Roll:
        """Return one of the page's rolls, or its only one."""
        return self.query_one(f"#{name}" if name else "Roll", Roll)

    def on_mount(self) -> None:
        """Begin."""
        self.bindings_updated_signal.subscribe(self, self._list_keys)
        self.freshen()

    def on_screen_resume(self) -> None:
        """Catch up with what happened meanwhile."""
        if self.is_mounted:
            self.freshen()

    def freshen(self) -> None:
        """Bring the lines around the page up to date, and the page where it fell behind."""
        where = self.host.where
        self.tell()
        title = self.query_one(TitleLine)
        title.left = " · ".join(part for part in (self.name_of_page(), where.title) if part)
        title.right = where.words
        if self.revision != where.revision:
            self.revision = where.revision
            self.load()

    def tell(self) -> None:
        """Show the app's notice."""
        self.query_one(Notice).tell(*self.host.notice)

    def _list_keys(self, screen: Screen[object]) -> None:
        if screen is not self or not self.is_mounted:
            return
        shown: dict[str, tuple[str, str, str]] = {}
        for key, active in self.active_bindings.items():
            binding = active.binding
            if binding.show and binding.action not in shown and not self.why(binding.action):
                shown[binding.action] = (key, key_name(key), binding.description)
        last = [shown.pop(each, None) for each in ("keys", "command_palette")]
        self.query_one(KeyLine).keys = (*shown.values(), *(each for each in last if each))

    @on(KeyLine.Pressed)
    async def _press(self, event: KeyLine.Pressed) -> None:
        event.stop()
        active = self.active_bindings.get(event.key)
        if active is not None:
            await self.app.run_action(active.binding.action, active.node)

    @on(Refused)
    def _refused(self, event: Refused) -> None:
        event.stop()
        self.refused(event.error)

    def refused(self, error: BaseException) -> None:
        """Show why something asked for came to nothing."""
        self.host.say(plain(error), "bad")

    def allowed(self, action: str) -> bool:
        """Tell whether an action can be done now, and say why when it cannot."""
        why = self.why_not(action)
        if why:
            self.host.say(f"Cannot {_spoken(action)} now: {why}", "bad")
        return not why

    def action_back(self) -> None:
        """Leave the page."""
        self.host.clear_notice()
        self.host.back()

    def action_copy(self) -> None:
        """Copy the page as text."""
        texts = [each.text for each in self.query(Roll)]
        self.app.copy_to_clipboard("\n\n".join(text for text in texts if text))
        self.host.say("The page is on the clipboard as text")

    def action_copy_table(self) -> None:
        """Copy the page as a table, to be pasted into a sheet."""
        tables = [each.table for each in self.query(Roll)]
        self.app.copy_to_clipboard("\n\n".join(table for table in tables if table))
        self.host.say("The page is on the clipboard as a table")
