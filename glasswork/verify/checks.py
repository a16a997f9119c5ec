"""One line of the answer: what was promised, what was measured, and the limit between them."""

from __future__ import annotations

from glasswork.model.report import CheckReport


def check(name: str, promised: str, measured: str, limit: str, *, ok: bool) -> CheckReport:
    return CheckReport(check=name, promised=promised, measured=measured, limit=limit, ok=bool(ok))


def within(name: str, promised: float, measured: float, limit: float, unit: str) -> CheckReport:
    return check(
        name,
        f"{promised:.3f} {unit}",
        f"{measured:.3f} {unit}",
        f"± {limit:g} {unit}",
        ok=abs(measured - promised) <= limit,
    )
