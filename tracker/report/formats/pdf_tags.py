"""Structure trees of parts put under one root (ISO 32000-2, 14.7)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pikepdf import Pdf

__all__ = ["add_tags"]


def add_tags(whole: Pdf, part: Pdf, prefix: str) -> None:
    """Append the pages of a part, with their structure where it has one.

    Parameters
    ----------
    whole, part : Pdf
        What grows, and what is added; the part is not used afterwards.
    prefix : str
        Put before the part's element identifiers, which are unique within it alone.
    """
    if "/StructTreeRoot" not in part.Root:
        whole.pages.extend(part.pages)
        return
    tree = whole.Root.StructTreeRoot
    offset = int(tree.ParentTreeNextKey)
    _renumber(part, offset)
    for element in _elements(part.Root.StructTreeRoot):
        _rename(element, prefix)
    whole.pages.extend(part.pages)
    added = whole.copy_foreign(part.Root.StructTreeRoot)
    for element in added.K:
        element.P = tree
        tree.K.append(element)
    _extend(tree.ParentTree.Nums, added.ParentTree.Nums, offset)
    tree.ParentTreeNextKey = offset + int(added.ParentTreeNextKey)
    _add_names(tree, added, prefix)
    for role, standard in added.get("/RoleMap", {}).items():
        tree.RoleMap[role] = standard


def _renumber(part: Pdf, offset: int) -> None:
    """Shift the keys by which pages and links find their elements."""
    for page in part.pages:
        if "/StructParents" in page.obj:
            page.obj.StructParents = int(page.obj.StructParents) + offset
        for annotation in page.obj.get("/Annots", []):
            if "/StructParent" in annotation:
                annotation.StructParent = int(annotation.StructParent) + offset


def _elements(root: Any) -> Iterator[Any]:  # noqa: ANN401 - objects of the PDF library
    """Yield every element below a structure tree's root."""
    import pikepdf

    pending = list(root.K)
    while pending:
        element = pending.pop()
        if not isinstance(element, pikepdf.Dictionary) or "/S" not in element:
            continue
        yield element
        below: Any = element.get("/K", [])
        if isinstance(below, pikepdf.Array):
            pending += [each for each in below if isinstance(each, pikepdf.Dictionary)]


def _rename(element: Any, prefix: str) -> None:  # noqa: ANN401 - as above
    from pikepdf import Array, String

    if "/ID" in element:
        element.ID = String(f"{prefix}{element.ID}")
    for attributes in element.get("/A", []):
        if "/Headers" in attributes:
            attributes.Headers = Array([String(f"{prefix}{each}") for each in attributes.Headers])


def _extend(numbers: Any, added: Any, offset: int) -> None:  # noqa: ANN401 - as above
    for place in range(0, len(added), 2):
        numbers.append(int(added[place]) + offset)
        numbers.append(added[place + 1])


def _add_names(tree: Any, added: Any, prefix: str) -> None:  # noqa: ANN401 - as above
    """Join the lists that find elements by identifier, in the order such lists must have."""
    from pikepdf import Array, Dictionary, String

    if "/IDTree" not in added:
        return
    pairs = [(f"{prefix}{name}", element) for name, element in _pairs(added.IDTree.Names)]
    if "/IDTree" in tree:
        pairs += _pairs(tree.IDTree.Names)
    flat = [
        each
        for name, element in sorted(pairs, key=lambda pair: pair[0])
        for each in (String(name), element)
    ]
    tree.IDTree = Dictionary(Names=Array(flat))


def _pairs(names: Any) -> list[tuple[str, Any]]:  # noqa: ANN401 - as above
    return [(str(names[place]), names[place + 1]) for place in range(0, len(names), 2)]
