"""A document that has every kind of block and cell, its texts as hostile as records allow."""

from __future__ import annotations

import math

from tracker.contract.figure import Axis, Figure, FigureKind, Series
from tracker.report.document import (
    Column,
    ColumnKind,
    Document,
    Drawing,
    Facts,
    Link,
    Links,
    Note,
    Number,
    Paragraph,
    Section,
    Sign,
    Signatures,
    Table,
    Text,
    anchor,
)

__all__ = ["HOSTILE", "hostile_document", "plain_document"]

HOSTILE = (
    "<script>alert(1)</script><style>*{display:none}</style><img src=http://x.test/a.png>",
    '" onload="alert(1)" &amp; &lt; <!-- --> ]]> <![CDATA[',
    '=HYPERLINK("http://x.test","a")',
    "=1+1",
    "+1",
    "-2+3",
    "@SUM(A1)",
    "'quoted",
    "\t=1+1",
    " =1+1",
    "\n=2+2",
    "_x0041_ _x000D_",
    "escape \x1b[31m c1 \x9b31m \x85 del \x7f",
    "bidi \u202etxet\u202c \u2066iso\u2069 zero\u200bwidth\u200d \ufeffmark",
    "line\u2028separator paragraph\u2029separator",
    "../../etc/passwd C:\\temp\\x.csv nul:",
    '#set page(fill: red) #import "x" $ integral $ *b* _i_ `c` @ref <lab> // --- ~ \\ [x] = h',
    "# heading\n- item\n> quote\n```\ncode\n```\n| a | b |\n| --- | --- |",
    "**bold** [link](javascript:alert(1)) ![i](http://x.test) <http://x.test> www.x.test",
    "%s %d {0} ${jndi} $(touch x) `id` ; rm -rf",
    "\u05e2\u05d1\u05e8\u05d9\u05ea",
    "\u4e2d\u6587 \U0001f600 e\u0301 \u00e9 \ufb01 10\u00a0mm",
    'a,b;c"d"e\r\nf',
    "x" * 300,
)
"""Texts meant to become something else."""


def _curve(title: str) -> Figure:
    xs = tuple(each / 10 for each in range(-40, 41))
    return Figure(
        key="curve",
        title=title,
        kind=FigureKind.CURVE,
        series=(
            Series(title=f"toe {title}", x=xs, y=tuple(math.sin(each) for each in xs)),
            Series(
                title="camber", x=xs, y=tuple(math.nan if each > 2 else -each / 4 for each in xs)
            ),
        ),
        across=Axis("wheel travel", "mm"),
        up=Axis("angle", "°"),
    )


def _sketch(title: str) -> Figure:
    return Figure(
        key="sketch",
        title=title,
        kind=FigureKind.SKETCH,
        series=(
            Series(
                title="upper arm",
                x=(300.0, 480.0, 650.0),
                y=(420.0, 430.0, 455.0),
                labels=("inner", "", "outer"),
            ),
            Series(
                title="wheel",
                x=(640.0, 720.0, 720.0, 640.0),
                y=(0.0, 0.0, 640.0, 640.0),
                closed=True,
            ),
            Series(title="point", x=(500.0,), y=(100.0,), labels=(title,)),
        ),
        across=Axis("y", "mm"),
        up=Axis("z", "mm"),
    )


def _bars(title: str) -> Figure:
    return Figure(
        key="bars",
        title=title,
        kind=FigureKind.BARS,
        series=(
            Series(
                title="upper joint", y=(1200.0, -800.0, math.nan), labels=("kerb", title, "pothole")
            ),
            Series(
                title="lower joint", y=(3200.0, 2800.0, 4100.5), labels=("kerb", title, "pothole")
            ),
        ),
        across=Axis("load case"),
        up=Axis("force", "N"),
    )


def _section(key: str, title: str, words: str) -> Section:
    return Section(
        anchor=anchor("decision", key),
        title=f"{key}: {title}",
        own_page=True,
        blocks=(
            Facts(
                (
                    ("state", Text("settled")),
                    ("standing", Sign("strained")),
                    (f"owner {words}", Text(words)),
                    ("serves", Links((Link("R-1", anchor("decision", "D-1")), Link(words)))),
                    ("mass", Number("1450.5", "kg")),
                )
            ),
            Paragraph(f"{words}\nsecond line {words}"),
            Note(words),
            Note(words, caution=True),
            Table(
                caption=f"Findings of {words}",
                columns=(
                    Column("judged by", share=1.2),
                    Column("required", share=1.5),
                    Column("value", ColumnKind.NUMBER),
                    Column("verdict", ColumnKind.SIGN),
                    Column("margin", ColumnKind.NUMBER),
                ),
                rows=(
                    (
                        Links((Link("R-1", anchor("decision", "D-1")),)),
                        Text("1.1 to 1.5 g"),
                        Number("1.25", "g"),
                        Sign("met"),
                        Number("+0.12", "g"),
                    ),
                    (Text(words), Text(words), Text("unknown"), Sign("unknown"), Text(words)),
                    (Text("R-3"), Text("at most 3"), Number("4"), Sign("missed"), Number("−1")),
                ),
            ),
        ),
        sections=(
            Section(
                anchor=anchor("decision", key, "figures"),
                title="Figures",
                listed=False,
                blocks=tuple(Drawing(draw(words)) for draw in (_curve, _sketch, _bars)),
            ),
        ),
    )


def _document(title: str, words: tuple[str, ...]) -> Document:
    return Document(
        title=title,
        kind="Gate pack",
        running=f"revision 42 · head {'ab12' * 16}",
        caution="Screening calculations: no substitute for validated analysis.",
        moment="2031-04-05T06:07:08Z",
        front=(Facts((("gate", Text("G2")), ("frozen by", Text(words[0])))),),
        sections=(
            Section(
                anchor="readiness",
                title="Readiness",
                own_page=True,
                blocks=(Paragraph("All criteria at a glance."),),
            ),
            *(
                _section(f"D-{number}", "Which joint?" if len(words) == 1 else each, each)
                for number, each in enumerate(words, 1)
            ),
            Section(
                anchor="signatures",
                title="Signatures",
                own_page=True,
                blocks=(Signatures(("Lead engineer", "Programme manager", words[0])),),
            ),
        ),
    )


def plain_document() -> Document:
    return _document("Four-wheel roadster", ("The joint spacing carries the lateral load.",))


def hostile_document() -> Document:
    return _document(" ".join(HOSTILE[:4]), HOSTILE)
