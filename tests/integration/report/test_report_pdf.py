"""PDF documents: taken apart with two independent readers."""

from __future__ import annotations

import io
import json
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import replace
from importlib.resources import files
from itertools import pairwise
from typing import Any

import pikepdf
import pytest
import typst
from pypdf import PageObject, PdfReader
from pypdf.generic import Destination

from tests.integration.report.packs import filled
from tests.integration.report.sample import HOSTILE, hostile_document, plain_document
from tracker.report.document import Column, Document, Section, Table, Text, sections_of
from tracker.report.formats import pdf as pdf_module
from tracker.report.formats.pdf import pdf
from tracker.report.formats.pdf_glyphs import FONTS, covered, printable
from tracker.report.formats.pdf_parts import Parts, shared
from tracker.report.pages.pack import pack_document


def _long_document(rows: int) -> Document:
    table = Table(
        caption="Many",
        columns=(Column("key"), Column("text", share=3)),
        rows=tuple((Text(f"R-{each}"), Text("It must hold")) for each in range(rows)),
    )
    plain = plain_document()
    many = Section(anchor="many", title="Many rows", own_page=True, blocks=(table,))
    return replace(plain, sections=(*plain.sections, many, *_renamed(plain.sections)))


def _renamed(sections: tuple[Section, ...]) -> tuple[Section, ...]:
    return tuple(
        replace(each, anchor=f"{each.anchor}-2", sections=_renamed(each.sections))
        for each in sections
    )


DOCUMENTS = {
    "plain": plain_document(),
    "hostile": hostile_document(),
    "pack": pack_document(filled(("A text", "another"))),
    "long": _long_document(2000),
}
FILES = {name: pdf(each) for name, each in DOCUMENTS.items()}


@pytest.fixture(params=FILES)
def name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def _flat(text: str) -> str:
    return unicodedata.normalize("NFC", re.sub(r"\s+", "", text))


def test_nothing_can_run_or_leave(name: str) -> None:
    """No action, script, address, form or file: links are jumps inside the document."""
    with pikepdf.open(io.BytesIO(FILES[name])) as file:
        assert not {"/OpenAction", "/AA", "/AcroForm"} & set(file.Root.keys())
        assert set(file.Root.Names.keys()) == {"/Dests"}
        keys = {key for each in file.objects for key in _keys(each)}
        assert not {"/JS", "/URI", "/EF", "/Launch", "/AA", "/RichMedia"} & keys
        assert not [each for each in file.objects if _name_of(each, "/S") == "/URI"]


def _keys(found: object) -> list[str]:
    return list(found.keys()) if isinstance(found, pikepdf.Dictionary | pikepdf.Stream) else []


def _name_of(found: Any, key: str) -> str:  # noqa: ANN401 - an object of the reader
    return str(found[key]) if key in _keys(found) else ""


def test_links_outline_and_labels_agree_with_the_contents(name: str) -> None:
    reader = PdfReader(io.BytesIO(FILES[name]))
    places = reader.named_destinations
    numbers = {_number(page): place for place, page in enumerate(reader.pages)}
    wanted = {section.anchor for _, section in sections_of(DOCUMENTS[name])}
    assert set(places) == wanted
    for page in reader.pages:
        for each in page.get("/Annots", []):
            assert each.get_object()["/Dest"] in wanted
    labels = reader.page_labels
    lead = labels.index("1")
    assert labels[:lead] == ["i", "ii", "iii", "iv", "v"][:lead]
    assert labels[lead:] == [str(number) for number in range(1, len(labels) - lead + 1)]
    contents = _flat("".join(page.extract_text() for page in reader.pages[1:lead]))
    for _, section in sections_of(DOCUMENTS[name]):
        target = places[section.anchor]
        where = numbers[_target(target)]
        assert _flat(printable(section.title)) in _flat(reader.pages[where].extract_text())
        if section.listed:
            assert _flat(printable(section.title)) + labels[where] in contents
    titles = [_flat(each) for each in _titles(reader.outline)]
    assert titles == [
        _flat(printable(section.title)) for _, section in sections_of(DOCUMENTS[name])
    ]


def _number(page: PageObject) -> int:
    assert page.indirect_reference is not None
    return page.indirect_reference.idnum


def _target(found: Destination) -> int:
    page: Any = found.page
    return int(page.idnum)


def _titles(outline: list[Any]) -> Iterator[str]:
    for each in outline:
        if isinstance(each, list):
            yield from _titles(each)
        else:
            yield each.title


def test_every_page_carries_identity_caution_and_number(name: str) -> None:
    document, reader = DOCUMENTS[name], PdfReader(io.BytesIO(FILES[name]))
    for page, label in zip(reader.pages, reader.page_labels, strict=True):
        text = _flat(page.extract_text())
        assert _flat(printable(document.running)) in text
        assert _flat(printable(document.caution)) + label in text


def test_the_fonts_are_the_ones_in_the_wheel_and_embedded(name: str) -> None:
    allowed = {each.replace(" ", "") for each in FONTS} | {"NewCMMath", "NewCM10", "DejaVuSansMono"}
    with pikepdf.open(io.BytesIO(FILES[name])) as file:
        fonts = [each for each in file.objects if _name_of(each, "/Type") == "/FontDescriptor"]
        assert fonts
        for each in fonts:
            family = str(each.FontName).partition("+")[2].partition("-")[0]
            assert family in allowed
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(each.keys())


def test_the_date_is_the_moment_of_the_document() -> None:
    reader = PdfReader(io.BytesIO(FILES["plain"]))
    assert reader.metadata is not None
    assert str(reader.metadata.creation_date)[:10] == DOCUMENTS["plain"].moment[:10]
    assert reader.metadata.title == "Gate pack: Four-wheel roadster"


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_stands_as_it_is(text: str) -> None:
    reader = PdfReader(io.BytesIO(FILES["hostile"]))
    place = HOSTILE.index(text) + 1
    titles = [each.anchor for each in DOCUMENTS["hostile"].sections]
    first = _target(reader.named_destinations[titles[place]])
    pages = [page for page in reader.pages if _number(page) == first]
    shown = _flat(pages[0].extract_text())
    # title, owner, link, paragraph twice, note, caution, caption, cells
    wanted = _flat(printable(text))
    if text == "\u05e2\u05d1\u05e8\u05d9\u05ea":  # the reader gives some of it as it is seen
        assert shown.count(wanted) + shown.count(wanted[::-1]) >= 8
    else:
        assert shown.count(wanted) >= (5 if len(text) > 200 else 8)


def test_tags_tell_the_structure_of_every_part() -> None:
    """ISO 32000-2, 14.7: what a page shows is found from the tree and the tree from the page."""
    with pikepdf.open(io.BytesIO(FILES["long"])) as file:
        assert file.Root.MarkInfo.Marked
        tree = file.Root.StructTreeRoot
        numbers = list(tree.ParentTree.Nums)
        keys = [int(each) for each in numbers[::2]]
        assert keys == sorted(set(keys))
        assert max(keys) < int(tree.ParentTreeNextKey)
        held = dict(zip(keys, numbers[1::2], strict=True))
        pages = [page.obj for page in file.pages]
        for page in pages:
            elements = held[int(page.StructParents)]
            assert {each.Pg.objgen for each in elements if each is not None} == {page.objgen}
        assert len({int(page.StructParents) for page in pages}) == len(pages)
        names = [str(each) for each in list(tree.IDTree.Names)[::2]]
        assert names == sorted(set(names))
        heads = {
            str(head)
            for each in file.objects
            if _name_of(each, "/S") in ("/TD", "/TH")
            for attributes in each.get("/A", [])
            for head in attributes.get("/Headers", [])
        }
        assert heads
        assert heads <= set(names)
        kinds = {_name_of(each, "/S") for each in file.objects}
        assert {"/H1", "/H2", "/P", "/Table", "/TH", "/TD", "/Figure", "/Link"} <= kinds
        assert all(each.P.objgen == tree.objgen for each in tree.K)


def test_a_long_table_repeats_its_head_on_every_page() -> None:
    reader = PdfReader(io.BytesIO(FILES["long"]))
    pages = [page.extract_text() for page in reader.pages]
    rows = [page for page in pages if "It must hold" in page]
    assert len(rows) > 30
    assert all(re.search(r"key\s+text", page) for page in rows)
    found = [int(each) for page in rows for each in re.findall(r"R-(\d+)", page)]
    numbers = [one for one in found if one > 3 or one == 0 or one in range(4)]
    in_order = [one for one in numbers if one < 2000]
    many = in_order[in_order.index(0) :][:2000]
    assert many[0] == 0
    assert all(later - earlier == 1 for earlier, later in pairwise(many))


def test_each_part_passes_as_universally_accessible() -> None:
    """The typesetter's own check of PDF/UA-1 (ISO 14289-1): titles, alternatives, heading order."""
    document = DOCUMENTS["pack"]
    template = files("tracker.report.formats").joinpath("pdf.typ").read_bytes()
    for number, blocks in enumerate(Parts(document).body()):
        if number:
            break
        data = {**shared(document), "front": False, "first": 1, "blocks": blocks}
        made = typst.compile(
            template,
            format="pdf",
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data)},
            pdf_standards="ua-1",
        )
        assert made.startswith(b"%PDF-1.7")


def test_more_cells_than_tags_are_made_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf_module, "TAGGED", 100)
    made = pdf(_long_document(200))
    with pikepdf.open(io.BytesIO(made)) as file:
        assert "/StructTreeRoot" not in file.Root
    reader = PdfReader(io.BytesIO(made))
    assert len(reader.named_destinations) > 5
    assert len(reader.outline) > 3
    lead = reader.page_labels.index("1")
    assert all("/Annots" not in page for page in reader.pages[lead:])
    links: Any = reader.pages[lead - 1]["/Annots"]
    assert len(links) > 3  # the contents still lead there


@pytest.mark.parametrize("weight", ["regular", "bold"])
def test_every_character_said_to_be_drawn_is_drawn(weight: str) -> None:
    """Typeset one by one, none of them gives the empty box that stands for a missing one."""
    chars = [chr(code) for first, last in covered() for code in range(first, last + 1)]
    chars = [each for each in chars if printable(each) == each and not each.isspace()]
    assert len(chars) > 7000
    for start in range(0, len(chars), 3000):
        some = ["\u4e2d", *chars[start : start + 3000]]
        drawn = _drawn(some, weight)
        empty = drawn[0]
        assert empty
        assert [some[place] for place, each in drawn.items() if place and each & empty] == []


def _drawn(chars: list[str], weight: str) -> dict[int, set[str]]:
    """Return the names of the glyphs drawn for each character."""
    source = f"""
    #set page(width: 60pt, height: {20 * len(chars) + 20}pt, margin: 0pt)
    #let data = json(bytes(sys.inputs.data))
    #set text(font: data.fonts, fallback: false, size: 8pt, weight: "{weight}")
    #for (place-in, char) in data.chars.enumerate() {{
      place(top + left, dy: place-in * 20pt, text(char))
    }}"""
    picture = typst.compile(
        source.encode(),
        format="svg",
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps({"fonts": FONTS, "chars": chars})},
    )
    assert isinstance(picture, bytes)
    found: dict[int, set[str]] = {}
    pattern = r'<g transform="matrix\(1 0 0 -1 0 ([\d.]+)\)">(.*?)</g>'
    for match in re.finditer(pattern, picture.decode().split("<defs>")[0], re.DOTALL):
        place = round((float(match[1]) - 5) / 20)
        found.setdefault(place, set()).update(re.findall("#(g[0-9A-F]+)", match[2]))
    return found
