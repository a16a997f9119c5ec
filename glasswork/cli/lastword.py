"""The short table that ends compose, and the findings that need a decision."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from rich.console import Console
from rich.panel import Panel
from rich.table import Table

from glasswork.cli.console import wide_console
from glasswork.model.report import FindingReport, Report
from glasswork.model.words import counted


def show_last_word(report: Report, *, target: Path, files: Mapping[str, bytes]) -> None:
    """Print what was made, and what the maker must look at."""
    console = wide_console()
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0))
    table.add_column(style="bold")
    table.add_column()
    for name, text in _rows(report):
        table.add_row(name, text)
    table.add_row("pack", f"{target} ({len(files)} files)")
    console.print(table)
    _show_findings(console, report.findings)


def _rows(report: Report) -> list[tuple[str, str]]:
    reached = [pane for pane in report.panes if pane.in_reach]
    out = sorted({pane.glass for pane in report.panes if not pane.in_reach})
    glass_area = sum(pane.area_mm2 for pane in report.panes)
    mean = sum(pane.delta_e00 * pane.area_mm2 for pane in report.panes) / glass_area
    made = [member.made for member in report.members]
    width, height = report.size_mm
    fit = report.fit
    rows = [
        ("panel", f"{width:.1f} x {height:.1f} mm, {report.thickness_mm:.2f} mm thick"),
        ("films", f"{report.films.count}" + (", identical" if report.films.identical else "")),
        (
            "panes",
            f"{len(report.panes)}: {len(reached)} in reach, {len(report.panes) - len(reached)} out"
            + (f" ({', '.join(out)})" if out else ""),
        ),
        ("colour", f"mean ΔE00 {mean:.2f} by glass area" + _by_hand(report)),
        ("leading", f"{made.count('cut')} lengths cut, {made.count('printed')} printed"),
        (
            "cover",
            f"least {report.registration.min_cover_mm:.2f} mm; tolerance "
            f"{report.registration.rss_mm:.2f} mm likely, "
            f"{report.registration.worst_case_mm:.2f} mm at worst",
        ),
    ]
    if fit.opening_mm:
        rows.append(
            (
                "opening",
                f"{fit.opening_mm[0]:g} x {fit.opening_mm[1]:g} mm, "
                f"clearance {fit.clearance_mm:g} mm a side",
            )
        )
    if fit.recess_mm is not None and fit.spare_mm is not None:
        rows.append(("recess", f"{fit.recess_mm:g} mm, {fit.spare_mm:.2f} mm to spare"))
    if report.verified:
        good = sum(check.ok for check in report.verified)
        rows.append(("verified", f"{good} of {len(report.verified)} checks on the written files"))
    return rows


def _by_hand(report: Report) -> str:
    value = report.by_hand.get(str(report.films.count))
    return "" if value is None else f" (printed as it is: {value:.1f})"


def _show_findings(console: Console, findings: tuple[FindingReport, ...]) -> None:
    decisions = [finding for finding in findings if finding.severity == "decision"]
    warnings = [finding for finding in findings if finding.severity == "warning"]
    notes = len(findings) - len(decisions) - len(warnings)
    if decisions:
        text = "\n".join(_line(finding) for finding in decisions)
        console.print(Panel(text, title="you must decide", title_align="left", style="yellow"))
    for finding in warnings[:8]:
        console.print(f"warning: {_line(finding)}")
    hidden = max(0, len(warnings) - 8)
    left = ((hidden, "more warning"), (notes, "note"))
    more = [counted(count, thing) for count, thing in left if count]
    if more:
        console.print(f"{' and '.join(more)} in report.json", style="dim")


def _line(finding: FindingReport) -> str:
    hint = f"; {finding.hint}" if finding.hint else ""
    return f"{finding.where}: {finding.what}{hint}"
