"""The looks of the terminal, every text at least 4.5 to 1 against its ground.

The ratio is that of WCAG 2.1, success criterion 1.4.3; the look of high contrast keeps 7 to 1, that
of 1.4.6. The look of sixteen colours names colours and leaves it to the terminal what they are.
"""

from __future__ import annotations

from collections.abc import Mapping

from textual.theme import Theme

__all__ = ["CONTRAST", "DARK", "GROUNDS", "INKS", "LIGHT", "LOOKS", "SIXTEEN", "look", "themes"]

DARK = "whybone-dark"
LIGHT = "whybone-light"
CONTRAST = "whybone-contrast"
SIXTEEN = "whybone-sixteen"

LOOKS: Mapping[str, str] = {
    "dark": DARK,
    "light": LIGHT,
    "contrast": CONTRAST,
    "sixteen": SIXTEEN,
}
"""What WHYBONE_LOOK may say → theme, in the order in which the key goes through them."""

INKS = ("ink", "head", "quiet", "key", "good", "near", "bad", "unknown", "moved")
"""Variables that colour text."""

GROUNDS = ("background", "panel", "rest", "chosen", "field")
"""Variables that text stands on."""


def look(environ: Mapping[str, str], colours: str | None) -> str:
    """Return the theme to begin with.

    Parameters
    ----------
    environ : mapping of str to str
        The environment; WHYBONE_LOOK names a look.
    colours : str or None
        How many colours the terminal is known to show: `standard` is sixteen.
    """
    asked = LOOKS.get(environ.get("WHYBONE_LOOK", "").strip().lower())
    return asked or (SIXTEEN if colours == "standard" else DARK)


def _theme(name: str, *, dark: bool, colours: dict[str, str]) -> Theme:
    return Theme(
        name=name,
        dark=dark,
        ansi=name == SIXTEEN,
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
            "ansi-background": colours["background"],
            "ansi-foreground": colours["ink"],
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
    """Return the themes, in the order of `LOOKS`."""
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
    contrast = {
        "background": "#000000", "panel": "#000000", "rest": "#000000", "chosen": "#00263d",
        "field": "#101010", "rule": "#ffffff",
        "ink": "#ffffff", "head": "#ffe08a", "quiet": "#e0e0e0", "key": "#a8d8ff",
        "good": "#7cf7b5", "near": "#ffd84a", "bad": "#ffb3a6", "unknown": "#dcc8ff",
        "moved": "#7ceeff",
    }  # fmt: skip
    sixteen = {
        "background": "ansi_black", "panel": "ansi_black", "rest": "ansi_black",
        "chosen": "ansi_black", "field": "ansi_black", "rule": "ansi_white",
        "ink": "ansi_bright_white", "head": "ansi_bright_yellow", "quiet": "ansi_white",
        "key": "ansi_bright_cyan", "good": "ansi_bright_green", "near": "ansi_bright_yellow",
        "bad": "ansi_bright_red", "unknown": "ansi_bright_magenta", "moved": "ansi_bright_cyan",
    }  # fmt: skip
    return (
        _theme(DARK, dark=True, colours=dark),
        _theme(LIGHT, dark=False, colours=light),
        _theme(CONTRAST, dark=True, colours=contrast),
        _theme(SIXTEEN, dark=True, colours=sixteen),
    )
