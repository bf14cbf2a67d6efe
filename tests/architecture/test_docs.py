"""The documents are complete and true: they name what there is, and what they name is there."""

from __future__ import annotations

import ast
import importlib
import io
import json
import re
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import pytest

from tests.architecture.documents import DEVELOPERS, DOCUMENTS, README, REFERENCE, blocks, names
from tests.architecture.reference_ports import MARKED, manifests, written_anew
from tests.architecture.sources import ROOT, functions_of, shipped_files, tree_of
from tracker.app import main
from tracker.cli.commands.history import PAST
from tracker.cli.main import COMMANDS
from tracker.cli.options import shared_options
from tracker.errors import WhyboneError
from tracker.exchange.table_files import KINDS
from tracker.services.wording import CAUTION

SHARED = {option for each in shared_options() for option in each.opts}
MACHINE = re.compile(r"(?<![\w.])/(?:work|tmp|home|root|usr|opt|var|mnt|Users)/|[A-Z]:\\|~/")
NAMED_TEST = re.compile(r"tests/[a-z_/]+\.py(?:::(?P<name>test_\w+))?")
ROW = re.compile(r"^\| `(?P<place>[a-z_/.]+)` \| (?P<text>.*) \|$", re.MULTILINE)
ERROR_ROW = re.compile(r"^\| `(?P<code>[a-z-]+)` \| (?P<exit>\d+) \|", re.MULTILINE)


def text_of(document: Path) -> str:
    return document.read_text(encoding="utf-8")


def command(name: str) -> click.Command:
    module = importlib.import_module(COMMANDS[name][0])
    found: click.Command = getattr(module, f"{name}_command")
    return found


# --- the README ----------------------------------------------------------------------------------


def command_rows() -> dict[str, str]:
    section = text_of(README).partition("\n## Commands\n")[2].partition("\n## ")[0]
    rows = re.finditer(r"^\| `(?P<name>[a-z]+)\b[^|]*\|.*$", section, re.MULTILINE)
    return {row["name"]: row[0] for row in rows if row["name"] in COMMANDS}


def test_every_command_stands_in_the_readme() -> None:
    assert [name for name in COMMANDS if name not in command_rows()] == []


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_of_a_command_stands_in_the_readme(name: str) -> None:
    """In its row; those of `import` and `export` in their sections."""
    sections = {"import": "## Importing", "export": "## Exporting"}
    where = command_rows()[name]
    if name in sections:
        where += text_of(README).partition(sections[name])[2].partition("\n## ")[0]
    options = {
        option
        for param in command(name).params
        if isinstance(param, click.Option)
        for option in param.opts
    }
    assert {option for option in options - SHARED if option not in where} == set()


def test_shared_options_variables_and_exit_codes_stand_in_the_readme() -> None:
    text = text_of(README)
    variables = {
        found
        for path in shipped_files()
        for found in re.findall(r"\b(?:WHYBONE_[A-Z]+|NO_COLOR)\b", path.read_text())
    }
    assert variables
    codes = {0, 1, 2, 3, 4, 70, 130}
    assert {each for each in SHARED | variables if f"`{each}" not in text} == set()
    assert {code for code in codes if f"\n| {code} | " not in text} == set()


def test_commands_at_an_earlier_revision_and_kinds_of_table_stand_in_the_readme() -> None:
    text = text_of(README)
    assert {each for each in (*PAST, *KINDS) if f"`{each}`" not in text} == set()


Run = Callable[[tuple[str, ...]], tuple[int, str]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command line in an empty folder, on the demo once it is made."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("WHYBONE_PROGRAM", "wendrel.db")
    monkeypatch.setenv("WHYBONE_AUTHOR", "Ada")
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO()))

    def running(words: tuple[str, ...]) -> tuple[int, str]:
        code = main(words)
        told = capsys.readouterr()
        return code, told.out + told.err

    return running


def head(run: Run) -> str:
    _, told = run(("audit",))
    return told.split()[-1]


def shown(block: str) -> Iterator[str]:
    return (" ".join(line.split()) for line in block.splitlines() if line.strip(" …"))


def test_what_the_readme_shows_is_what_one_gets(run: Run) -> None:
    """Every command line in order, with its files, exit code and the answer printed under it.

    `HEAD` stands for the present head hash; databases elsewhere are not asked.
    """
    answer = ""
    for block in blocks(README):
        if block.file:
            Path(block.file).write_text(block.text, encoding="utf-8")
        if block.language == "text":
            lines = {" ".join(line.split()) for line in answer.splitlines()}
            assert [line for line in shown(block.text) if line not in lines] == []
        for line in block.commands:
            if any("://" in word for word in line.words):
                continue
            words = tuple(head(run) if word == "HEAD" else word for word in line.words)
            code, answer = run(words)
            assert code == line.code, (line.words, answer)


def test_the_tour_breaks_two_decisions_and_strains_a_third(run: Run) -> None:
    assert run(("demo", "--no-ui"))[0] == 0
    _, told = run(("try", "VOL.lower=5200", "--json"))
    ripple = json.loads(told)
    assert set(ripple["broken"]) == {"D-SUBFRAME", "D-UPPER-ARM"}
    assert ripple["strained"] == ["D-REAR-ARM"]
    assert 0 < ripple["ran"] < ripple["checks_total"] / 4
    room = json.loads(run(("headroom", "VOL.lower", "--json"))[1])["intervals"][0]
    assert room["high"] == pytest.approx(5000)
    assert set(room["breaks_high"]) == {"D-SUBFRAME", "D-UPPER-ARM"}


JSON_ROW = re.compile(r"^\| `(?P<command>[a-z ]+)` \| (?P<keys>.*) \|$", re.MULTILINE)


def keys_in(value: object) -> set[str]:
    if isinstance(value, dict):
        return set(value).union(*(keys_in(each) for each in value.values()))
    if isinstance(value, list):
        return set().union(*(keys_in(each) for each in value))
    return set()


def test_json_keys_that_stay_are_there(run: Run) -> None:
    link = next(block for block in blocks(README) if block.file == "link.json")
    Path(link.file).write_text(link.text, encoding="utf-8")
    assert run(("demo", "--no-ui"))[0] == 0
    typed = {
        "status": ("status",),
        "try": ("try", "VOL.lower=5200"),
        "headroom": ("headroom", "VOL.lower"),
        "spread": ("spread", "--owners", "0"),
        "mend": ("mend",),
        "sets": ("sets",),
        "calc": ("calc", "link-strength", "link.json"),
        "audit": ("audit",),
        "weigh": ("weigh", "D-GEAR"),
        "gate list": ("gate", "list"),
        "gate show": ("gate", "show", "G3"),
        "gate pack": ("gate", "pack", "G2", "--out", "packs", "--format", "json"),
        "gate freeze": ("gate", "freeze", "G3", "--why", "Shown as it is"),
    }
    section = text_of(README).partition("\n## JSON\n")[2].partition("\n## ")[0]
    rows = {row["command"]: row["keys"] for row in JSON_ROW.finditer(section)}
    assert set(rows) == set(typed)
    for name, words in typed.items():
        promised = {each.removesuffix("[]") for each in names(rows[name])}
        there = keys_in(json.loads(run((*words, "--json"))[1]))
        assert promised - there == set(), name


# --- the guide -----------------------------------------------------------------------------------


def every_error(base: type[WhyboneError] = WhyboneError) -> Iterator[type[WhyboneError]]:
    for each in base.__subclasses__():
        yield each
        yield from every_error(each)


def test_every_error_stands_in_the_guide_with_its_exit_code() -> None:
    importlib.import_module("tracker.cli.failing")  # it has errors of its own
    coded = {each.code: each.exit_code for each in every_error() if "tests" not in each.__module__}
    written = {row["code"]: int(row["exit"]) for row in ERROR_ROW.finditer(text_of(DEVELOPERS))}
    assert written == coded


def functions_in(path: Path) -> set[str]:
    return {function.name for function in functions_of(tree_of(path))}


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_every_test_a_document_names_is_there(document: Path) -> None:
    missing = []
    for found in NAMED_TEST.finditer(text_of(document)):
        path = ROOT / found[0].partition("::")[0]
        if not path.is_file() or (found["name"] and found["name"] not in functions_in(path)):
            missing.append(found[0])
    assert missing == []


def test_invariants_are_numbered_and_each_names_a_test() -> None:
    section = text_of(DEVELOPERS).partition("## What always holds")[2].partition("\n## ")[0]
    lines = [line for line in section.splitlines() if re.match(r"\d+\. ", line)]
    assert [int(line.partition(".")[0]) for line in lines] == list(range(1, len(lines) + 1))
    assert [line[:40] for line in lines if "::test_" not in line] == []


def holds(folder: Path, name: str) -> bool:
    return any((folder / each).exists() for each in (name, f"{name}.py", f"{name}/__init__.py"))


def test_everything_the_code_map_names_is_there() -> None:
    section = text_of(DEVELOPERS).partition("## Code map")[2].partition("\n## ")[0]
    rows = list(ROW.finditer(section))
    folders = {row["place"] for row in rows}
    missing = [row["place"] for row in rows if not (ROOT / row["place"]).exists()]
    for row in rows:
        folder = ROOT / row["place"]
        if folder.is_dir():
            named = {each.strip("/") for each in names(row["text"])}
            missing += [f"{row['place']}{each}" for each in named if not holds(folder, each)]
    assert missing == []
    packages = {f"tracker/{each.name}/" for each in (ROOT / "tracker").iterdir() if each.is_dir()}
    assert {each for each in packages if "__pycache__" not in each} - folders == set()


def test_every_row_of_the_bench_is_explained() -> None:
    """The bench runs when its module is imported, so its table is read as it stands."""
    section = text_of(DEVELOPERS).partition("\n## Reading the bench\n")[2]
    rows = next(
        statement.value
        for statement in tree_of(ROOT / "tests/bench/__main__.py").body
        if isinstance(statement, ast.AnnAssign) and ast.unparse(statement.target) == "ROWS"
    )
    assert isinstance(rows, ast.Dict)
    keys = [key.value for key in rows.keys if isinstance(key, ast.Constant)]
    assert keys
    explained = names(section)
    assert [key for key in keys if not {key, f"{str(key).partition('-')[0]}-…"} & explained] == []


# --- the reference -------------------------------------------------------------------------------


def test_every_check_has_its_section_and_its_ports() -> None:
    text = text_of(REFERENCE)
    assert [found["key"] for found in MARKED.finditer(text)] == re.findall(
        r"^### ([a-z-]+)$", text, re.MULTILINE
    )
    assert {found["key"] for found in MARKED.finditer(text)} == set(manifests())
    assert written_anew(text) == text, "run `python -m tests.architecture.reference_ports`"


def test_every_port_and_column_stands_in_the_reference() -> None:
    text = text_of(REFERENCE)
    ports = {
        name
        for manifest in manifests().values()
        for port in (*manifest.inputs, *manifest.outputs)
        for name in (port.key, *(column.name for column in port.columns))
    }
    assert {port for port in ports if f"`{port}`" not in text} == set()


@pytest.mark.parametrize("key", manifests())
def test_every_section_of_the_reference_tells_sources_and_tests(key: str) -> None:
    section = text_of(REFERENCE).partition(f"\n### {key}\n")[2].partition("\n### ")[0]
    assert re.search(r"^\*(Assumes|Limits|Valid)\*?", section, re.MULTILINE)
    assert re.search(r"^\*Sources?\*", section, re.MULTILINE)
    assert re.search(r"^\*Tests\*.*`tests/", section, re.MULTILINE)


# --- all of them ---------------------------------------------------------------------------------


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_no_document_names_a_place_on_a_machine(document: Path) -> None:
    assert MACHINE.findall(text_of(document)) == []


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_links_between_documents_lead_somewhere(document: Path) -> None:
    targets = re.findall(r"\]\(([^)#:]+)\)", text_of(document))
    assert [each for each in targets if not (document.parent / each).exists()] == []


def test_documents_that_speak_of_verdicts_carry_the_caution() -> None:
    said = "no substitute for validated analysis, physical test, applicable regulation and the"
    assert said in CAUTION
    for document in (README, REFERENCE):
        assert said in text_of(document)
