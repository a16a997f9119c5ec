"""What the maker should know of a separation: reach, look-alikes, a light that starves a glass."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from glasswork.cielab import delta_e00
from glasswork.colour.standin import LIMITS
from glasswork.model.film import GlassOnFilm, PrinterProfile, Separation
from glasswork.model.finding import Finding, Severity
from glasswork.model.words import counted

ALIKE = 2.0
"""Glasses nearer than this in the stack are taken for one another."""


def advise(
    separation: Separation,
    profile: PrinterProfile,
    *,
    plainly_off: float,
    unlike: Mapping[str, float] = MappingProxyType({}),
    instead: Mapping[tuple[str, str], str] = MappingProxyType({}),
) -> tuple[Finding, ...]:
    """Findings of a separation, the most pressing first.

    plainly_off : ΔE00 from which the maker must choose
    unlike : what films that differ would bring a glass to, where that pays
    instead : for pairs of look-alikes, the glass that could take the second one's place
    """
    found = [
        *_limits(profile),
        *_out_of_reach(separation, plainly_off, unlike),
        *_alike(separation, instead),
    ]
    order = (Severity.DECISION, Severity.WARNING, Severity.NOTE)
    return tuple(sorted(found, key=lambda finding: order.index(finding.severity)))


def _limits(profile: PrinterProfile) -> list[Finding]:
    if profile.bands != "camera":
        return []
    return [
        Finding(
            severity=Severity.WARNING,
            where=f"printer {profile.name}",
            what=LIMITS,
            hint="read the strip with a spectrophotometer where one can be had",
        )
    ]


def _out_of_reach(
    separation: Separation, plainly_off: float, unlike: Mapping[str, float]
) -> list[Finding]:
    found = []
    for glass in separation.glasses:
        if glass.in_reach:
            continue
        plainly = glass.delta_e00 > plainly_off
        found.append(
            Finding(
                severity=Severity.DECISION if plainly else Severity.WARNING,
                where=f"glass {glass.glass}",
                what=f"out of reach with {counted(separation.count, 'film')}: "
                f"ΔE00 {glass.delta_e00:.1f}, 3 is the limit; it will look "
                f"{difference_words(glass)}",
                hint=_way_out(unlike.get(glass.glass)),
            )
        )
    return found


def difference_words(glass: GlassOnFilm) -> str:
    """How the print differs from what was asked for: "paler and duller"."""
    wanted, seen = np.array(glass.target_lab), np.array(glass.predicted_lab)
    lighter = seen[0] - wanted[0]
    stronger = np.hypot(*seen[1:]) - np.hypot(*wanted[1:])
    words = []
    if abs(lighter) >= 1.0:
        words.append("lighter" if lighter > 0.0 else "darker")
    if abs(stronger) >= 1.0:
        words.append("stronger" if stronger > 0.0 else "duller")
    return " and ".join(words) or "slightly different in hue"


def _way_out(unlike: float | None) -> str:
    plain = "take it as it is, choose another glass, or calibrate the printer"
    return (
        plain if unlike is None else f"films that differ would bring it to {unlike:.1f}; or {plain}"
    )


def alike_pairs(separation: Separation) -> tuple[tuple[str, str, float, float], ...]:
    """Glasses told apart as asked for but not in the stack: ids, ΔE00 as seen and as asked."""
    glasses = separation.glasses
    seen = np.array([glass.predicted_lab for glass in glasses])
    asked = np.array([glass.target_lab for glass in glasses])
    one, other = np.triu_indices(len(glasses), 1)
    near, far = delta_e00(seen[one], seen[other]), delta_e00(asked[one], asked[other])
    return tuple(
        (glasses[int(one[k])].glass, glasses[int(other[k])].glass, float(near[k]), float(far[k]))
        for k in np.flatnonzero((near < ALIKE) & (far >= ALIKE))
    )


def _alike(separation: Separation, instead: Mapping[tuple[str, str], str]) -> list[Finding]:
    found = []
    for one, other, seen, asked in alike_pairs(separation):
        better = instead.get((one, other))
        found.append(
            Finding(
                severity=Severity.WARNING,
                where=f"glasses {one} and {other}",
                what=f"look alike in the stack: ΔE00 {seen:.1f}, {ALIKE:g} is the limit; "
                f"{asked:.1f} apart as asked for",
                hint=f"{better} could take the place of {other}"
                if better
                else "choose another glass for one of them",
            )
        )
    return found
