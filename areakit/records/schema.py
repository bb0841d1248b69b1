"""JSON Schema of what the commands print, as pydantic models: stable, and checked against real output by the tests."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field


class _Document(BaseModel):
    model_config = ConfigDict(extra="allow")


class QuantityDocument(_Document):
    """One measured or computed quantity."""

    value: float
    unit: str = Field(description="Unit code: mm2 for areas, mm for lengths.")
    standard_uncertainty: float = Field(ge=0)
    expanded_uncertainty: float = Field(ge=0, description="Coverage factor times standard uncertainty.")
    coverage_factor: float = Field(gt=0)
    budget: dict[str, float] = Field(description="Input name to signed standard share, in the unit of the value.")


class PerimeterDocument(QuantityDocument):
    """All of the perimeter, and its two kinds."""

    outer: QuantityDocument
    holes: QuantityDocument


class FlagDocument(_Document):
    """One caution, or the reason of a refusal."""

    code: str
    message: str = Field(description="What is wrong, with its number.")
    remedy: str = Field(description="What to do next.")
    part: int | None = Field(default=None, description="The part it belongs to, where it belongs to one.")


class ScaleDocument(_Document):
    """What the reference mark said of the photo."""

    mark: Literal["ring", "paper", "scan", "card", "coin", "taps", "rule", "chequer", "markers"]
    sheet: str
    tilt_deg: float
    mm_per_px: float
    camera_height_mm: float
    focal_length_px: float
    residual_px: float
    points_used: int
    points_total: int
    print_scale: dict[str, float]


class OutlineDocument(_Document):
    """GeoJSON polygon (RFC 7946, section 3.1.6) in sheet millimetres: outer ring first, then holes."""

    type: Literal["Polygon"]
    coordinates: list[list[list[float]]]


class PartDocument(_Document):
    """One part, numbered in reading order."""

    id: int | str
    outline: OutlineDocument
    thickness: QuantityDocument | None
    face_area: QuantityDocument = Field(description="One face, holes left out.")
    perimeter: PerimeterDocument
    sidewall_area: QuantityDocument | None = Field(description="Outer and hole walls; null without a thickness.")
    plated_area: QuantityDocument = Field(description="What the chosen faces add up to.")
    faces: Literal["one", "front", "back", "both", "walls", "all", "foil"]


class PhotoDocument(_Document):
    """One line of ``areakit measure --json``: one photo."""

    photo: str
    status: Literal["measured", "refused"]
    flags: list[FlagDocument]
    scale: ScaleDocument | None
    parts: list[PartDocument]


def measure_schema() -> dict[str, Any]:
    """Return the JSON Schema of one line of ``areakit measure --json``."""
    schema = PhotoDocument.model_json_schema()
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["$id"] = "urn:areakit:measure:1"
    return schema
