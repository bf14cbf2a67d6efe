"""What the headless paths must not load, because starting has to be quick."""

from tracker.bootstrap import tools
from tracker.exchange.common_units import look_up


def test_every_port_unit_of_the_checks_here_is_read_without_the_unit_library() -> None:
    catalogue = tools().catalogue
    rare = [
        f"{key} {port}: {unit.text}"
        for key in catalogue.keys()  # noqa: SIM118 - a catalogue is no mapping
        if key != "formula"  # its ports are whatever the engineer writes
        for port, unit in catalogue.load(key, {}, "EUR").units.items()
        if unit.text and look_up(unit.text) is None
    ]
    assert rare == []
