"""HTML documents: read back by parsers and opened in a browser."""

from __future__ import annotations

import base64
import hashlib
import re
from collections import Counter
from collections.abc import Iterator
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest

from tests.integration.report.browser import Browser, browser_path
from tests.integration.report.packs import filled
from tests.integration.report.sample import HOSTILE, hostile_document, plain_document
from tracker.report.formats.html import html
from tracker.report.pages.pack import pack_document
from tracker.services.wording import visible

PAGES = {
    "plain": html(plain_document()).decode(),
    "hostile": html(hostile_document()).decode(),
    "pack": html(pack_document(filled(("A text", "another")))).decode(),
    "hostile-pack": html(pack_document(filled(HOSTILE))).decode(),
}
EMPTY = {"meta", "br", "col"}


class Reader(HTMLParser):
    """Collects elements, attributes and text."""

    def __init__(self, source: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.open: list[str] = []
        self.texts: list[str] = []
        self.heads: list[tuple[int, str]] = []
        self.feed(source)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in EMPTY:
            self.open.append(tag)
        if re.fullmatch("h[1-6]", tag):
            self.heads.append((int(tag[1]), ""))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.texts.append(data)
        if any(re.fullmatch("h[1-6]", each) for each in self.open):
            level, text = self.heads.pop()
            self.heads.append((level, text + data))


@pytest.fixture(params=PAGES)
def page(request: pytest.FixtureRequest) -> Reader:
    return Reader(PAGES[request.param])


def test_no_script_no_event_no_address(page: Reader) -> None:
    """All that could run, fetch or be sent is absent, whatever the texts are."""
    allowed = {
        *("html", "head", "meta", "title", "style", "body", "a", "header", "nav", "main", "footer"),
        *("section", "h1", "h2", "h3", "h4", "p", "strong", "span", "ol", "li", "dl", "dt", "dd"),
        *("table", "caption", "colgroup", "col", "thead", "tbody", "tr", "th", "td", "div"),
        *("figure", "figcaption", "svg", "desc", "polyline", "polygon", "circle", "text"),
    }
    assert {tag for tag, _ in page.tags} <= allowed
    for _, attributes in page.tags:
        assert not [
            name for name in attributes if name.startswith("on") or name in ("src", "style")
        ]
        assert attributes.get("href", "#").startswith("#")
    styles = [tag for tag, _ in page.tags if tag == "style"]
    assert styles == ["style"]


def test_the_policy_names_the_one_style_sheet_and_nothing_else() -> None:
    """Content Security Policy Level 3: a hash is the base64 of the digest of the element's text."""
    source = PAGES["hostile"]
    sheet = source.split("<style>")[1].split("</style>")[0]
    digest = base64.b64encode(hashlib.sha256(sheet.encode()).digest()).decode()
    metas = [each for tag, each in Reader(source).tags if tag == "meta"]
    (policy,) = [each["content"] for each in metas if "http-equiv" in each]
    assert set(policy.split("; ")) == {
        "default-src 'none'",
        f"style-src 'sha256-{digest}'",
        "base-uri 'none'",
        "form-action 'none'",
    }


def test_names_are_unique_and_every_link_has_its_target(page: Reader) -> None:
    names = Counter(each["id"] for _, each in page.tags if "id" in each)
    assert set(names.values()) == {1}
    links = [each["href"] for tag, each in page.tags if tag == "a"]
    assert len(links) > 3
    assert {each.removeprefix("#") for each in links} <= set(names)
    for _, each in page.tags:
        for name in (each.get("aria-labelledby") or "").split():
            assert name in names


def test_headings_step_down_by_one(page: Reader) -> None:
    """WCAG 2.2, technique G141: headings in order, one first."""
    levels = [level for level, _ in page.heads]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(later - earlier <= 1 for earlier, later in pairwise(levels))
    assert all(text.strip() for _, text in page.heads)


def test_tables_are_told_by_their_headers(page: Reader) -> None:
    """WCAG 2.2, techniques H39, H51, H63: captions, header cells with their scope."""
    counted = Counter(tag for tag, _ in page.tags)
    assert counted["table"] == counted["caption"] == counted["thead"] > 0
    scopes = Counter(each.get("scope") for tag, each in page.tags if tag == "th")
    assert set(scopes) == {"col", "row"}
    assert counted["svg"] == counted["desc"]


def test_language_title_and_skip_link(page: Reader) -> None:
    assert page.tags[0] == ("html", {"lang": "en"})
    assert next(each for tag, each in page.tags if tag == "a") == {
        "class": "skip",
        "href": "#content",
    }
    assert ("main", {"id": "content", "tabindex": "-1"}) in page.tags


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_stands_as_it_is(text: str) -> None:
    """Parsed back, each text is one run of characters, its hidden ones spelt out."""
    found = Reader(PAGES["hostile"])
    whole = "\x00".join(found.texts)
    assert whole.count(visible(text)) >= 10
    assert not set("\u202e\u2066\u200b\x1b\x9b\x85\x7f\r") & set(PAGES["hostile"])


# --- in a browser -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    path = browser_path()
    if path is None:
        pytest.skip("no browser is installed")
    with Browser(path) as found:
        yield found


@pytest.mark.parametrize("name", PAGES)
def test_a_browser_has_nothing_to_complain_of(browser: Browser, name: str, tmp_path: Path) -> None:
    file = tmp_path / "page.html"
    file.write_text(PAGES[name], encoding="utf-8")
    browser.open(file)
    assert (
        browser.told("Log.entryAdded", "Runtime.exceptionThrown", "Runtime.consoleAPICalled") == []
    )
    asked = [each["request"]["url"] for each in browser.told("Network.requestWillBeSent")]
    assert asked == [file.as_uri()]
    assert browser.ask("document.compatMode") == "CSS1Compat"
    assert browser.ask("document.scripts.length") == 0
    assert browser.ask("getComputedStyle(document.querySelector('.skip')).position") == "absolute"
    assert browser.ask("document.documentElement.scrollWidth <= innerWidth")


def test_every_entry_of_the_contents_leads_there(browser: Browser, tmp_path: Path) -> None:
    file = tmp_path / "page.html"
    file.write_text(PAGES["pack"], encoding="utf-8")
    browser.open(file)
    links = browser.ask("document.querySelectorAll('nav a').length")
    assert links > 10
    for place in range(links):
        browser.ask(f"document.querySelectorAll('nav a')[{place}].click()")
        told = browser.ask(
            "(()=>{const e=document.querySelector(location.hash);const r=e.getBoundingClientRect();"
            "return [e.querySelector('h2,h3').textContent===document.querySelectorAll('nav a')"
            f"[{place}].textContent, r.top < innerHeight, r.bottom > 0]}})()"
        )
        assert told == [True, True, True]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_from_its_ground(browser: Browser, scheme: str, tmp_path: Path) -> None:
    """WCAG 2.2, 1.4.3: 4.5 to 1, measured on what the browser computed for every text."""
    file = tmp_path / "page.html"
    file.write_text(PAGES["pack"], encoding="utf-8")
    features = [{"name": "prefers-color-scheme", "value": scheme}]
    browser.call("Emulation.setEmulatedMedia", features=features)
    browser.open(file)
    pairs = browser.ask(
        """(()=>{const found=new Set();
        const walk=document.createTreeWalker(document.body,NodeFilter.SHOW_TEXT);
        while(walk.nextNode()){const t=walk.currentNode;if(!t.data.trim())continue;
          let e=t.parentElement;const svg=e.closest('svg');
          const ink=svg&&e.tagName==='text'?getComputedStyle(e).fill:getComputedStyle(e).color;
          while(e&&getComputedStyle(e).backgroundColor==='rgba(0, 0, 0, 0)')e=e.parentElement;
          found.add(ink+'|'+(e?getComputedStyle(e).backgroundColor:'none'));}
        return [...found]})()"""
    )
    assert len(pairs) >= 6
    for pair in pairs:
        ink, ground = (tuple(map(int, re.findall(r"\d+", each)[:3])) for each in pair.split("|"))
        assert _contrast(ink, ground) >= 4.5, pair


def _contrast(one: tuple[int, ...], two: tuple[int, ...]) -> float:
    """WCAG 2.2, "contrast ratio" and "relative luminance"."""
    high, low = sorted((_luminance(one), _luminance(two)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: tuple[int, ...]) -> float:
    parts = [each / 255 for each in colour]
    red, green, blue = (
        each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_print_keeps_decisions_on_pages_of_their_own(browser: Browser, tmp_path: Path) -> None:
    file = tmp_path / "page.html"
    file.write_text(PAGES["pack"], encoding="utf-8")
    browser.open(file)
    browser.call("Emulation.setEmulatedMedia", media="print")
    breaks = browser.ask(
        "[...document.querySelectorAll('section.own-page')].map(e=>getComputedStyle(e).breakBefore)"
    )
    assert len(breaks) > 8
    assert set(breaks) == {"page"}
    browser.call("Emulation.setEmulatedMedia", media="")
