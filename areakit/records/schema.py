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
    place: int | None = Field(default=None, description="Number on the picture of the place that it asks about.")
    fields: dict[str, str] = Field(default_factory=dict, description="What it is about: key of a field to an example.")
    figures: dict[str, float | str] = Field(default_factory=dict, description="The figures that stand in its words.")


class ScaleDocument(_Document):
    """What the reference mark said of the photo."""

    mark: Literal["frame", "paper", "scan", "card", "coin", "taps", "ruler", "chequer", "markers"]
    sheet: str
    tilt_deg: float
    mm_per_px: float
    camera_height_mm: float
    focal_length_px: float
    residual_px: float
    points_used: int
    points_total: int
    copy_scale: dict[str, float]
    copy_told_by: str | None = Field(
        default=None, description="What told the size of a sheet copy; nobody, or null for another mark."
    )
    lens: str = Field(description="Where the lens is from: this photo, or stored with the day of its check.")


class OutlineDocument(_Document):
    """GeoJSON polygon (RFC 7946, section 3.1.6) in sheet millimetres, y upwards: outer ring first, then holes."""

    type: Literal["Polygon"]
    coordinates: list[list[list[float]]]


class FormDocument(_Document):
    """What an outline is of; faces then are front (outside), back (inside) and wall (ends, edges)."""

    name: str
    text: str = Field(description="As it was typed, with its figures.")
    figures: dict[str, QuantityDocument] = Field(description="What the form found on the way.")
    unrolled: OutlineDocument | None = Field(description="The outside laid flat; null where it cannot be.")


class FormRegionDocument(_Document):
    """A region of a part with a form or a thickness of its own."""

    outlines: list[OutlineDocument]
    form: str
    words: str = Field(description="As they were typed: form and thickness.")
    seam_mm: float = Field(ge=0, description="Standard uncertainty of where its seam lies.")


class ViewDocument(_Document):
    """Where the camera stood over the outline, in its coordinates, and the height at which the outline was read."""

    x_mm: float
    y_mm: float
    height_mm: float
    level_mm: float
    level_open_mm: float
    pixel_mm: float = 0.0


class PartDocument(_Document):
    """One part, numbered in reading order."""

    id: int | str
    outline: OutlineDocument
    thickness: QuantityDocument | None
    face_area: QuantityDocument = Field(description="One face, holes left out.")
    perimeter: PerimeterDocument
    side_wall_area: QuantityDocument | None = Field(description="Outer and hole walls; null without a thickness.")
    plated_area: QuantityDocument = Field(description="What the chosen faces add up to.")
    faces: Literal["one", "front", "back", "both", "walls", "all", "front-and-edges"]
    edge_make: str | None = Field(default=None, description="How the edge was made; null where no photo was read.")
    edge_form: str = Field(default="sharp", description="Of a flat part: sharp, unknown, or rounded and by how much.")
    form: FormDocument | None = Field(description="What the outline is of; null for a flat part.")
    form_regions: list[FormRegionDocument] = Field(
        default_factory=list, description="Regions with forms of their own; the form of the part is that of the rest."
    )
    regions: dict[str, Any] | None = Field(
        default=None, description="Stop-offs and other regions drawn over it: hand_mm, and drawn with their lines."
    )
    stop_offs_seen: list[dict[str, Any]] = Field(
        default_factory=list,
        description="Regions of another colour of which nobody said what they are: place, at, area_mm2, ring_mm.",
    )
    view: ViewDocument | None = Field(description="Where the camera stood; null where no camera looked at the part.")


class ComparedPartDocument(_Document):
    """One part in two photos: its area in either, and by how much they differ."""

    id: int
    id_in_second: int
    first: QuantityDocument
    second: QuantityDocument
    difference: QuantityDocument = Field(description="First less second; its uncertainty is what is expected of it.")
    weight_of_first: float = Field(ge=0, le=1)


class SettledDocument(_Document):
    """A question of one photo that the other answered."""

    model_config = ConfigDict(populate_by_name=True)

    photo: str
    code: str
    at: str = Field(description="The point that names it, x,y in mm of the sheet.")
    kind: Literal["hole", "metal"] = Field(alias="is")
    how: str


class SamePartsDocument(_Document):
    """How the two photos of ``--same-parts`` compare."""

    photos: list[str]
    turned_deg: float = Field(description="Turn of the sheet between them.")
    settled: list[SettledDocument]
    parts: list[ComparedPartDocument]


class PhotoDocument(_Document):
    """One line of ``areakit measure --json``: one photo, or two of the same parts."""

    photo: str
    status: Literal["measured", "refused"]
    flags: list[FlagDocument]
    scale: ScaleDocument | None
    parts: list[PartDocument]
    regions_left_out: int = Field(
        default=0,
        ge=0,
        description="Regions that cross an edge or could not be measured: no sum of the parts has them.",
    )
    same_parts: SamePartsDocument | None = Field(default=None, description="Only with --same-parts.")


def measure_schema() -> dict[str, Any]:
    """Return the JSON Schema of one line of ``areakit measure --json``."""
    return _schema(PhotoDocument, "measure:1")


def _schema(model: type[BaseModel], name: str) -> dict[str, Any]:
    draft = "https://json-schema.org/draft/2020-12/schema"
    return {**model.model_json_schema(), "$schema": draft, "$id": f"urn:areakit:{name}"}


class ChargeDocument(QuantityDocument):
    """A charge in A.min, with the same value in C."""

    value_coulomb: float


class OriginDocument(_Document):
    """Where a number comes from."""

    kind: Literal["given", "measured", "published", "practice", "unverified"]
    text: str
    source: str | None = None
    citation: str | None = None


class PremiseDocument(_Document):
    """One number that a plan rests on."""

    name: str
    quantity: QuantityDocument
    origin: OriginDocument


class CautionDocument(_Document):
    """A caution in words."""

    key: str
    text: str
    citation: str


class FindingDocument(_Document):
    """Something wrong, or worth a look, in the stack or the sequence."""

    code: str
    severity: Literal["stop", "check", "note"]
    message: str
    why: str
    citation: str
    remedy: str
    fields: dict[str, str] = Field(default_factory=dict, description="What it is about: key of a field to an example.")


class TankSpreadDocument(_Document):
    """The current distribution in a tank."""

    wagner: float = Field(ge=0)
    panels: int
    spot_mm: float


class TargetDocument(_Document):
    """The overlap that reaches a wanted minimum over mean; null, with the reason, where none does."""

    minimum_over_mean: float
    overlap: float | None
    reason: str | None


class BrushSpreadDocument(_Document):
    """The strokes of one pass."""

    footprint_width: QuantityDocument
    footprint_length: QuantityDocument
    footprint_corners: Literal["round", "square"]
    overlap: float
    lanes: int
    lifts: int
    direction_deg: float
    path_length: QuantityDocument
    time_per_pass: QuantityDocument = Field(description="Over one face of the part.")
    target: TargetDocument | None


class SpreadDocument(_Document):
    """The distribution predicted over the outline of the worst part."""

    method: Literal["brush", "tank"]
    part: int = Field(description="Number of the part in the measurement, from 1.")
    parts: int = Field(description="How many parts were looked at.")
    minimum_over_mean: QuantityDocument
    minimum_at_mm: tuple[float, float]
    allowance: QuantityDocument = Field(description="Mean over minimum.")
    origin: OriginDocument
    premises: list[PremiseDocument]
    tank: TankSpreadDocument | None
    brush: BrushSpreadDocument | None


class BrushRunDocument(_Document):
    """Brush work on one piece."""

    mean_current: QuantityDocument = Field(description="Averaged over the whole working time.")
    peak_current: QuantityDocument = Field(description="Where most metal is under the brush.")
    current_density: QuantityDocument = Field(description="Under the brush.")
    contact_fraction: PremiseDocument = Field(description="Metal in contact over the footprint, averaged over time.")
    time: QuantityDocument = Field(description="Whole working time, off the metal included: passes times one pass.")
    passes: QuantityDocument = Field(description="Brush-overs of the whole plated area.")
    seconds_per_pass: QuantityDocument
    hand_speed: PremiseDocument
    strokes_per_minute: QuantityDocument | None


class CouponRunDocument(_Document):
    """One piece by volts and watch, from a weighed coupon."""

    coupon: str
    brush: str
    volts: QuantityDocument
    thickness_per_pass: QuantityDocument
    passes: QuantityDocument = Field(description="What the thickness needs.")
    passes_set: int = Field(description="What to do, so that the minimum is met with about 97 % confidence.")
    seconds_per_pass: QuantityDocument
    time: QuantityDocument
    mean_reached: QuantityDocument
    minimum_reached: QuantityDocument
    mass: QuantityDocument


class OfferDocument(_Document):
    """A change that brings brush work within what a hand can do."""

    what: Literal["a larger brush", "less current"]
    footprint: QuantityDocument
    current_density: QuantityDocument
    mean_current: QuantityDocument
    hand_speed: QuantityDocument
    strokes_per_minute: float
    time: QuantityDocument = Field(description="One piece.")


class HandWorkDocument(_Document):
    """Strokes, spells and breaks of one layer, all pieces."""

    stroke: PremiseDocument
    strokes_per_minute: QuantityDocument = Field(description="Ways to and fro count as two.")
    pace: Literal["steady", "quick", "burst"]
    spells: int
    rest: QuantityDocument = Field(description="The break between two spells.")
    time: QuantityDocument = Field(description="With the tool in hand.")
    whole: QuantityDocument = Field(description="With the breaks.")
    too_fast: bool = Field(description="More than a hand can do.")
    words: str
    offers: list[OfferDocument]


class PlannedLayerDocument(_Document):
    """One layer: what was asked for, what to run, what it reaches, what it takes."""

    metal: str
    bath: str
    minimum_needed: QuantityDocument | None = Field(description="Null where a mean was ordered.")
    distribution_allowance: PremiseDocument
    mean_target: QuantityDocument
    efficiency: PremiseDocument
    density: PremiseDocument
    charge: ChargeDocument
    charge_set: ChargeDocument = Field(description="The number to run to, one piece.")
    charge_even_chance: ChargeDocument | None = Field(description="Meets the minimum in half of such jobs.")
    charge_total: ChargeDocument
    charge_shares: dict[str, float]
    mean_reached: QuantityDocument
    minimum_reached: QuantityDocument
    minimum_shares: dict[str, float]
    mass: QuantityDocument
    mass_total: QuantityDocument
    brush: BrushRunDocument | None
    tank: dict[str, Any] | None
    by_volts: CouponRunDocument | None = Field(description="The way by volts and watch; null without a coupon.")
    hands: HandWorkDocument | None = Field(description="What a layer by brush asks of the hand; null in a tank.")
    consumption: dict[str, Any]


class PlannedStepDocument(_Document):
    """One step of the sequence with its cautions."""

    number: int
    key: str
    kind: str
    title: str
    metal: str | None
    polarity: str
    voltage: list[PremiseDocument] | None
    look_for: str
    charge_set: ChargeDocument | None
    cautions: list[CautionDocument]


class PlannedAreaDocument(_Document):
    """The area of one piece."""

    per_piece: QuantityDocument
    origin: OriginDocument


class ProcessDocument(_Document):
    """The sequence of steps."""

    key: str
    title: str
    method: Literal["brush", "tank"]


class PlanDocument(_Document):
    """What ``areakit plan --json`` prints."""

    schema_name: Literal["areakit.plan/2"] = Field(alias="schema")
    process: ProcessDocument
    base: str | None
    market: str | None
    use: str | None
    area: PlannedAreaDocument
    pieces: int = Field(ge=1)
    parts: list[int]
    brush: str | None = Field(description="Its name in the shop profile; null where none of it was taken.")
    charge_total: ChargeDocument
    distribution: SpreadDocument | None = Field(description="Null where no outline was given, or no model fits it.")
    layers: list[PlannedLayerDocument]
    steps: list[PlannedStepDocument]
    findings: list[FindingDocument]
    flags: list[FlagDocument]
    premises: list[PremiseDocument]
    cautions: list[CautionDocument]
    loads_shared: list[dict[str, Any]] = Field(description="Loads in which other kinds of parts hang as well.")
    asked: dict[str, Any] = Field(description="What was asked for, as text, to be asked again for other pieces.")


def plan_schema() -> dict[str, Any]:
    """Return the JSON Schema of what ``areakit plan --json`` prints."""
    return _schema(PlanDocument, "plan:2")
