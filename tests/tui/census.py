"""Every screen there is, and the keys that lead there in the test programme."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Iterator, Mapping

from tests.tui.driving import Driver, app_of, press, settled, type_text
from tracker.tui import screens, widgets
from tracker.tui.screens.page import Page
from tracker.tui.screens.prices import PricesScreen

Keys = tuple[str, ...]

TRYING: Keys = ("q", "enter", "e", '"8000')
REQUIREMENT: Keys = ("r", "enter")
DECISION: Keys = ("d", "enter")

WALKS: Mapping[str, Keys] = {
    "HomeScreen": (),
    "ListScreen": ("r",),
    "ItemScreen": DECISION,
    "FindScreen": ("f",),
    "ChooseScreen": ("v",),
    "TrialScreen": TRYING,
    "AdoptScreen": (*TRYING, "ctrl+s"),
    "TrialsScreen": (*TRYING, "ctrl+t"),
    "NameScreen": (*TRYING, "ctrl+t", "m"),
    "SettleScreen": (*DECISION, "s"),
    "ReasonScreen": (*DECISION, "w"),
    "SupersedeScreen": (*DECISION, "p"),
    "DecisionScreen": ("n",),
    "JournalScreen": ("j",),
    "ChangeScreen": ("j", "enter"),
    "HelpScreen": ("question_mark",),
    "GuideScreen": ("question_mark", "question_mark"),
    "RootsScreen": (*REQUIREMENT, "i"),
    "HeadroomScreen": (*REQUIREMENT, "H"),
    "AmountsScreen": ("S", "m"),
    "DriversScreen": (*REQUIREMENT, "D"),
    "ReasonsScreen": (*REQUIREMENT, "W"),
    "MendScreen": (*DECISION, "M"),
    "PricesScreen": ("@PricesScreen",),
    "SpreadScreen": ("S",),
    "SetsScreen": ("P",),
    "CompareScreen": ("K",),
    "RevisionsScreen": ("K", "e"),
    "EarlierScreen": ("v", '"earlier', "enter"),
    "GateScreen": ("G",),
    "FreezeScreen": ("G", "z"),
    "PackScreen": ("G", "z", '"all is said', "ctrl+s", "p"),
    "SinceScreen": ("G", "z", '"all is said', "ctrl+s", "k"),
    "CurvesScreen": ("c", "enter", "C"),
    "SketchScreen": ("c", "enter", "V"),
    "NeighboursScreen": (*DECISION, "N"),
    "MatrixScreen": ("X",),
    "TimelineScreen": ("L",),
    "AddScreen": ("A",),
    "WritingScreen": ("q", "enter", "a"),
    "FilterScreen": ("J",),
    "TakeInScreen": ("I",),
    "WriteOutScreen": ("E",),
    "WeighScreen": (*DECISION, "O"),
    "ScoreScreen": (*DECISION, "O", "p"),
}
"""Name of the screen's class → keys from the opening screen; what begins with a quote is typed.

What begins with an at sign is brought up as it is: the test programme has nothing that leads there.
"""

MADE: Mapping[str, Callable[[], Page]] = {
    "@PricesScreen": lambda: PricesScreen((("years", "year"),), {}, str),
}


def _below(kind: type) -> Iterator[type]:
    below: list[type] = kind.__subclasses__()
    for each in below:
        yield each
        yield from _below(each)


def _everything() -> None:
    for package in (screens, widgets):
        for module in pkgutil.iter_modules(package.__path__):
            importlib.import_module(f"{package.__name__}.{module.name}")


def every(kind: type) -> dict[str, type]:
    """Every class of ours below a class of the framework, or of ours, by name."""
    _everything()
    return {each.__name__: each for each in _below(kind) if each.__module__.startswith("tracker.")}


def pages() -> dict[str, type[Page]]:
    """Every page that can be up; what screens are made from is called a page or a form."""
    return {
        name: kind
        for name, kind in every(Page).items()
        if not (name.endswith(("Page", "Form")) and kind.__subclasses__())
    }


async def go(pilot: Driver, keys: Keys) -> None:
    """Press keys and type texts, each fully answered."""
    await settled(pilot)
    for each in keys:
        if each.startswith("@"):
            app_of(pilot).go(MADE[each]())
            await settled(pilot)
        elif each.startswith('"'):
            await type_text(pilot, each[1:])
        else:
            await press(pilot, each)
