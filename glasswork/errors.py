"""Every fault Glasswork reports, as one tree.

GlassworkError
├── ReadError          a file cannot be read, or is not what it says it is
├── DrawingError       the line art does not make a window
├── ProfileError       a palette, printer, light, board, cutter, page or project file is wrong
├── ColourError        a colour quantity lies outside its domain, or no ink amount can meet it
├── FrameError         the frame cannot be cut, or does not fit
├── SheetError         something does not fit its page or bed
├── CalibrationError   readings do not make a profile
├── PackError          a pack cannot be written, or is not what it promises
└── Faults             several of the above, found in one pass

Each fault says where it is, what is wrong (with the value and its limit), and what to do.
"""

from __future__ import annotations

from collections.abc import Iterable


class GlassworkError(Exception):
    """Root of all faults that a user can act upon.

    where : the file, and the place in it
    what : the fault, with the value found and the limit it breaks
    hint : what to do about it
    """

    def __init__(self, where: str, what: str, hint: str = "") -> None:
        super().__init__(where, what, hint)
        self.where = where
        self.what = what
        self.hint = hint

    def __str__(self) -> str:
        text = f"{self.where}: {self.what}"
        return f"{text}; {self.hint}" if self.hint else text

    def each(self) -> tuple[GlassworkError, ...]:
        """The single faults this error stands for."""
        return (self,)


class ReadError(GlassworkError):
    """A file cannot be read, or is not what it says it is."""


class DrawingError(GlassworkError):
    """The line art does not make a window."""


class ProfileError(GlassworkError):
    """A palette, printer, light, board, cutter, page or project file is wrong."""


class ColourError(GlassworkError):
    """A colour quantity lies outside its domain, or no ink amount can meet it."""


class FrameError(GlassworkError):
    """The frame cannot be cut, or does not fit."""


class SheetError(GlassworkError):
    """Something does not fit its page or bed."""


class CalibrationError(GlassworkError):
    """Readings do not make a profile."""


class PackError(GlassworkError):
    """A pack cannot be written, or is not what it promises."""


class Faults(GlassworkError):  # noqa: N818 - a plural, not one error
    """Several faults found in one pass; at least one."""

    def __init__(self, faults: Iterable[GlassworkError]) -> None:
        self.faults = tuple(single for fault in faults for single in fault.each())
        if not self.faults:
            raise ValueError("Faults needs at least one fault")
        first = self.faults[0]
        super().__init__(first.where, first.what, first.hint)

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)

    def each(self) -> tuple[GlassworkError, ...]:
        return self.faults


def raise_all(faults: Iterable[GlassworkError]) -> None:
    """Raise the faults: nothing if there are none, the fault itself if there is one."""
    found = tuple(faults)
    if len(found) == 1:
        raise found[0]
    if found:
        raise Faults(found)
