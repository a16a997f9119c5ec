"""The settings of a composition: the command line's options and the project file are the same."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

MemberRole = Literal["border", "mullion", "bar", "lead", "paint"]
LeadRole = Literal["border", "mullion", "bar", "lead"]
LayerUse = Literal["printed", "inner", "raised", "raised-front", "raised-back"]


class Settings(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Everything `compose` needs beside the drawing. Lengths are numbers in mm.

    films : "auto", or 1, 2 or 3
    scale : "1:24" or a factor; multiplies the drawing's own size
    opening : [width, height] of the hole that the panel drops into
    films_differ : each film may carry colours of its own, where that comes nearer
    ink_faces : which way the printed sides look: all to the front, all to the back, or together
    copies : how many of the panel are printed
    photo : a picture laid under the drawing: panes take the nearest glass of what lies there
    finish : "clear" prints flat glass, "palette" each glass with its own surface, or one surface
    dpi, seed : resolution and cut of the glass that is not flat
    matting, stipple : darkening painted along the leads, and how far it is broken up, 0-1
    light_depth : from the LEDs to the diffuser; evenness : least over most light wished for there
    supply : voltage of the LED supply
    outer_board, retainer_board : boards of the outer layers and of the ring; empty: the same board
    step : how far the outer layer stands back at the glass; chosen from board and border if None
    rebate : how much of the border the opening's lip hides
    opening_drawing : SVG with the outline of the opening, where it is no rectangle
    jig : a tray to assemble the panel in is cut too
    embedded : the picture within an SVG is read as a scan, instead of the SVG's lines
    roles : class, id, group label or "stroke>=2.5" of the drawing -> border, mullion, bar,
        lead, paint
    glass : pane id -> glass id
    surfaces : pane id -> a finish by its trade word, in place of what `finish` says for all
    members : member id -> "cut" or "printed"
    member_roles : member id -> its role, in place of what the drawing and `roles` tell
    widths : role -> width of its lines in mm of the finished panel, whatever they are drawn
    layers : role -> how its members are made: printed, cut on the inner layers, or raised on the
        outer ones too, of both faces or of one
    """

    palette: str = "harbour"
    printer: str = "dye-film"
    light: str = "led-b3"
    films: Literal["auto", 1, 2, 3] = "auto"
    board: str = "chipboard-2"
    cutter: str = "laser"
    page: str = "a4"
    width: float | None = None
    height: float | None = None
    opening: tuple[float, float] | None = None
    clearance: float = 0.5
    recess: float | None = None
    scale: str = "1"
    films_differ: bool = False
    ink_faces: Literal["front", "back", "together"] = "front"
    copies: Annotated[int, msgspec.Meta(ge=1, le=100)] = 1
    photo: str = ""
    finish: str = "clear"
    dpi: int = 600
    seed: Annotated[int, msgspec.Meta(ge=0)] = 1
    matting: float = 0.0
    stipple: float = 0.0
    outer_board: str = ""
    retainer_board: str = ""
    step: Annotated[float, msgspec.Meta(ge=0.0, le=100.0)] | None = None
    rebate: Annotated[float, msgspec.Meta(ge=0.0, le=1000.0)] = 0.0
    opening_drawing: str = ""
    jig: bool = False
    embedded: bool = False
    light_depth: float = 30.0
    evenness: float = 0.9
    supply: float = 5.0
    roles: dict[str, str] = msgspec.field(default_factory=dict)
    glass: dict[str, str] = msgspec.field(default_factory=dict)
    surfaces: dict[str, str] = msgspec.field(default_factory=dict)
    members: dict[str, Literal["cut", "printed"]] = msgspec.field(default_factory=dict)
    member_roles: dict[str, MemberRole] = msgspec.field(default_factory=dict)
    widths: dict[LeadRole, Annotated[float, msgspec.Meta(gt=0.0, le=1000.0)]] = msgspec.field(
        default_factory=dict
    )
    layers: dict[LeadRole, LayerUse] = msgspec.field(default_factory=dict)


class Project(Settings, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A project file: the settings and the drawing they are for, as a path beside the file."""

    design: str
    design_sha256: str = ""
    note: str = ""
