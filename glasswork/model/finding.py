"""What a stage noticed and the maker should know."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from glasswork.model.geometry import Point


class Severity(StrEnum):
    """note: good to know · warning: look before printing · decision: the maker must choose."""

    NOTE = "note"
    WARNING = "warning"
    DECISION = "decision"


class Finding(Struct, frozen=True, kw_only=True):
    """One remark: where, what (value against limit), a hint; place in panel mm if it has one."""

    severity: Severity
    where: str
    what: str
    hint: str = ""
    place: Point | None = None
