"""The long work, as the worker processes do it: bytes and settings in, sketches and files out."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from typing import Any, Final

from glasswork.web.jobs.common import Begin
from glasswork.web.jobs.drawing import (
    check_drawing,
    check_opening,
    check_photo,
    draw_window,
    look,
    mend,
)
from glasswork.web.jobs.frame import frame
from glasswork.web.jobs.glass import surface_tile, tally, through_films
from glasswork.web.jobs.pack import gang_films, pack, page_pictures
from glasswork.web.jobs.printer import (
    cgats,
    check_strip,
    fit,
    fit_by_eye,
    icc,
    read_strip,
    strip,
)


def idle(seconds: float, *, begin: Begin) -> float:
    """Nothing, for so long: the tests' measure of limits and queues."""
    begin("idling")
    time.sleep(seconds)
    return seconds


JOBS: Final[Mapping[str, Callable[..., Any]]] = {
    job.__name__: job
    for job in (
        check_drawing,
        check_opening,
        check_photo,
        draw_window,
        look,
        mend,
        through_films,
        surface_tile,
        tally,
        frame,
        pack,
        gang_films,
        page_pictures,
        strip,
        read_strip,
        cgats,
        fit,
        fit_by_eye,
        check_strip,
        icc,
        idle,
    )
}
