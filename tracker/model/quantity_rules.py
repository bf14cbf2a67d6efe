"""What must hold for a quantity and for what is stated of it."""

from __future__ import annotations

import math

from tracker.errors import BadValueError
from tracker.model.programme import Programme
from tracker.model.records import Quantity, Range, Setting
from tracker.model.texts import check_date
from tracker.model.values import AXES, Kind, canonical

__all__ = ["check_quantity", "check_setting"]


def check_quantity(programme: Programme, quantity: Quantity) -> None:
    """Refuse a quantity that contradicts itself or correlates with what it cannot.

    Raises
    ------
    InputError
        The first thing wrong.
    """
    if quantity.kind is Kind.CHOICE and not quantity.choices:
        raise BadValueError("a choice needs its choices", item=quantity.key, field="choices")
    if quantity.kind is Kind.TABLE and not quantity.columns:
        raise BadValueError("a table needs its columns", item=quantity.key, field="columns")
    names = [column.name for column in quantity.columns]
    if len(set(names)) != len(names):
        raise BadValueError("two columns share a name", item=quantity.key, field="columns")
    if quantity.given is not None:
        check_setting(quantity, quantity.given, quantity.key, "value")
    _check_range(quantity, quantity.low, quantity.high, ("low", "high"))
    if quantity.tolerance is not None and not 0 <= quantity.tolerance.half_width < math.inf:
        raise BadValueError("a tolerance is not negative", item=quantity.key, field="tolerance")
    for part, span in quantity.part_ranges.items():
        _check_part(quantity, part, span)
    for other, coefficient in quantity.correlated.items():
        _check_correlation(quantity, programme.at(other, Quantity), coefficient)


def _check_range(
    quantity: Quantity, low: float | None, high: float | None, fields: tuple[str, str]
) -> None:
    for field, number in zip(fields, (low, high), strict=True):
        if number is not None:
            canonical(number, Kind.REAL, item=quantity.key, field=field)
    if low is not None and high is not None and low > high:
        raise BadValueError("the range is upside down", item=quantity.key, field=fields[0])


def _check_part(quantity: Quantity, part: str, span: Range) -> None:
    if quantity.kind is not Kind.POINT or part not in AXES:
        raise BadValueError(
            f"it has no component {part[:40]!r} that could have a range",
            item=quantity.key,
            field="ranges",
            remedy="Only x, y and z of a point have ranges of their own",
        )
    field = f"ranges.{part}"
    _check_range(quantity, span.low, span.high, (field, field))


def _check_correlation(quantity: Quantity, other: Quantity, coefficient: float) -> None:
    if other.id == quantity.id or quantity.id in other.correlated:
        raise BadValueError(
            "it is correlated with itself"
            if other.id == quantity.id
            else f"{other.key} states the correlation already",
            item=quantity.key,
            field="correlated",
            remedy="State a correlation once, on one of two quantities",
        )
    if not -1 < coefficient < 1:
        raise BadValueError(
            f"the coefficient of {other.key} is not between −1 and 1",
            item=quantity.key,
            field="correlated",
            remedy="Two values that move as one are one quantity",
        )


def check_setting(quantity: Quantity, setting: Setting, item: str, field: str) -> None:
    """Refuse a stated value that is not of the quantity's kind.

    Raises
    ------
    BadValueError
        It is not, or an unknown has no reason.
    """
    if setting.basis.dated:
        check_date(setting.basis.dated, item=item, field="dated")
    if setting.value is None:
        if not setting.reason.strip():
            raise BadValueError(
                "an unknown needs its reason", item=item, field=field, remedy="Say why"
            )
        return
    canonical(
        setting.value,
        quantity.kind,
        choices=quantity.choices,
        columns=quantity.columns,
        item=item,
        field=field,
    )
