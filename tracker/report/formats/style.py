"""Colours and style sheet of HTML documents.

Every pair of text and ground keeps a contrast of at least 4.5 to 1 (WCAG 2.2, success criterion
1.4.3), in the light and in the dark scheme.
"""

from __future__ import annotations

from collections.abc import Mapping
from string import Template

__all__ = ["DARK", "LIGHT", "SIGN_INKS", "STYLE"]

LIGHT: Mapping[str, str] = {
    "ground": "#ffffff",
    "panel": "#f2f5f6",
    "ink": "#1b2430",
    "quiet": "#4d5966",
    "rule": "#c3ccd3",
    "link": "#0b5c63",
    "good": "#0b5c63",
    "near": "#8a4b00",
    "bad": "#a81844",
    "open": "#6d2f8f",
    "caution": "#fdf3e0",
}
"""Colours by role on light ground."""

DARK: Mapping[str, str] = {
    "ground": "#14191f",
    "panel": "#1e262e",
    "ink": "#e6eaee",
    "quiet": "#a9b4bf",
    "rule": "#45525e",
    "link": "#6fd0d6",
    "good": "#6fd0d6",
    "near": "#f0b463",
    "bad": "#ff8fa9",
    "open": "#d3a4ee",
    "caution": "#3a2d12",
}
"""The same on dark ground."""

SIGN_INKS: Mapping[str, str] = {
    "met": "good",
    "stands": "good",
    "current": "good",
    "valid": "good",
    "intact": "good",
    "tight": "near",
    "strained": "near",
    "waiting": "near",
    "shifted": "near",
    "set aside": "near",
    "missed": "bad",
    "not met": "bad",
    "broken": "bad",
    "failed": "bad",
    "unbound": "bad",
    "expired": "bad",
    "changed": "bad",
    "missing": "bad",
    "unknown": "open",
    "unproven": "open",
}
"""Word → role of its colour; the word always stands there itself."""

_SHEET = Template("""
:root{$light}
@media (prefers-color-scheme:dark){:root{$dark}}
*{box-sizing:border-box}
html{scroll-behavior:auto}
body{margin:0 auto;max-width:72rem;padding:1.5rem 1.25rem 4rem;background:var(--ground);
color:var(--ink);font:1rem/1.5 system-ui,"Segoe UI","Liberation Sans",Arial,sans-serif}
a{color:var(--link)}
a:focus-visible{outline:3px solid var(--link);outline-offset:2px}
.skip{position:absolute;left:-999rem}
.skip:focus{position:static}
header .kind{margin:0;color:var(--quiet);font-size:.95rem;letter-spacing:.04em;
text-transform:uppercase}
h1{margin:.1rem 0 1rem;font-size:2rem;line-height:1.2}
h2{margin:2.5rem 0 .75rem;padding-top:.75rem;border-top:2px solid var(--ink);font-size:1.45rem}
h3{margin:1.75rem 0 .5rem;font-size:1.15rem}
h4,h5,h6{margin:1.25rem 0 .4rem;font-size:1rem}
h1,h2,h3,h4,h5,h6,p,td,th,dd,dt,figcaption,caption,li{overflow-wrap:anywhere;
white-space:pre-wrap}
p{margin:.5rem 0;max-width:48rem}
.running{color:var(--quiet);font-size:.85rem;font-family:ui-monospace,"DejaVu Sans Mono",monospace}
nav ol{margin:.25rem 0;padding:0;list-style:none}
nav li{margin:.1rem 0}
.l2{padding-left:1.5rem}
.l3{padding-left:3rem}
dl{display:grid;grid-template-columns:minmax(6rem,14rem) minmax(0,1fr);gap:.15rem 1.25rem;
margin:.75rem 0}
dt{color:var(--quiet)}
dd{margin:0}
table{width:100%;table-layout:fixed;margin:.75rem 0 1.25rem;border-collapse:collapse;
font-size:.9rem;font-variant-numeric:tabular-nums}
caption{padding:.25rem 0;color:var(--quiet);text-align:left;font-size:.9rem}
th,td{padding:.3rem .55rem;border-bottom:1px solid var(--rule);text-align:left;vertical-align:top}
thead th{border-bottom:2px solid var(--ink);background:var(--panel)}
tbody th{font-weight:600}
.number{text-align:right}
.good{color:var(--good)}.near{color:var(--near)}.bad{color:var(--bad)}.open{color:var(--open)}
.note{margin:.75rem 0;padding:.5rem .9rem;border-left:4px solid var(--rule);background:var(--panel)}
.caution{margin:.75rem 0;padding:.5rem .9rem;border-left:4px solid var(--near);
background:var(--caution)}
figure{margin:1rem 0;padding:.75rem;border:1px solid var(--rule);background:#fff;color:#1b2430;
max-width:42rem}
figure svg{display:block;width:100%;height:auto}
figcaption{padding-bottom:.4rem;font-size:.9rem}
.sign-here{display:grid;grid-template-columns:2fr 2fr 1fr;gap:2.6rem 1.5rem;margin:2.5rem 0}
.sign-here p{margin:0;padding-top:.25rem;border-top:1px solid var(--ink);font-size:.85rem}
footer{margin-top:3rem;padding-top:.75rem;border-top:1px solid var(--rule)}
@media print{
@page{size:A4;margin:18mm 16mm 20mm}
:root{$light}
body{max-width:none;padding:0;font-size:9.5pt}
.skip{display:none}
h2,h3,h4{break-after:avoid}
.own-page{break-before:page}
thead{display:table-header-group}
tr,figure,.note,.caution{break-inside:avoid}
a{color:inherit;text-decoration:none}
}
""")


def _variables(colours: Mapping[str, str]) -> str:
    return "".join(f"--{name}:{colour};" for name, colour in colours.items())


STYLE = _SHEET.substitute(light=_variables(LIGHT), dark=_variables(DARK)).strip() + "\n"
"""The style sheet."""
