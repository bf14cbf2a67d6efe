"""The terminal front end: which screen is up, and what goes to and from the engine thread."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from typing import Any, ClassVar

from textual import events, on
from textual.app import App
from textual.binding import Binding, BindingType
from textual.message_pump import MessagePump

from tracker.bootstrap import open_session
from tracker.errors import WhyboneError
from tracker.services.session import Session
from tracker.services.wording import visible
from tracker.tui.desk import Answer, Desk, Job, Refused, Reply, Where
from tracker.tui.face import Face, ascii_wanted
from tracker.tui.host import Draft
from tracker.tui.messages import Checked, Stored, Undid
from tracker.tui.routes import Routes
from tracker.tui.themes import DARK, LIGHT, themes
from tracker.tui.trial import Trial
