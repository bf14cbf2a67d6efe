"""Finding, importing and describing checks, whatever a stranger's plugin does."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tracker.contract.check import (
    CellKind,
    Config,
    Inputs,
    Kind,
    Manifest,
    Outputs,
    Port,
    PortColumn,
)
from tracker.contract.faults import ConfigError
from tracker.errors import BindingError, ManyProblemsError
from tracker.exchange.units import PintUnits
from tracker.host.catalogue import EntryPoints
from tracker.host.fingerprints import Fingerprints
from tracker.model.units import ONE

MANIFEST = Manifest(
    key="sum",
    version="1",
    title="Sum",
    purpose="Add up",
    inputs=(
        Port(key="length", title="Length", doc="", unit="mm"),
        Port(key="price", title="Price", doc="", unit="money/kg"),
        Port(key="way", title="Way", doc="", kind=Kind.CHOICE, choices=("a", "b"), unit="nonsense"),
        Port(
            key="rows",
            title="Rows",
            doc="",
            kind=Kind.TABLE,
            columns=(
                PortColumn("name", "", CellKind.TEXT, unit="nonsense"),
                PortColumn("cost", "", unit="money"),
            ),
        ),
    ),
    outputs=(Port(key="total", title="Total", doc="", unit="money"),),
)


class Sum:
    """A good check that counts how often it describes itself."""

    def __init__(self, manifest: Callable[[Config], Any] = lambda _: MANIFEST) -> None:
        self.made = manifest
        self.asked = 0

    def manifest(self, config: Config) -> Manifest:
        self.asked += 1
        made: Manifest = self.made(config)
        return made

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        assert config == {}
        return Outputs({"total": np.zeros(len(inputs["length"]))})


def catalogue(**checks: Any) -> EntryPoints:  # noqa: ANN401  anything can pose as a check
    return EntryPoints(PintUnits(), extra=checks)


def test_units_are_resolved_in_the_currency_of_the_programme() -> None:
    loaded = catalogue(sum=Sum()).load("sum", {}, "EUR")
    units = {name: unit.text for name, unit in loaded.units.items()}
    assert units == {
        "length": "mm",
        "price": "EUR/kg",
        "way": "",
        "rows": "",
        "rows.name": "",
        "rows.cost": "EUR",
        "total": "EUR",
    }
    assert loaded.units["way"] is ONE
    assert loaded.units["total"].money == "EUR"
    assert set(loaded.inputs) == {"length", "price", "way", "rows"}
    assert set(loaded.outputs) == {"total"}
    assert loaded.identity == "sum 1"


def test_a_check_is_described_once_per_configuration_and_currency() -> None:
    check = Sum()
    found = catalogue(sum=check)
    assert found.load("sum", {}, "EUR") is found.load("sum", {}, "EUR")
    assert check.asked == 1
    assert found.load("sum", {}, "USD").units["total"].money == "USD"
    found.load("sum", {"a": "b"}, "USD")
    assert check.asked == 3


def test_configuration_is_kept_as_it_was() -> None:
    config = {"a": "b"}
    loaded = catalogue(sum=Sum()).load("sum", config, "EUR")
    config["a"] = "c"
    assert loaded.config == {"a": "b"}
    with pytest.raises(TypeError):
        loaded.config["a"] = "d"  # type: ignore[index]  # it must refuse


def test_unknown_check_lists_what_is_installed() -> None:
    with pytest.raises(BindingError, match=r"^wing: no such check is installed") as caught:
        catalogue(sum=Sum()).load("wing", {}, "EUR")
    assert "sum" in caught.value.remedy


@pytest.mark.parametrize("key", ["steering-sense", "tooling-budget"])
def test_checks_of_the_package_load(key: str) -> None:
    found = EntryPoints(PintUnits())
    assert key in found.keys()  # noqa: SIM118  keys() is the port's method, not a mapping's
    assert found.load(key, {}, "USD").manifest.key == key


def _boom(_: Config) -> Manifest:
    raise RuntimeError("out of order")


def _leave(_: Config) -> Manifest:
    raise SystemExit(3)


class _Hostile(Manifest):
    """A manifest that bites when looked at."""

    def __getattribute__(self, name: str) -> object:
        if name == "rules":
            raise LookupError("no peeking")
        return super().__getattribute__(name)


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (_boom, "failed while it described itself: RuntimeError: out of order"),
        (_leave, "failed while it described itself: SystemExit: 3"),
        (lambda _: None, "its manifest is a NoneType, not a Manifest"),
        (lambda _: replace(MANIFEST, key="other"), "it calls itself 'other'"),
        (lambda _: replace(MANIFEST, title="", purpose=""), "title is empty; purpose is empty"),
        (
            lambda _: _Hostile(
                key="sum", version="1", title="S", purpose="s", inputs=(), outputs=()
            ),
            "LookupError: no peeking",
        ),
    ],
)
def test_a_bad_manifest_is_a_binding_error(made: Callable[[Config], Any], words: str) -> None:
    with pytest.raises(BindingError, match=words) as caught:
        catalogue(sum=Sum(made)).load("sum", {}, "EUR")
    assert caught.value.item == "sum"
    assert caught.value.remedy


def test_an_unreadable_unit_names_port_and_text() -> None:
    bad = replace(MANIFEST, outputs=(Port(key="total", title="T", doc="", unit="mmm"),))
    with pytest.raises(BindingError, match=r"^sum, total: its unit cannot be read: 'mmm'"):
        catalogue(sum=Sum(lambda _: bad)).load("sum", {}, "EUR")


def test_an_unreadable_currency_names_the_port() -> None:
    with pytest.raises(BindingError, match=r"^sum, price: its unit cannot be read: 'Taler'"):
        catalogue(sum=Sum()).load("sum", {}, "Taler")


def _config_error(fields: Mapping[str, str]) -> Callable[[Config], Manifest]:
    def made(_: Config) -> Manifest:
        raise ConfigError(fields)

    return made


def test_one_wrong_field_is_a_binding_error() -> None:
    check = Sum(_config_error({"speed": "not a number"}))
    with pytest.raises(BindingError, match=r"^sum, config speed: not a number"):
        catalogue(sum=check).load("sum", {}, "EUR")


def test_several_wrong_fields_are_told_together() -> None:
    check = Sum(_config_error({"speed": "not a number", "gate": "empty"}))
    with pytest.raises(ManyProblemsError) as caught:
        catalogue(sum=check).load("sum", {}, "EUR")
    assert [problem.field for problem in caught.value.problems] == ["config speed", "config gate"]
    assert all(problem.item == "sum" for problem in caught.value.problems)


def test_a_wrong_configuration_without_fields_is_told_too() -> None:
    with pytest.raises(BindingError, match="its configuration is wrong"):
        catalogue(sum=Sum(_config_error({}))).load("sum", {}, "EUR")


Install = Callable[..., None]


@pytest.fixture
def install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Install:
    """Return a function that installs a plugin package into a scratch path."""
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.setattr(sys, "dont_write_bytecode", True)

    def add(name: str, points: str, source: str) -> None:
        (tmp_path / f"{name}.py").write_text(source, encoding="utf-8")
        info = tmp_path / f"{name}-1.0.dist-info"
        info.mkdir()
        info.joinpath("METADATA").write_text(
            f"Metadata-Version: 2.1\nName: {name}\nVersion: 1.0\n", encoding="utf-8"
        )
        info.joinpath("entry_points.txt").write_text(
            f"[whybone.checks]\n{points}\n", encoding="utf-8"
        )

    return add


def test_listing_imports_nothing(install: Install) -> None:
    install("lister_a", "zeta = lister_a:CHECK\nalpha = lister_a:CHECK", "raise SystemExit(1)")
    keys = EntryPoints(PintUnits()).keys()
    assert {"zeta", "alpha"} <= set(keys)
    assert list(keys) == sorted(keys)
    assert "lister_a" not in sys.modules


@pytest.mark.parametrize(
    ("name", "source", "words"),
    [
        ("broken_a", "import no_such_module", "ModuleNotFoundError: No module named"),
        ("broken_b", "raise SystemExit('bye')", "SystemExit: bye"),
        ("broken_c", "CHECK =", "SyntaxError"),
        ("broken_d", "", "AttributeError"),
        ("broken_e", "CHECK = 5", "it is without manifest and compute"),
        (
            "broken_f",
            "class CHECK:\n  def manifest(s, c): ...\n  def compute(s, i, c): ...",
            "a class",
        ),
    ],
)
def test_a_plugin_that_cannot_be_imported_is_named(
    install: Install, name: str, source: str, words: str
) -> None:
    install(name, f"{name} = {name}:CHECK", source)
    with pytest.raises(BindingError, match=words) as caught:
        EntryPoints(PintUnits()).load(name, {}, "EUR")
    assert caught.value.item == name
    assert caught.value.remedy


def test_two_packages_with_one_key_are_refused(install: Install) -> None:
    install("twin_a", "twin = twin_a:CHECK", "")
    install("twin_b", "twin = twin_b:CHECK", "")
    found = EntryPoints(PintUnits())
    assert found.keys().count("twin") == 1
    with pytest.raises(BindingError, match=r"several packages register this check: twin_.:CHECK"):
        found.load("twin", {}, "EUR")
    assert EntryPoints(PintUnits(), {"twin": Sum()}).keys().count("twin") == 1


def test_a_package_found_twice_counts_once(install: Install) -> None:
    install("echo_a", "echo = echo_a:CHECK", "CHECK = 5")
    install("echo_b", "echo = echo_a:CHECK", "")
    with pytest.raises(BindingError, match="is no check"):
        EntryPoints(PintUnits()).load("echo", {}, "EUR")


def test_nothing_installed_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tracker.host.catalogue.entry_points", lambda **_: ())
    found = EntryPoints(PintUnits())
    assert found.keys() == ()
    with pytest.raises(BindingError, match="Installed are none"):
        found.load("sum", {}, "EUR")


def test_the_code_of_an_installed_check_is_known(install: Install) -> None:
    prints = Fingerprints()
    found = EntryPoints(PintUnits(), {"sum": Sum()}, prints)
    assert found.load("ride", {}, "EUR").code == prints.of(["whybone_chassis.ride"]) != ""
    assert found.load("sum", {}, "EUR").code == ""  # an object handed in may hold anything
    assert EntryPoints(PintUnits()).load("ride", {}, "EUR").code == ""


def test_the_code_is_looked_at_before_it_is_imported(install: Install, tmp_path: Path) -> None:
    """What changes while it is imported must not pass for what was imported."""
    source = f"""
from pathlib import Path
Path({str(tmp_path)!r}, "early_a.py").touch()
import early_b
CHECK = early_b.CHECK
"""
    install("early_a", "early = early_a:CHECK", source)
    install("early_b", "other = early_b:CHECK", _SMALL_CHECK.replace("KEY", "early"))
    prints = Fingerprints()
    loaded = EntryPoints(PintUnits(), fingerprints=prints).load("early", {}, "EUR")
    assert not prints.hold()
    with_its_class = prints.of(["early_a", "early_b"])
    assert loaded.code == with_its_class != prints.of(["early_a"])


_SMALL_CHECK = """
from tracker.contract.check import Manifest, Outputs, Port


class Check:
    def manifest(self, config):
        ports = {"inputs": (Port(key="a", title="A", doc="a"),)}
        ports["outputs"] = (Port(key="b", title="B", doc="b"),)
        return Manifest(key="KEY", version="1", title="T", purpose="p", **ports)

    def compute(self, inputs, config):
        return Outputs({"b": inputs["a"]})


CHECK = Check()
"""
