"""What a separation tells its maker."""

from __future__ import annotations

from glasswork.colour.separate import separate
from glasswork.model.film import PrinterProfile
from glasswork.model.finding import Severity
from glasswork.model.light import Light
from glasswork.model.palette import Glass, Palette

TWINS = Palette(
    name="twins",
    title="twins",
    glasses=(
        Glass(id="green-one", title="", lab=(75.0, -95.0, 40.0)),
        Glass(id="green-two", title="", lab=(75.0, -120.0, 50.5)),
        Glass(id="green-three", title="", lab=(70.0, -30.0, 20.0)),
        Glass(id="amber", title="", srgb="#d98a1f"),
    ),
)


def test_look_alikes_and_what_to_do(dye: PrinterProfile, led: Light, window_of) -> None:  # type: ignore[no-untyped-def]
    window = window_of(["green-one", "green-two", "amber"])
    _, told = separate(window, TWINS, dye, led, films=2)
    (alike,) = [finding for finding in told if "look alike" in finding.what]
    assert alike.severity is Severity.WARNING
    assert alike.where == "glasses green-one and green-two"
    assert alike.hint == "green-three could take the place of green-two"


def test_what_is_out_of_reach_is_put_into_words(dye: PrinterProfile, led: Light, window_of) -> None:  # type: ignore[no-untyped-def]
    _, told = separate(window_of(["green-one", "amber"]), TWINS, dye, led, films=1)
    lost = {finding.where: finding for finding in told if "out of reach" in finding.what}
    assert "duller" in lost["glass green-one"].what
    assert lost["glass green-one"].severity is Severity.DECISION
    assert lost["glass amber"].severity is Severity.WARNING
    order = [finding.severity for finding in told]
    assert order == sorted(order, key=list(Severity).index, reverse=True)


def test_a_window_all_in_reach_has_nothing_to_tell(  # type: ignore[no-untyped-def]
    harbour: Palette, dye: PrinterProfile, led: Light, window_of
) -> None:
    _, told = separate(window_of(["ruby", "cobalt", "gold"]), harbour, dye, led, films=2)
    assert told == ()
