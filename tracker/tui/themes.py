"""The two looks of the terminal: light and dark, every text at least 4.5 to 1 against its ground.

The ratio is that of WCAG 2.1, success criterion 1.4.3.
"""

from __future__ import annotations

from textual.theme import Theme

__all__ = ["DARK", "GROUNDS", "INKS", "LIGHT", "themes"]

DARK = "whybone-dark"
LIGHT = "whybone-light"

INKS = ("ink", "head", "quiet", "key", "good", "near", "bad", "unknown", "moved")
"""Variables that colour text."""

GROUNDS = ("background", "panel", "rest", "chosen", "field")
"""Variables that text stands on."""


def _theme(name: str, *, dark: bool, colours: dict[str, str]) -> Theme:
    return Theme(
        name=name,
        dark=dark,
        primary=colours["key"],
        secondary=colours["head"],
        accent=colours["key"],
        warning=colours["near"],
        error=colours["bad"],
        success=colours["good"],
        foreground=colours["ink"],
        background=colours["background"],
        surface=colours["field"],
        panel=colours["panel"],
        variables={
            **colours,
            "input-cursor-background": colours["ink"],
            "input-cursor-foreground": colours["background"],
            "input-selection-background": colours["chosen"],
            "input-selection-foreground": colours["ink"],
            "block-cursor-background": colours["chosen"],
            "block-cursor-foreground": colours["ink"],
            "block-cursor-text-style": "bold",
            "scrollbar": colours["rule"],
            "scrollbar-hover": colours["quiet"],
            "scrollbar-active": colours["key"],
            "scrollbar-background": colours["background"],
            "scrollbar-background-hover": colours["background"],
            "scrollbar-background-active": colours["background"],
            "scrollbar-corner-color": colours["background"],
        },
    )


def themes() -> tuple[Theme, ...]:
    """Return the themes, dark first."""
    dark = {
        "background": "#12171c", "panel": "#1d2730", "rest": "#19212a", "chosen": "#26384a",
        "field": "#1f2a34", "rule": "#3c4c5a",
        "ink": "#e8e4da", "head": "#e9c9a1", "quiet": "#a4b0b8", "key": "#9fc7ef",
        "good": "#7fd0b0", "near": "#e6bf62", "bad": "#ff9d8c", "unknown": "#c5b5f0",
        "moved": "#6fd3e6",
    }  # fmt: skip
    light = {
        "background": "#faf7f0", "panel": "#ebe5d8", "rest": "#f1ece1", "chosen": "#d5e3f0",
        "field": "#efe9dc", "rule": "#b9ae98",
        "ink": "#22262a", "head": "#6b4213", "quiet": "#525b63", "key": "#1b4f86",
        "good": "#0b5c45", "near": "#714c00", "bad": "#a3230f", "unknown": "#573a99",
        "moved": "#055a6e",
    }  # fmt: skip
    return (
        _theme(DARK, dark=True, colours=dark),
        _theme(LIGHT, dark=False, colours=light),
    )
