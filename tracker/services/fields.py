"""Reading the fields of an item document, with errors that name item and field."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import Any, TypeVar

from tracker.errors import BadTextError, BadValueError
from tracker.model.texts import TEXT_LIMIT

__all__ = ["Fields"]

E = TypeVar("E", bound=StrEnum)


class Fields:
    """The fields of one document.

    Parameters
    ----------
    document : mapping
        The document; `key` names it.
    allowed : set of str or None
        Field names it may have besides `kind` and `key`; None allows all.
    where : str, optional
        Path of a nested document.
    item : str, optional
        Named in errors instead of the key.

    Raises
    ------
    BadValueError
        It has a field nobody reads.
    """

    def __init__(
        self,
        document: Mapping[str, Any],
        allowed: set[str] | None,
        where: str = "",
        item: str = "",
    ) -> None:
        self.key = str(document.get("key", ""))
        self._document = document
        self._item = item or self.key
        self._where = f"{where} " if where else ""
        strangers = [] if allowed is None else sorted(set(document) - allowed - {"kind", "key"})
        if strangers:
            raise BadValueError(
                f"there is no field {strangers[0]!r}",
                item=self._item,
                field=f"{self._where}{strangers[0]}",
                remedy="Fields: " + ", ".join(sorted(allowed or ())),
            )

    def raw(self, name: str) -> Any:  # noqa: ANN401 - JSON data
        """Return a field as it is; None when missing or empty."""
        return self._held(name, None)

    def _held(self, name: str, default: Any) -> Any:  # noqa: ANN401 - JSON data
        value = self._document.get(name)
        return default if value is None or value == "" else value

    def text(self, name: str, *, required: bool = False) -> str:
        """Return a text field."""
        value = self._held(name, "")
        if not isinstance(value, str):
            raise self._wrong(name, "it is not text")
        if len(value) > TEXT_LIMIT:
            raise BadTextError(
                f"the text has {len(value)} characters",
                item=self._item,
                field=self._where + name,
                remedy=f"Keep it to {TEXT_LIMIT}",
            )
        if required and not value.strip():
            raise BadValueError(
                "it is missing", item=self._item, field=self._where + name, remedy="Fill it in"
            )
        return value

    def texts(self, name: str) -> tuple[str, ...]:
        """Return a list of texts; one text is split at commas."""
        value = self._held(name, ())
        if isinstance(value, str):
            return tuple(each.strip() for each in value.split(",") if each.strip())
        if not isinstance(value, Sequence) or not all(isinstance(each, str) for each in value):
            raise self._wrong(name, "it is not a list of texts")
        return tuple(value)

    def sentences(self, name: str) -> tuple[str, ...]:
        """Return a list of texts in which commas mean nothing; one text is a list of one."""
        value = self._held(name, ())
        return (value,) if isinstance(value, str) else self.texts(name)

    def text_mapping(self, name: str) -> dict[str, str]:
        """Return a nested object whose values are texts."""
        found = self.mapping(name)
        if not all(isinstance(each, str) for each in found.values()):
            raise self._wrong(name, "its values are not texts")
        return dict(found)

    def choice(self, name: str, enum: type[E], default: E) -> E:
        """Return a member of an enumeration by its text."""
        value = self._held(name, default)
        try:
            return enum(value)
        except ValueError:
            raise BadValueError(
                f"{str(value)[:40]!r} is not one of its values",
                item=self._item,
                field=self._where + name,
                remedy="Choose one of: " + ", ".join(enum),
            ) from None

    def sequence(self, name: str) -> Sequence[Mapping[str, Any]]:
        """Return a list of nested documents."""
        value = self._held(name, ())
        if isinstance(value, str) or not isinstance(value, Sequence):
            raise self._wrong(name, "it is not a list")
        if not all(isinstance(each, Mapping) for each in value):
            raise self._wrong(name, "its entries are not objects")
        return value

    def mapping(self, name: str) -> Mapping[str, Any]:
        """Return a nested object."""
        value = self._held(name, {})
        if not isinstance(value, Mapping):
            raise self._wrong(name, "it is not an object")
        return value

    def _wrong(self, name: str, message: str) -> BadValueError:
        return BadValueError(message, item=self._item, field=self._where + name)
