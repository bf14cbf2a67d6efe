"""import and export through the command line."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.integration.cli.conftest import Cli
from tracker.services.wording import CAUTION

HEADER = "key,statement,quantity,unit,lower,upper,guard,gate"


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., str]:
    def write(text: str | bytes, name: str = "list.csv") -> str:
        place = tmp_path / name
        place.write_bytes(text if isinstance(text, bytes) else text.encode())
        return str(place)

    return write


def test_a_requirement_list_comes_in(cli: Cli, write: Callable[..., str]) -> None:
    file = write(
        f"\ufeff# from the body group\n{HEADER}\n\n"
        'R-1,"Roll stiffness, both axles [N·m/deg]",roll,N·m/deg,900,1200,0.05,G1\n'
        "# another\n"
        "R-2,Room for the boot,gap,mm,7 mm,,,\n"
        "R-3,Lower joint height,joint.z,,0.19 m,,,\n"
        ",,,,,,,\n"
    )
    told = cli("import", file, "--json")
    assert told.code == 0, told.err
    assert told.json["revision"] == 4
    found = {each["key"]: each for each in cli("status", "--json").json["requirements"]}
    assert found["R-1"]["verdict"] == "unknown"  # its quantity is new and has no value
    assert (found["R-2"]["lower"], found["R-2"]["value"]) == (7.0, 12.0)
    assert (found["R-3"]["lower"], found["R-3"]["value"]) == (190.0, 205.0)
    assert found["R-1"]["statement"] == "Roll stiffness, both axles [N·m/deg]"
    page = cli("show", "roll", "--json").json
    assert (page["title"], page["unit"]) == (found["R-1"]["statement"], "N·m/deg")
    assert "list.csv" in cli("log", "--json").json["changes"][0]["reason"]


def test_check_stores_nothing(cli: Cli, write: Callable[..., str], head: Callable[[], str]) -> None:
    before = head()
    told = cli("import", write(f"{HEADER}\nR-1,Roll,roll,N/mm,9,12,,\n"), "--check")
    assert told.code == 0
    assert "new requirement R-1" in told.out
    assert "new quantity roll" in told.out
    assert head() == before


def test_all_or_nothing(cli: Cli, write: Callable[..., str], head: Callable[[], str]) -> None:
    before = head()
    file = write(
        f"{HEADER}\n"
        "R-1,Roll,roll,N/mm,9,12,,\n"
        "R-2,Camber,camber,deg,nine,12,,\n"
        "R-3,Width,width,mm,9 kg,,,\n"
        "GAP-1,Gap,gap,mm,9,,,\n"
        "R-1,Roll again,roll,N/mm,9,,,\n"
        "R-6,Gate,roll,N/mm,9,,,G9\n"
        "R-7,Guard,roll,N/mm,9,,much,\n"
    )
    told = cli("import", file, "--json")
    assert told.code == 2
    places = {(each["item"], each["field"]) for each in told.json["error"]["problems"]}
    assert places == {
        ("line 3, R-2", "column lower"),
        ("line 4, R-3", "column lower"),
        ("line 5, GAP-1", "column key"),
        ("line 6, R-1", "column key"),
        ("line 7, R-6", "column gate"),
        ("line 8, R-7", "column guard"),
    }
    assert all(each["code"] != "many-problems" for each in told.json["error"]["problems"])
    assert head() == before


@pytest.mark.parametrize(
    ("row", "place", "said"),
    [
        ("R-1,Roll,roll,N/mm,12,9,,", ("line 2, R-1", "column lower"), "upside down"),
        ("R-1,Roll,roll,N/mm,0,,,", ("line 2, R-1", "column scale"), "scale"),
        ("R-1,Roll,roll,N/mm,,,,", ("line 2, R-1", "column lower"), "bound"),
        ("R-1,,roll,N/mm,1,,,", ("line 2, R-1", "column statement"), "missing"),
        ("R-1,Roll,,N/mm,1,,,", ("line 2, R-1", "column quantity"), "missing"),
        ("R-1,Roll,roll,bananas,1,,,", None, "bananas"),
        ("[b]R,Roll,roll,N/mm,1,,,", None, "[b]R"),
        ("R-1,Roll,[b]roll,N/mm,1,,,", None, "[b]roll"),
        ("R-1,Roll,COST-1,N/mm,1,,,", ("line 2, R-1", "column quantity"), "requirement"),
    ],
)
def test_a_row_that_does_not_hold(
    cli: Cli,
    write: Callable[..., str],
    head: Callable[[], str],
    row: str,
    place: tuple[str, str] | None,
    said: str,
) -> None:
    before = head()
    told = cli("import", write(f"{HEADER}\n{row}\n"), "--json")
    assert told.code == 2
    error = told.json["error"]
    first = error.get("problems", [error])[0]
    assert first["item"].startswith("line 2")
    if place:
        assert (first["item"], first["field"]) == place
    assert said in told.err
    assert head() == before


def test_a_huge_cell_is_refused(
    cli: Cli, write: Callable[..., str], head: Callable[[], str]
) -> None:
    before = head()
    huge = "x" * 10_000_000
    told = cli("import", write(f"{HEADER}\nR-1,{huge},roll,N/mm,1,,,\n"))
    assert told.code == 2
    assert "list.csv, line 2, column 2: the cell has 10000000 characters" in told.err
    assert len(told.err) < 1000
    assert head() == before


def test_an_item_file_round_trips(cli: Cli, program: Path, tmp_path: Path) -> None:
    cli("settle", "D-1", "a", "--why", "clear", "--against", "b=too near")
    first, second = tmp_path / "first.json", tmp_path / "second.json"
    assert cli("export", str(first)).code == 0
    other = str(tmp_path / "other.db")
    cli("new", other, "--currency", "EUR")
    told = cli("import", str(first), "--program", other, "--json")
    assert told.code == 0, told.err
    assert cli("export", str(second), "--program", other).code == 0
    before, after = (json.loads(each.read_text(encoding="utf-8")) for each in (first, second))
    assert before["format"] == "whybone-items"
    assert before["version"] == 1
    assert before["caution"] == CAUTION
    assert after["items"] == before["items"]
    pages = [cli("status", "--json", "--program", each).json for each in (other, str(program))]
    for name in ("requirements", "decisions", "checks", "due"):
        assert pages[0][name] == pages[1][name]
    assert pages[0]["decisions"][0]["state"] == "settled"


def test_the_money_of_a_file_must_fit(cli: Cli, tmp_path: Path) -> None:
    cli("export", str(tmp_path / "items.json"))
    other = str(tmp_path / "other.db")
    cli("new", other, "--currency", "USD")
    told = cli("import", str(tmp_path / "items.json"), "--program", other)
    assert told.code == 2
    assert "EUR" in told.err
    assert "USD" in told.err


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{}", "no items"),
        ('{"items": 3}', "no items"),
        ('{"items": [], "colour": 1}', "colour"),
        ('{"items": [], "version": 2}', "version 2"),
        ('{"items": [], "format": "other"}', "format other"),
        ('{"items": [3]}', "object"),
        ('{"items": [{"kind": "gate"}]}', "key"),
        ('[{"kind": "gate", "key": "G7", "title": "x"}]', "date"),
        ('[{"kind": "gate", "key": "G7", "key": "G8"}]', "twice"),
        ("[", "not JSON"),
        ("", "not JSON"),
    ],
)
def test_a_file_that_holds_no_items(
    cli: Cli, write: Callable[..., str], head: Callable[[], str], text: str, said: str
) -> None:
    before = head()
    told = cli("import", write(text, "items.json"))
    assert told.code == 2
    assert said in told.err
    assert head() == before


def test_files_that_cannot_be_read(cli: Cli, tmp_path: Path) -> None:
    for name, said in (
        ("no.csv", "No such file"),
        (".", "does not say"),
        ("x.xls", "does not say"),
    ):
        told = cli("import", str(tmp_path / name))
        assert told.code == 2
        assert said in told.err
    (tmp_path / "folder.csv").mkdir()
    assert "cannot be read" in cli("import", str(tmp_path / "folder.csv")).err


def test_export_never_overwrites_unless_told(cli: Cli, tmp_path: Path) -> None:
    place = tmp_path / "history.md"
    place.write_text("mine", encoding="utf-8")
    told = cli("export", str(place))
    assert told.code == 2
    assert "--force" in told.err
    assert place.read_text(encoding="utf-8") == "mine"
    assert cli("export", str(place), "--force").code == 0
    assert place.read_text(encoding="utf-8").startswith("# Decision history")
    assert [each.name for each in tmp_path.glob("*history*")] == ["history.md"]


def test_export_into_nowhere(cli: Cli, tmp_path: Path) -> None:
    told = cli("export", str(tmp_path / "no" / "history.md"))
    assert told.code == 2
    assert "cannot be written" in told.err


def test_export_to_standard_output(cli: Cli, tmp_path: Path) -> None:
    cli("export", str(tmp_path / "items.json"))
    told = cli("export", "-", "--format", "json")
    assert told.out == (tmp_path / "items.json").read_text(encoding="utf-8")
    assert cli("export", "-", "--format", "json", "--json").code == 2


def test_import_from_standard_input(cli: Cli) -> None:
    gate = [{"kind": "gate", "key": "G7", "title": "Seventh", "date": "2033-01-01"}]
    told = cli("import", "-", "--format", "json", stdin=json.dumps(gate).encode())
    assert told.code == 0, told.err
    assert cli("show", "G7").code == 0


def test_exports_carry_revision_head_and_caution(cli: Cli, tmp_path: Path) -> None:
    cli("export", str(tmp_path / "history.md"))
    text = (tmp_path / "history.md").read_text(encoding="utf-8")
    page = cli("status", "--json").json
    assert f"Revision {page['revision']}, head {page['head']}" in text
    assert CAUTION in text


def test_the_history_of_an_empty_programme(cli: Cli, tmp_path: Path) -> None:
    empty = str(tmp_path / "empty.db")
    cli("new", empty)
    told = cli("export", "-", "--format", "md", "--program", empty)
    assert told.code == 0
    assert "None yet." in told.out


def test_the_history_tells_options_reasons_findings_and_shifts(cli: Cli) -> None:
    cli("settle", "D-1", "a", "--why", "clear of the disc", "--against", "b=too near")
    cli("set", "volume=3600", "--why", "plan of May")
    text = cli("export", "-", "--format", "md").out
    for part in (
        "## D-1: Which arm?",
        "- state: settled",
        "it wants another look",
        "### Rationale\n\nclear of the disc\n",
        "### Against b\n\ntoo near\n",
        "### Option a (applied): Arm a",
        "| gap | 12 mm | guess |  |",
        "### Option b: Arm b\n\nWith it the decision is broken.",
        "| GAP-1 | at least 8 mm | 6 mm | ✕ missed | −2 mm (−25 %) |",
        "### Shifted since it was settled",
        "| volume | 3500 vehicle/year | 3600 vehicle/year |",
        "### History",
        "clear of the disc |",
        "| COST-1 | Tooling within the budget | at most 200 000 EUR | 78 000 EUR | ● met |",
    ):
        assert part in text
