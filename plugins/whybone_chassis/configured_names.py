"""Names that a check takes from its configuration."""

from __future__ import annotations

import re
from collections.abc import Sequence

from tracker.contract.check import Config
from tracker.contract.faults import ConfigError

__all__ = ["configured_names"]


def configured_names(
    config: Config,
    field: str,
    default: Sequence[str],
    *,
    called: str,
    form: str,
    shape: str = "(?s).+",
) -> tuple[str, ...]:
    """Read the one field of a configuration that holds names separated by commas.

    Parameters
    ----------
    config : mapping of str to str
        May hold `field` and nothing else.
    field : str
        The field.
    default : sequence of str
        Names where the field is not given.
    called : str
        What one of them is called, for the refusal.
    form : str
        What is wrong with a name of another shape, and how to write the names.
    shape : str
        Regular expression that every name must match as a whole.

    Raises
    ------
    ConfigError
        A name has another shape or stands twice, or another field is given.
    """
    wrong = {each: "there is no such field" for each in config if each != field}
    names = tuple(default)
    if field in config:
        names = tuple(name.strip() for name in config[field].split(","))
    if not all(re.fullmatch(shape, name) for name in names):
        wrong[field] = form
    elif len(set(names)) != len(names):
        wrong[field] = f"a {called} is named twice"
    if wrong:
        raise ConfigError(wrong)
    return names
