"""The units whybone knows, in the unit library's definition language.

There are no automatic prefixes: `g` is standard gravity here (as in deg/g), so `mg` must not turn
into a thousandth of it.
"""

from __future__ import annotations

from tracker.exchange.currencies import CURRENCIES

__all__ = ["DEFINITIONS", "SYMBOLS"]

_UNITS = """
radian = [angle] = rad
meter = [length] = m
kilogram = [mass] = kg
second = [time] = s
kelvin = [temperature] = K
ampere = [current] = A

mrad = 0.001 * rad
revolution = 2 * 3.14159265358979323846264338328 * rad = rev = turn
deg = rev / 360 = degree
arcmin = deg / 60

um = 0.000001 * m
mm = 0.001 * m
cm = 0.01 * m
dm = 0.1 * m
km = 1000 * m
inch = 0.0254 * m = in
ft = 0.3048 * m
mile = 1609.344 * m = mi
L = 0.001 * m ** 3 = l = litre
mL = 0.001 * L = ml

gram = 0.001 * kg
tonne = 1000 * kg = t
lb = 0.45359237 * kg

us = 0.000001 * s
ms = 0.001 * s
minute = 60 * s = min
hour = 3600 * s = h
day = 24 * hour
week = 7 * day
year = 365.25 * day
month = year / 12

Hz = 1 / s
kHz = 1000 * Hz
rpm = rev / min

g = 9.80665 * m / s ** 2 = standard_gravity

N = kg * m / s ** 2
daN = 10 * N
kN = 1000 * N
MN = 1000000 * N
kgf = kg * g
lbf = lb * g
Nm = N * m
Nmm = N * mm
kNm = kN * m

Pa = N / m ** 2
kPa = 1000 * Pa
MPa = 1000000 * Pa
GPa = 1000000000 * Pa
bar = 100000 * Pa
mbar = 100 * Pa
psi = lbf / inch ** 2

J = N * m
kJ = 1000 * J
MJ = 1000000 * J
W = J / s
kW = 1000 * W
MW = 1000000 * W
Wh = W * hour
kWh = 1000 * Wh

V = W / A
ohm = V / A

degC = 1 * K; offset: 273.15
degF = 5 / 9 * K; offset: 255.372222222222222222222222222

percent = 0.01
ppm = 0.000001
vehicle = 1 = vehicles
piece = 1 = pieces = pcs
part = 1 = parts
tooth = 1 = teeth
cycle = 1 = cycles
"""

DEFINITIONS = (
    *(line for line in _UNITS.splitlines() if line),
    *(f"{code} = [money_{code}]" for code in sorted(CURRENCIES)),
)
"""One definition a line: name = relation = further names."""


def _names(definition: str) -> tuple[str, ...]:
    name, _, *further = definition.partition(";")[0].split(" = ")
    return (name, *further)


SYMBOLS = frozenset(name for definition in DEFINITIONS for name in _names(definition))
"""Every name a unit text may use."""
