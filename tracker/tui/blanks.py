"""The fields of every kind of item, in one table, and how what is typed there makes an item."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from tracker.model.records import BasisKind, Level, ToleranceShape, Verification
from tracker.model.values import Kind
from tracker.services.gates.criteria import CRITERIA
from tracker.services.writing import CheckPorts

__all__ = ["BLANKS", "KINDS_WRITTEN", "Blank", "Sort", "document_typed", "port_blanks", "typed_of"]

Document = Mapping[str, Any]


class Sort(StrEnum):
    """How a field is typed."""

    LINE = "line"
    LONG = "long"
    WORD = "word"
    NUMBER = "number"
    LINK = "link"
    LINKS = "links"
    LIST = "list"
    LINES = "lines"
    PAIRS = "pairs"
    RANGES = "ranges"
    COLUMNS = "columns"
    OPTIONS = "options"
    PORT = "port"
    CHECK = "check"


@dataclass(frozen=True, slots=True)
class Blank:
    """A field of a form.

    Parameters
    ----------
    name : str
        Field of the item document; `outer.inner` for a field of a field.
    label : str
        What the form calls it.
    sort : Sort
        How it is typed.
    kinds : tuple of str
        Kinds of item it can link to.
    words : tuple of str
        What a word is picked from; the first is meant where none is.
    fixed : bool
        Whether it stays as it was made.
    """

    name: str
    label: str
    sort: Sort = Sort.LINE
    kinds: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    fixed: bool = False

    @property
    def links(self) -> bool:
        """Whether something is picked there."""
        return self.sort in (Sort.LINK, Sort.LINKS, Sort.PORT, Sort.CHECK)


def _words(values: type[StrEnum], *, first: str) -> tuple[str, ...]:
    return (first, *(each.value for each in values if each.value != first))


_LEVELS = tuple(each.value for each in Level)
_ANY = (
    "requirement", "decision", "quantity", "check", "gate", "deviation", "action", "evidence",
    "risk", "baseline",
)  # fmt: skip
_GATE = Blank("gate", "Due at gate", Sort.LINK, ("gate",))
_OWNER = Blank("owner", "Owner")
_TITLE = Blank("title", "Title")

BLANKS: Mapping[str, tuple[Blank, ...]] = {
    "quantity": (
        _TITLE,
        Blank("type", "Kind of value", Sort.WORD, words=_words(Kind, first="real"), fixed=True),
        Blank("unit", "Unit", fixed=True),
        Blank("choices", "Choices, with commas", Sort.LIST, fixed=True),
        Blank("columns", "Columns: name = unit", Sort.COLUMNS, fixed=True),
        Blank("value", "Value", Sort.NUMBER),
        Blank("unknown", "Or why it is unknown"),
        Blank("basis", "How well known", Sort.WORD, words=_words(BasisKind, first="guess")),
        Blank("source", "Where from"),
        Blank("dated", "Dated"),
        Blank("tolerance", "Tolerance, half width", Sort.NUMBER),
        Blank(
            "tolerance_shape",
            "Its spread",
            Sort.WORD,
            words=_words(ToleranceShape, first="rectangular"),
        ),
        Blank("low", "May go down to", Sort.NUMBER),
        Blank("high", "May go up to", Sort.NUMBER),
        Blank("ranges", "Parts: z = low .. high", Sort.RANGES),
        Blank("correlated", "Scatters with: key = r", Sort.PAIRS),
    ),
    "requirement": (
        Blank("statement", "Statement", Sort.LONG),
        Blank("quantity", "Quantity judged", Sort.LINK, ("quantity",)),
        Blank("lower", "At least", Sort.NUMBER),
        Blank("upper", "At most", Sort.NUMBER),
        Blank("target", "Target", Sort.NUMBER),
        Blank("scale", "Scale of the margin", Sort.NUMBER),
        Blank("guard", "Guard, share of band"),
        Blank("allowed", "Allowed, with commas", Sort.LIST),
        Blank("source", "Where from"),
        _OWNER,
        Blank(
            "verification", "Verified by", Sort.WORD, words=_words(Verification, first="analysis")
        ),
        Blank("parents", "Derived from", Sort.LINKS, ("requirement",)),
        _GATE,
        Blank("rationale", "Rationale", Sort.LONG),
        Blank("priority", "Priority", Sort.WORD, words=("", *_LEVELS)),
        Blank("risk", "Risk if missed", Sort.LONG),
    ),
    "decision": (
        Blank("question", "Question", Sort.LONG),
        Blank("options", "Options: key = title", Sort.OPTIONS),
        Blank("sets", "Sets quantities", Sort.LINKS, ("quantity",)),
        Blank("serves", "Serves requirements", Sort.LINKS, ("requirement",)),
        Blank("rests_on", "Rests on decisions", Sort.LINKS, ("decision",)),
        _OWNER,
        _GATE,
        Blank("participants", "Taking part", Sort.LIST),
        Blank("assumptions", "Assumptions, one a line", Sort.LINES),
        Blank("dissent", "Dissent: who = why", Sort.PAIRS),
    ),
    "check": (
        _TITLE,
        Blank("check", "Check", Sort.CHECK),
        Blank("decision", "Serves decision", Sort.LINK, ("decision",)),
        Blank("config", "Settings: name = text", Sort.PAIRS),
    ),
    "gate": (
        _TITLE,
        Blank("date", "Date, as 2026-03-01"),
        *(
            Blank(
                f"criteria.{name}",
                name,
                Sort.WORD,
                words=(each.usual, *(word for word in each.settings if word != each.usual)),
            )
            for name, each in CRITERIA.items()
        ),
    ),
    "deviation": (
        Blank("requirement", "Requirement missed", Sort.LINK, ("requirement",)),
        Blank("reason", "Reason", Sort.LONG),
        Blank("approver", "Approved by"),
        Blank("extent", "Extent"),
        Blank("lower", "Accepted down to", Sort.NUMBER),
        Blank("upper", "Accepted up to", Sort.NUMBER),
        Blank("expires", "Expires at gate", Sort.LINK, ("gate",)),
        Blank("consequences", "Consequences", Sort.LONG),
        Blank("decision", "For decision", Sort.LINK, ("decision",)),
    ),
    "action": (
        _TITLE,
        _OWNER,
        _GATE,
        Blank("about", "About", Sort.LINKS, _ANY),
        Blank("closed", "Closed: what was done", Sort.LONG),
        Blank("closed_on", "Closed on"),
    ),
    "evidence": (
        _TITLE,
        Blank("about", "Shows", Sort.LINKS, ("requirement", "decision", "quantity", "check")),
        Blank("place", "File or address"),
        Blank("sha256", "SHA-256"),
        Blank("dated", "Dated"),
        Blank("note", "Note", Sort.LONG),
    ),
    "risk": (
        _TITLE,
        Blank("likelihood", "Likelihood", Sort.WORD, words=_words(Level, first="medium")),
        Blank("consequence", "Consequence", Sort.WORD, words=_words(Level, first="medium")),
        Blank("about", "About", Sort.LINKS, _ANY),
        _OWNER,
        _GATE,
        Blank("response", "What is done about it", Sort.LONG),
        Blank("closed", "Closed by: why", Sort.LONG),
    ),
}
"""Kind → its fields besides the key."""

KINDS_WRITTEN = tuple(BLANKS)


def port_blanks(ports: CheckPorts) -> tuple[Blank, ...]:
    """Return the fields that bind the ports of a check."""
    sides = (
        ("inputs", ports.inputs, ("quantity", "requirement")),
        ("outputs", ports.outputs, ("quantity",)),
    )
    return tuple(
        Blank(f"{side}.{each.key}", _port_label(side, each.title), Sort.PORT, kinds)
        for side, lines, kinds in sides
        for each in lines
    )


def _port_label(side: str, title: str) -> str:
    return title if side == "inputs" else f"→ {title}"


# --- from what is typed to a document


def _list(text: str) -> list[str]:
    return [each.strip() for each in text.split(",") if each.strip()]


def _lines(text: str) -> list[str]:
    return [each.strip() for each in text.split("\n") if each.strip()]


def _pairs(text: str) -> dict[str, str]:
    found = {}
    for line in _lines(text):
        name, _, said = line.partition("=")
        found[name.strip()] = said.strip()
    return found


def _ranges(text: str) -> dict[str, Any]:
    return {
        part: [each.strip() for each in ends.split("..")] for part, ends in _pairs(text).items()
    }


_CELLS = ("text", "integer", "flag")


def _columns(text: str) -> list[dict[str, str]]:
    return [
        {"name": name, "type": said} if said in _CELLS else {"name": name, "unit": said}
        for name, said in _pairs(text).items()
    ]


def _options(text: str) -> list[dict[str, str]]:
    return [{"key": key, "title": title or key} for key, title in _pairs(text).items()]


def _port(text: str) -> object:
    return {"value": text[1:].strip()} if text.startswith("=") else text


_READ: Mapping[Sort, Callable[[str], object]] = {
    Sort.LINKS: _list,
    Sort.LIST: _list,
    Sort.LINES: _lines,
    Sort.PAIRS: _pairs,
    Sort.RANGES: _ranges,
    Sort.COLUMNS: _columns,
    Sort.OPTIONS: _options,
    Sort.PORT: _port,
}


def document_typed(
    kind: str, typed: Mapping[str, str], blanks: Sequence[Blank], held: Document | None = None
) -> dict[str, Any]:
    """Return the document of an item as typed.

    Parameters
    ----------
    typed : mapping of str to str
        What was typed, by field.
    blanks : sequence of Blank
        The fields besides the key.
    held : Document, optional
        The item as it is: a field that was not touched stays just so.
    """
    before = {} if held is None else typed_of(held, blanks)
    document: dict[str, Any] = {
        "kind": kind,
        "key": typed.get("key", before.get("key", "")).strip(),
    }
    for blank in blanks:
        outer, _, inner = blank.name.partition(".")
        was = before.get(blank.name, "")
        text = typed.get(blank.name, was)
        value = _held(held, blank) if text == was else _value(blank, text.strip(), held)
        if inner:
            if held is not None and outer in held:
                document.setdefault(outer, {})
            if value not in (None, ""):
                document.setdefault(outer, {})[inner] = value
        elif value not in (None, "", [], {}) or (held is not None and outer in held):
            document[outer] = "" if value is None else value
    return document


def _held(held: Document | None, blank: Blank) -> object:
    outer, _, inner = blank.name.partition(".")
    value = (held or {}).get(outer)
    return (value or {}).get(inner) if inner else value


def _value(blank: Blank, text: str, held: Document | None) -> object:
    if blank.sort is Sort.WORD and text == blank.words[0]:
        return ""  # what is meant without a word; an amendment sets it back to that
    value = _READ.get(blank.sort, str)(text)
    if blank.sort is Sort.OPTIONS and held is not None:
        known = {each["key"]: each for each in held.get("options", ())}
        return [{**known.get(each["key"], {}), **each} for each in _options(text)]
    return value


# --- from a document to what would be typed


def typed_of(document: Document, blanks: Sequence[Blank]) -> dict[str, str]:
    """Return the texts that stand for the fields of an item."""
    texts = {"key": str(document.get("key", ""))}
    for blank in blanks:
        value = _held(document, blank)
        if value is not None:
            texts[blank.name] = _TEXTS.get(blank.sort, _plain)(value)
        elif blank.sort is Sort.WORD:
            texts[blank.name] = blank.words[0]
    return texts


def _plain(value: Any) -> str:  # noqa: ANN401 - JSON data
    match value:
        case bool():
            return "yes" if value else "no"
        case float() if value.is_integer() and abs(value) < 2**53:
            return str(int(value))
        case list() if all(isinstance(each, int | float) for each in value) and value:
            return "[" + ", ".join(map(_plain, value)) + "]"
        case list() | dict():
            return ""  # rows of a table: they come from a file, or are edited in a trial
        case _:
            return str(value)


def _pair_lines(value: Mapping[str, Any]) -> str:
    return "\n".join(f"{name} = {_plain(said)}" for name, said in value.items())


def _range_lines(value: Mapping[str, Sequence[Any]]) -> str:
    return "\n".join(
        f"{name} = {_plain(low)} .. {_plain(high)}" for name, (low, high) in value.items()
    )


def _column_lines(value: Sequence[Mapping[str, str]]) -> str:
    return "\n".join(
        f"{each['name']} = {each.get('unit') or (each['type'] if each['type'] in _CELLS else '')}"
        for each in value
    )


def _option_lines(value: Sequence[Mapping[str, str]]) -> str:
    return "\n".join(f"{each['key']} = {each['title']}" for each in value)


def _port_text(value: object) -> str:
    return f"= {_plain(value['value'])}" if isinstance(value, dict) else str(value)


_TEXTS: Mapping[Sort, Callable[[Any], str]] = {
    Sort.LINKS: ", ".join,
    Sort.LIST: ", ".join,
    Sort.LINES: "\n".join,
    Sort.PAIRS: _pair_lines,
    Sort.RANGES: _range_lines,
    Sort.COLUMNS: _column_lines,
    Sort.OPTIONS: _option_lines,
    Sort.PORT: _port_text,
}
