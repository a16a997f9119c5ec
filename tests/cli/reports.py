"""A report small enough to write by hand."""

from __future__ import annotations

from glasswork.model.report import (
    FilmsReport,
    FitReport,
    LightReport,
    RegistrationReport,
    Report,
)
from glasswork.writers.report import REPORT_VERSION, write_report

SMALL_REPORT = write_report(
    Report(
        version=REPORT_VERSION,
        design="small.svg",
        size_mm=(10.0, 20.0),
        thickness_mm=8.0,
        films=FilmsReport(count=1, identical=True, pages=()),
        panes=(),
        films_table=(),
        by_hand={},
        members=(),
        frames=(),
        fit=FitReport(
            opening_mm=None,
            clearance_mm=0.5,
            recess_mm=None,
            spare_mm=None,
            thickness_worst_mm=8.4,
            thickness_rss_mm=8.2,
            layers_mm=(),
        ),
        registration=RegistrationReport(
            worst_case_mm=0.7,
            rss_mm=0.4,
            min_cover_mm=1.0,
            bleed_mm=0.4,
            contributions_mm={},
            exposed=(),
        ),
        light=LightReport(
            name="d65",
            title="D65",
            cct_k=None,
            xy=None,
            throughput=0.8,
            panel_throughput=0.2,
            depth_mm=30.0,
            leds=4,
            pitch_mm=(30.0, 30.0),
            evenness=0.9,
            resistor_ohm=91.0,
            current_ma=80.0,
        ),
        findings=(),
        cautions=(),
        timings_s={},
    )
)
