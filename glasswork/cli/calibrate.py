"""glasswork calibrate: readings of a strip become a printer profile, or check one."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

import click

from glasswork.cli import shelf
from glasswork.cli.files import check_ending, write_file
from glasswork.cli.options import Opening, idle
from glasswork.errors import CalibrationError
from glasswork.model.words import counted

if TYPE_CHECKING:
    from glasswork.calibrate.physics import Physics
    from glasswork.model.film import PrinterProfile
    from glasswork.model.finding import Finding
    from glasswork.model.light import Light
    from glasswork.model.reading import Readings

_COUNTED = re.compile(r"(.+):(\d+)\Z")


@click.command("calibrate", context_settings={"show_default": True})
@click.argument("readings", nargs=-1, required=True, metavar="READING...")
@click.option("-o", "--output", metavar="PROFILE", help="The printer profile to write (.toml).")
@click.option("--light", default="led-b3", metavar="NAME", help="The light that the strip lay on.")
@click.option(
    "--former", metavar="PROFILE", help="Profile used so far, to compare with and to start from."
)
@click.option("--title", metavar="TEXT", help="What you call the profile.")
@click.option(
    "--code", metavar="TEXT", help="The strip's code, printed on it, where the photo cuts it off."
)
@click.option(
    "--linear", is_flag=True, help="The photos hold light as it fell, without a tone curve."
)
@click.option(
    "--rules",
    type=Opening(),
    metavar="ACROSSxDOWN",
    help="Measured lengths of the two 100 mm rules, as in 99.8x100.1.",
)
@click.option(
    "--ink-limit", type=float, metavar="NUMBER", help="Most ink the film takes, 2.4 for 240 %."
)
@click.option(
    "--check", "check_name", metavar="PROFILE", help="Only ask whether this profile still holds."
)
@click.option("--by-eye", is_flag=True, help="The reading is what the eye found, a .toml.")
@click.option("--report", metavar="FILE", help="Page with plots to write (.pdf or .png).")
@click.option("--marked", metavar="FILE", help="Picture to write of what was read where (.png).")
@click.option("--cgats", metavar="FILE", help="Text file to write with the readings (CGATS).")
@click.option(
    "--icc", metavar="FOLDER", help="Folder for ICC profiles of one, two and three films."
)
def command(
    readings: tuple[str, ...],
    output: str | None,
    light: str,
    former: str | None,
    title: str | None,
    code: str | None,
    linear: bool,
    rules: tuple[float, float] | None,
    ink_limit: float | None,
    check_name: str | None,
    by_eye: bool,
    report: str | None,
    marked: str | None,
    cgats: str | None,
    icc: str | None,
) -> int:
    """Turn readings of a strip into a printer profile, or compare them with one.

    A READING is a photo or scan (PNG, JPEG, TIFF) or an instrument's file (CSV, CGATS text); its
    name followed by :2 or :3 says that so many films lay on each other. Lock exposure, focus and
    white balance; expose so that bare film is bright but not white. Nothing is overwritten unless
    the fit succeeds.

    With --by-eye the READING is a file of this form, a line for each of the nine rows of the
    sheet:

    \b
        ink_limit = 2.4
        [matches]
        cyan-25 = 7.5
    """
    from glasswork.cli.kit import load_light, load_printer
    from glasswork.cli.physics import physics_for
    from glasswork.cli.progress import Progress

    if (output is None) == (check_name is None):
        raise click.UsageError("give -o PROFILE to write one, or --check PROFILE to compare with")
    shown = {"--report": report, "--icc": icc, "--rules": rules, "--ink-limit": ink_limit}
    told = {"--title": title, "--former": former, "--by-eye": by_eye}
    idle(check_name, "--check", {**shown, **told})
    read = {"--code": code, "--linear": linear, "--marked": marked, "--cgats": cgats}
    idle(by_eye, "--by-eye", {**shown, **read})
    check_ending(output, ".toml")
    check_ending(report, ".pdf", ".png")
    check_ending(marked, ".png")
    lamp = load_light(light)
    physics = physics_for(lamp)
    known = load_printer(former) if former else None
    if by_eye:
        if known is None or output is None:
            raise click.UsageError("--by-eye needs --former PROFILE to start from")
        _by_eye(readings, known, output, title=title or "", physics=physics)
        return 0
    with Progress() as progress:
        progress("reading")
        gathered = _gathered(readings, code=code, linear=linear, marked=marked)
        if check_name is not None:
            if cgats:
                _write_cgats(gathered, cgats)
            return _checked(gathered, load_printer(check_name), physics)
        assert output is not None
        progress("fitting")
        _fitted(
            gathered,
            sources=readings,
            output=output,
            physics=physics,
            light=lamp,
            former=known,
            title=title or "",
            rules=rules,
            ink_limit=ink_limit,
            report=report,
            icc=icc,
        )
    if cgats:
        _write_cgats(gathered, cgats)
    return 0


def _split(name: str) -> tuple[Path, int]:
    """A reading's path, and how many films lay on each other.

    Raises: CalibrationError, if it names more than 3
    """
    found = _COUNTED.match(name)
    if found is None:
        return Path(name), 1
    if found.group(2) not in ("1", "2", "3"):
        raise CalibrationError(
            found.group(1), f"{found.group(2)} films on each other are not 1, 2 or 3", "write :2"
        )
    return Path(found.group(1)), int(found.group(2))


def _gathered(
    names: tuple[str, ...], *, code: str | None, linear: bool, marked: str | None
) -> list[Readings]:
    """Every reading; photos of as many films are combined."""
    from glasswork.cli.strips import is_photo, read_strip_photo, read_strip_table
    from glasswork.model.reading import PhotoReading
    from glasswork.readers.photo import combine_exposures

    files = [(*_split(name), shelf.read_file(_split(name)[0])) for name in names]
    shots = Counter(films for _, films, data in files if is_photo(data))
    found: list[Readings] = []
    photos: dict[int, list[PhotoReading]] = {}
    for path, films, data in files:
        if is_photo(data):
            photo = read_strip_photo(
                data,
                where=path.name,
                films=films,
                code=code,
                linear=linear,
                may_clip=shots[films] > 1,
            )
            photos.setdefault(films, []).append(photo)
        else:
            found.append(read_strip_table(data, where=path.name, films=films))
    if marked and photos:
        write_file(Path(marked), next(iter(photos.values()))[0].marked)
        click.echo(f"written: {marked}")
    return found + [combine_exposures(group) for group in photos.values()]


def _checked(readings: list[Readings], profile: PrinterProfile, physics: Physics) -> int:
    from glasswork.calibrate.drift import check

    drift = check(readings, profile, physics=physics)
    spread = drift.difference
    click.echo(f"{profile.name}: mean ΔE00 {spread.mean:.2f}, p95 {spread.p95:.2f}")
    for sentence in drift.changed:
        click.echo(f"  {sentence}")
    click.echo(
        "the profile holds" if drift.holds else "the profile no longer holds: calibrate anew"
    )
    return 0 if drift.holds else 1


def _fitted(
    readings: list[Readings],
    *,
    sources: tuple[str, ...],
    output: str,
    physics: Physics,
    light: Light,
    former: PrinterProfile | None,
    title: str,
    rules: tuple[float, float] | None,
    ink_limit: float | None,
    report: str | None,
    icc: str | None,
) -> None:
    from glasswork.calibrate.fit import Wishes, calibrate
    from glasswork.calibrate.report import calibration_report, error_rows
    from glasswork.cli.compose import today
    from glasswork.cli.icc import icc_profiles
    from glasswork.cli.kit import load_page
    from glasswork.readers.printer import read_printer
    from glasswork.writers.calibration_report import page_png
    from glasswork.writers.pdf import write_pdf
    from glasswork.writers.profile import write_profile

    target = Path(output)
    created = today()
    made = calibrate(
        readings,
        name=target.stem,
        created=created,
        physics=physics,
        wishes=Wishes(title=title, rule_mm=rules, ink_limit=ink_limit),
        former=former,
    )
    comments = [f"Calibrated {created} with glasswork calibrate, before {light.name}."]
    for source in sources:
        path, films = _split(source)
        digest = sha256(shelf.read_file(path)).hexdigest()
        comments.append(f"read: {path.name}, {counted(films, 'film')}, sha256 {digest}")
    comments += [
        f"cross-validated, {name}: mean {spread.mean:.2f}, p95 {spread.p95:.2f} ΔE00"
        for name, spread in error_rows(made)
    ]
    data = write_profile(made.profile, comments=comments)
    read_printer(data, where=target.name)
    write_file(target, data)
    if report:
        pdf = write_pdf(calibration_report(made, physics=physics, page=load_page("a4")))
        write_file(Path(report), page_png(pdf) if report.lower().endswith(".png") else pdf)
        click.echo(f"written: {report}")
    if icc:
        Path(icc).mkdir(parents=True, exist_ok=True)
        for name, profile in icc_profiles(made.profile, light, created=created).items():
            write_file(Path(icc) / name, profile)
            click.echo(f"written: {Path(icc) / name}")
    click.echo(f"written: {output}")
    _tell(made.findings)
    for name, spread in error_rows(made):
        click.echo(f"cross-validated, {name}: mean ΔE00 {spread.mean:.2f}, p95 {spread.p95:.2f}")


def _write_cgats(readings: list[Readings], output: str) -> None:
    from glasswork.cli.compose import today
    from glasswork.writers.cgats import write_cgats

    write_file(Path(output), write_cgats(readings, created=today(), title=Path(output).stem))
    click.echo(f"written: {output}")


def _by_eye(
    names: tuple[str, ...],
    former: PrinterProfile,
    output: str,
    *,
    title: str,
    physics: Physics,
) -> None:
    from glasswork.cli.compose import today
    from glasswork.cli.strips import profile_by_eye
    from glasswork.readers.eye_answers import read_eye_answers

    if len(names) != 1:
        raise CalibrationError("answers", f"{len(names)} answer sheets, one is read", "name one")
    told = read_eye_answers(shelf.read_file(Path(names[0])), where=names[0])
    target = Path(output)
    data, findings = profile_by_eye(
        told, former, name=target.stem, title=title, created=today(), physics=physics
    )
    write_file(target, data)
    click.echo(f"written: {output}")
    _tell(findings)


def _tell(findings: Sequence[Finding]) -> None:
    for finding in findings:
        hint = f"; {finding.hint}" if finding.hint else ""
        click.echo(f"{finding.severity}: {finding.where}: {finding.what}{hint}")
