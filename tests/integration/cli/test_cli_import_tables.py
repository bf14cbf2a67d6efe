"""Tables of points, quantities and rows through the command line."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.integration.cli.conftest import Cli

POINTS = (
    "\ufeff# left front corner;;;;\r\n"
    "Point;X [mm];Y/mm;Z (m);Description;;\r\n"
    "joint;10,5;728;0,205;;;\r\n"
    ";;;;;;\r\n"
    'p_new;1;2;0,003;"Rocker; front";;\r\n'
)
PARTS = (
    "# parts\n"
    "part,process,set_cost [EUR],set_life,piece_cost (EUR/piece),per_vehicle,carried_over,"
    "fits_both_sides,,\n"
    "knuckle,casting,80000,60000,46,2,no,yes,,\n"
    '"arm, lower",forging,30000,60000,12.5,2,no,yes,,\n'
)


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., str]:
    def write(text: str | bytes, name: str = "table.csv") -> str:
        place = tmp_path / name
        place.write_bytes(text if isinstance(text, bytes) else text.encode())
        return str(place)

    return write


def test_points_come_in_as_one_change(cli: Cli, write: Callable[..., str]) -> None:
    told = cli("import", write(POINTS), "--decimal-comma", "--json")
    assert told.code == 0, told.err
    assert told.json["revision"] == 4
    assert set(told.json["what"]) == {
        "new quantity p_new",
        "joint: [8, 728, 205] mm → [10.5, 728, 205] mm (guess)",
    }
    assert cli("show", "joint", "--json").json["value"] == [10.5, 728.0, 205.0]
    assert cli("log", "--json").json["changes"][0]["reason"] == "import table.csv"
    assert cli("undo").code == 0
    assert cli("show", "p_new").code == 2


def test_check_shows_what_would_be_added_and_set(
    cli: Cli, write: Callable[..., str], head: Callable[[], str]
) -> None:
    before = head()
    told = cli("import", write(POINTS), "--decimal-comma", "--check")
    assert told.code == 0, told.err
    assert "Tried, not stored" in told.out
    assert "new quantity p_new" in told.out
    assert "joint: [8, 728, 205] mm → [10.5, 728, 205] mm" in told.out
    assert head() == before


def test_the_rows_of_a_table_come_in_and_settle_what_follows(
    cli: Cli, write: Callable[..., str]
) -> None:
    told = cli("import", write(PARTS), "--table", "parts", "--why", "quote of May", "--json")
    assert told.code == 0, told.err
    finding = told.json["ripple"]["findings"][0]
    # 42,000 pieces need one set of each tool: 80,000 EUR + 30,000 EUR
    assert finding["requirement"] == "COST-1"
    assert finding["after"]["value"] == pytest.approx(110_000)
    assert cli("log", "--json").json["changes"][0]["reason"] == "quote of May"


def test_a_new_table_is_made_of_a_file(cli: Cli, write: Callable[..., str]) -> None:
    told = cli(
        "import", write("run,force [kN],n\na,1,3\n"), "--table", "runs", "--create", "--json"
    )
    assert told.code == 2
    assert "column 'n'" in told.err
    assert "[integer]" in told.err
    told = cli(
        "import", write("run,force [kN],n\na,1,3\n"), "--table", "runs", "--create",
        "--map", "n=count [integer]",
    )  # fmt: skip
    assert told.code == 0, told.err
    assert cli("show", "runs", "--json").json["value"] == [["a", 1.0, 3]]


def test_quantities_come_in(cli: Cli, write: Callable[..., str]) -> None:
    text = "key\ttitle\tunit\tvalue\tbasis\nwidth\t\tcm\t11\tmeasured\nmass\tMass\tkg\t950\t\n"
    told = cli("import", write(text), "--json")
    assert told.code == 0, told.err
    assert set(told.json["what"]) == {
        "new quantity mass",
        "width: 100 mm → 110 mm (measured)",
    }


def test_values_go_into_an_option(cli: Cli, write: Callable[..., str]) -> None:
    file = write("key,value [mm]\ngap,7\n")
    told = cli("import", file)
    assert told.code == 2
    assert "line 2, gap, column value [mm]: it is owned by decision D-1" in told.err
    assert "--into D-1/a or D-1/b" in told.err
    told = cli("import", file, "--into", "D-1/a", "--json")
    assert told.code == 0, told.err
    assert told.json["what"] == ["D-1/a.gap: 12 mm → 7 mm (guess)"]
    assert told.json["ripple"]["broken"] == ["D-1"]  # the boot must stay 8 mm clear


def test_all_or_nothing_with_every_place(
    cli: Cli, write: Callable[..., str], head: Callable[[], str]
) -> None:
    before = head()
    text = "point,x [mm],y [mm],z (mm)\np,1,2,3\njoint,1,#N/A,3\nq,1,2,3 kg\nr,1,2\n"
    told = cli("import", write(text), "--json")
    assert told.code == 2
    places = [(each["item"], each["field"]) for each in told.json["error"]["problems"]]
    assert places == [("line 3", "column y [mm]"), ("line 5", "column 4")]
    fixed = text.replace("#N/A", "2").replace("r,1,2\n", "")
    told = cli("import", write(fixed), "--json")
    assert (told.json["error"]["item"], told.json["error"]["field"]) == ("line 4", "column z (mm)")
    assert head() == before


@pytest.mark.parametrize(
    ("text", "options", "said"),
    [
        ("key,title\na,b\n", [], "--kind requirements or points or quantities"),
        ("key,x,y,z,value\na,1,2,3,4\n", [], "--kind points or quantities"),
        ("key,x,y,z,colour\njoint,1,2,3,4\n", [], "--map HEADER=COLUMN"),
        ("key,x,y,z\njoint,1,2,3\n", ["--create"], "--table KEY"),
        ("key,x,y,z\njoint,1,2,3\n", ["--map", "colour"], "is not HEADER=COLUMN"),
        ("key,x,y,z\njoint,1,2,3\n", ["--map", "a=x", "--map", "a=y"], "stands twice"),
        ("key,x,y,z\njoint,1,2,3\n", ["--into", "D-9/a"], "no decision is called 'D-9'"),
        ("key,x,y,z\njoint,1,2,3\n", ["--kind", "bananas"], "bananas"),
        ("key,statement,quantity,upper\nR,S,gap,9\n", ["--into", "D-1/a"], "--into"),
        ("key,x,y,z\njoint,1.5,2,3\n", ["--decimal-comma"], "decimal point"),
        ("key,x,y,z\njoint,1,2,3\n".encode("utf-16"), [], "Save the file as UTF-8"),
    ],
)
def test_what_is_refused_says_what_to_do(
    cli: Cli,
    write: Callable[..., str],
    head: Callable[[], str],
    text: str | bytes,
    options: list[str],
    said: str,
) -> None:
    before = head()
    told = cli("import", write(text), *options)
    assert told.code == 2
    assert said in told.err
    assert head() == before


@pytest.mark.parametrize(
    "options", [["--table", "parts"], ["--map", "a=b"], ["--kind", "points"], ["--decimal-comma"]]
)
def test_items_are_no_table(cli: Cli, write: Callable[..., str], options: list[str]) -> None:
    told = cli("import", write("[]", "items.json"), *options)
    assert told.code == 2
    assert "a file of items is no table" in told.err


def test_hostile_texts_are_kept_and_shown_harmless(cli: Cli, write: Callable[..., str]) -> None:
    nasty = "[@click=quit]x[/]\u202e=cmd|calc"
    told = cli("import", write(f"point,x [mm],y [mm],z [mm],title\np,1,2,3,{nasty}\n"))
    assert told.code == 0, told.err
    assert cli("show", "p", "--json").json["title"].startswith("[@click=quit]x[/]")
    assert "\u202e" not in cli("show", "p").out
    told = cli("import", write(f"point,x [mm],y [mm],z [mm],{nasty}\np,1,2,3,\n"))
    assert told.code == 2
    assert "\u202e" not in told.err


def test_help_lists_every_column_and_other_name(cli: Cli) -> None:
    text = " ".join(cli("import", "--help").out.split())
    for word in ("basis", "tolerance", "nominal", "reference", "--map", "--into", "[integer]"):
        assert word in text
