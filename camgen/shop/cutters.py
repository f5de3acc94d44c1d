"""Cutters as described in job files and the workshop's table; all lengths mm, angles degrees."""

from typing import Literal

from pydantic import Field

from camgen.shop.model import FileModel, Length, LengthOrZero, Positive

__all__ = ["Cutter", "CutterKind", "CutterMaterial", "MadeFor"]

CutterKind = Literal["drill", "spot-drill", "end-mill", "form-disc", "fly-cutter"]
CutterMaterial = Literal["hss", "carbide", "diamond"]


class MadeFor(FileModel):
    """The tooth space a form cutter was made to leave."""

    form: Literal["cycloidal-wheel", "cycloidal-pinion", "involute", "ratchet"] = Field(
        description="the tooth form it cuts"
    )
    module: Positive = Field(description="module, always in mm")
    teeth: int = Field(ge=2, le=1000, description="number of teeth or leaves it was made for")
    mate: int | None = Field(
        None, ge=2, le=1000, description="leaves or teeth of the mate it was made for"
    )
    addendum: Literal["round", "one-third-ogive", "two-thirds-ogive"] = Field(
        "one-third-ogive", description="cycloidal pinions: the top of the leaves"
    )
    pressure_angle: float = Field(20.0, gt=5, lt=40, description="involute only, degrees")
    profile_shift: float = Field(0.0, ge=-1, le=1, description="involute only, in modules")
    front: float = Field(0.0, ge=0, le=30, description="ratchet: undercut of the front, degrees")
    back: Literal["straight", "curved"] = Field("straight", description="ratchet: the back's shape")
    depth: Length | None = Field(None, description="ratchet: depth of the teeth")


class Cutter(FileModel):
    """One cutter.

    ``reach`` is what stands out of the collet, ``flute_length`` the part that cuts, ``shank`` the
    diameter above it. For ``form-disc`` and ``fly-cutter`` ``diameter`` is over the cutting points
    and ``flutes`` the number of teeth (1 for a fly cutter).
    """

    kind: CutterKind = Field(description="what sort of cutter it is")
    diameter: Length = Field(description="cutting diameter; of a disc, over its points")
    flutes: int = Field(2, ge=1, le=60, description="cutting edges; 1 for a fly cutter")
    flute_length: Length | None = Field(None, description="length of the part that cuts")
    reach: Length | None = Field(None, description="what stands out of the collet")
    shank: Length | None = Field(None, description="diameter above the part that cuts")
    material: CutterMaterial = Field("carbide", description="what it is made of")
    point_angle: float = Field(
        118.0, gt=0, lt=180, description="drills: included angle of the point, degrees"
    )
    corner_radius: LengthOrZero = Field(0.0, description="end mills: radius at the corner")
    edge_radius: Length | None = Field(None, description="sharpness: radius of the edge")
    run_out: LengthOrZero | None = Field(
        None, description="total run-out when it turns; else the spindle's"
    )
    thickness: Length | None = Field(None, description="form-disc: width of the disc")
    arbor: Length | None = Field(
        None, description="form-disc: diameter of the collar that holds it"
    )
    number: int | None = Field(None, ge=1, le=99, description="place in the rack or changer")
    made_for: MadeFor | None = Field(
        None, description="form cutters: the tooth space it was made for"
    )
