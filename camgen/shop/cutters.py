"""Cutters as described in job files and the workshop's table; all lengths mm, angles degrees."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from camgen.shop.model import FileModel

__all__ = ["Cutter", "CutterKind", "CutterMaterial", "MadeFor"]

CutterKind = Literal["drill", "spot-drill", "end-mill", "form-disc", "fly-cutter"]
CutterMaterial = Literal["hss", "carbide", "diamond"]
Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]


class MadeFor(FileModel):
    """The tooth space a form cutter was made to leave."""

    form: Literal["cycloidal-wheel", "cycloidal-pinion", "involute", "ratchet"]
    module: Positive
    teeth: int = Field(ge=2, le=1000)
    mate: int | None = Field(None, ge=2, le=1000)


class Cutter(FileModel):
    """One cutter.

    ``reach`` is what stands out of the collet, ``flute_length`` the part that cuts, ``shank`` the
    diameter above it. For ``form-disc`` and ``fly-cutter`` ``diameter`` is over the cutting points
    and ``flutes`` the number of teeth (1 for a fly cutter).
    """

    kind: CutterKind
    diameter: Positive
    flutes: int = Field(2, ge=1, le=60)
    flute_length: Positive | None = None
    reach: Positive | None = None
    shank: Positive | None = None
    material: CutterMaterial = "carbide"
    point_angle: float = Field(118.0, gt=0, lt=180, description="drills: included angle")
    corner_radius: NotNegative = 0.0
    edge_radius: Positive | None = Field(None, description="sharpness of the edge, mm")
    run_out: NotNegative | None = Field(None, description="total, mm; else the spindle's")
    thickness: Positive | None = Field(None, description="form-disc: width of the disc")
    arbor: Positive | None = Field(None, description="form-disc: diameter of its arbor's collar")
    number: int | None = Field(None, ge=1, le=99, description="place in the changer or rack")
    made_for: MadeFor | None = None
