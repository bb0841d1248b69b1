"""What a scene is made of, and the true figures of its parts.

Lengths are real millimetres on the sheet: x to the right, y down, heights up towards the camera, origin at the upper
left corner of the ring as designed. Colours are linear reflectances (r, g, b) unless a name says sRGB.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from shapely import affinity
from shapely.geometry import LinearRing, Polygon

from areakit.errors import RangeError
from areakit.geometry.outline import check_polygon
from areakit.imaging.marks.frame_layout import FrameLayout, layouts

Colour = tuple[float, float, float]
Finish = Literal["matte", "brushed", "mirror"]

FULL_FRAME_DIAGONAL_MM = math.hypot(36.0, 24.0)
"""Diagonal of the 35 mm film frame, 36 mm by 24 mm; the equivalent focal length is scaled by diagonals (convention)."""

BLUE_FIELD_SRGB = (70, 115, 195)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScenePart:
    """One prism lying on the sheet.

    Parameters
    ----------
    polygon : shapely.Polygon
        Face outline with holes, in coordinates of its own. [mm]
    thickness_mm : float
        Height of its upright walls; 0 for a face without walls.
    position_mm : tuple of float
        Where its own origin lies on the sheet.
    turn_deg : float
        Turn about its own origin, from x towards y.
    raised_mm : float
        Height of its lower edge above the sheet, for what is rounded below.
    """

    polygon: Polygon
    thickness_mm: float
    position_mm: tuple[float, float] = (0.0, 0.0)
    turn_deg: float = 0.0
    raised_mm: float = 0.0

    def __post_init__(self) -> None:
        check_polygon(self.polygon)
        if not 0.0 <= self.thickness_mm <= 100.0:
            raise RangeError(
                f"A thickness of {self.thickness_mm:g} mm is outside 0 to 100 mm.",
                remedy="Give the part a thickness that fits on a sheet.",
            )

    def placed(self) -> Polygon:
        """Return the face outline in sheet coordinates. [mm]"""
        turned = affinity.rotate(self.polygon, self.turn_deg, origin=(0.0, 0.0))
        return affinity.translate(turned, *self.position_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Metal:
    """How the parts look.

    Parameters
    ----------
    reflectance : tuple of float
        Linear reflectance, r g b.
    finish : str
        ``matte`` scatters, ``brushed`` has streaks and a broad sheen, ``mirror`` shows its surroundings.
    brightness : float
        Radiance of the surroundings it reflects, relative to a white sheet in the same light.
    slope, slope_direction_deg : float
        Change of that brightness over 100 mm, and its direction.
    highlight, highlight_width_mm : float
        Added radiance of lamps or bright panes in it, and their width.
    texture, texture_direction_deg : float
        Relative standard deviation of streaks or grain, and direction of the streaks.
    sheet_reflection : float
        Share of the face's reflected light that comes from the sheet. Walls see more of it, shiny ones most.
    rim_mm, rim_gain : float
        Width of the broken edge round the face, and how much brighter it is on the side of the light.
    """

    name: str = "metal"
    reflectance: Colour = (0.56, 0.57, 0.58)
    finish: Finish = "matte"
    brightness: float = 0.7
    slope: float = 0.0
    slope_direction_deg: float = 0.0
    highlight: float = 0.0
    highlight_width_mm: float = 20.0
    texture: float = 0.0
    texture_direction_deg: float = 0.0
    sheet_reflection: float = 0.0
    rim_mm: float = 0.0
    rim_gain: float = 0.0

    @property
    def diffuseness(self) -> float:
        """Share of its brightness that follows the light falling on it; the rest is a picture of its surroundings."""
        return {"matte": 1.0, "brushed": 0.5, "mirror": 0.1}[self.finish]


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """A camera and where it stands.

    Parameters
    ----------
    width_px, height_px : int
        Size of the picture.
    f35_mm : float
        True focal length in 35 mm terms. [mm]
    stated_f35_mm : int or None
        What the photo claims, None for no claim.
    centre_offset_px : tuple of float
        Principal point from the middle of the picture.
    k1, k2, p1, p2, k3 : float
        Radial and tangential distortion, as in OpenCV's camera model.
    distance_mm : float
        From the camera to the point looked at, along the optical axis.
    tilt_deg, tilt_direction_deg : float
        Angle between optical axis and sheet normal, and towards which side of the sheet the camera has moved.
    roll_deg : float
        Turn about the optical axis.
    look_offset_mm : tuple of float
        Point looked at, from the middle of the ring.
    """

    width_px: int = 4032
    height_px: int = 3024
    f35_mm: float = 26.0
    stated_f35_mm: int | None = 26
    centre_offset_px: tuple[float, float] = (0.0, 0.0)
    k1: float = 0.0
    k2: float = 0.0
    p1: float = 0.0
    p2: float = 0.0
    k3: float = 0.0
    distance_mm: float = 260.0
    tilt_deg: float = 0.0
    tilt_direction_deg: float = 0.0
    roll_deg: float = 0.0
    look_offset_mm: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        if not 0.0 <= self.tilt_deg <= 60.0:
            raise RangeError(f"A tilt of {self.tilt_deg:g} deg is outside 0 to 60 deg.", remedy="Tilt the camera less.")
        if min(self.width_px, self.height_px) < 16 or self.distance_mm <= 0.0 or self.f35_mm <= 0.0:
            raise RangeError(
                "A camera needs a picture of 16 px or more, a distance and a focal length above 0.",
                remedy="Give a real camera.",
            )

    @property
    def focal_px(self) -> float:
        """Focal length. [px]"""
        return self.f35_mm * math.hypot(self.width_px, self.height_px) / FULL_FRAME_DIAGONAL_MM

    @property
    def centre_px(self) -> tuple[float, float]:
        """Principal point; the centre of the first pixel is (0, 0)."""
        dx, dy = self.centre_offset_px
        return (self.width_px - 1) / 2 + dx, (self.height_px - 1) / 2 + dy


@dataclass(frozen=True, slots=True, kw_only=True)
class Light:
    """Light and shadow.

    Parameters
    ----------
    gradient, gradient_direction_deg : float
        Relative change of light over 100 mm, and its direction.
    vignetting : float
        Loss of light in the corner of the picture.
    tint : tuple of float
        Light colour left after white balance.
    azimuth_deg : float
        Side of the sheet the main light comes from.
    contact_depth, contact_width_mm, contact_shift_mm : float
        Darkening of the sheet right beside a part, its reach, and its shift away from the light.
    cast_depth, elevation_deg, cast_softness_mm : float
        Darkening inside the part's own cast shadow, elevation of the lamp, width of the penumbra.
    bounce : float
        Light thrown on the sheet by the walls on the light's side, relative to the direct light, at a white wall.
    veil_depth, veil_direction_deg, veil_offset_mm, veil_softness_mm : float
        A foreign shadow over half of the sheet: its darkening, the direction in which it lies, distance of its edge
        from the middle of the ring, width of the penumbra. It shows less on a mirror, which keeps its picture.
    card_mm : float
        Side of a square black card before the camera, its hole at the lens: where a level face would mirror it, it
        mirrors nothing else. 0 for no card.
    """

    gradient: float = 0.0
    gradient_direction_deg: float = 0.0
    vignetting: float = 0.0
    tint: Colour = (1.0, 1.0, 1.0)
    azimuth_deg: float = 225.0
    contact_depth: float = 0.0
    contact_width_mm: float = 1.0
    contact_shift_mm: float = 0.0
    cast_depth: float = 0.0
    elevation_deg: float = 50.0
    cast_softness_mm: float = 0.5
    bounce: float = 0.0
    veil_depth: float = 0.0
    veil_direction_deg: float = 0.0
    veil_offset_mm: float = 0.0
    veil_softness_mm: float = 5.0
    card_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """From light on the sensor to the bytes of a file.

    Parameters
    ----------
    exposure : float
        Signal of a white diffuse surface of reflectance 1, relative to full scale.
    blur_px : float
        Standard deviation of the Gaussian point spread.
    mosaic : bool
        Whether each pixel sees one colour only and the others are interpolated.
    full_well, read_noise : float
        Electrons at full scale, and standard deviation of the read noise in electrons; full_well 0 is no noise.
    s_curve : float
        Share of the smooth step 3 e^2 - 2 e^3 mixed into the sRGB values.
    sharpening, sharpening_radius_px : float
        Strength and radius of the unsharp mask on encoded values.
    jpeg_quality : int
        Quality of the file, with 4:2:0 colour.
    """

    exposure: float = 0.8
    blur_px: float = 0.9
    mosaic: bool = False
    full_well: float = 0.0
    read_noise: float = 3.0
    s_curve: float = 0.0
    sharpening: float = 0.0
    sharpening_radius_px: float = 1.2
    jpeg_quality: int = 95


@dataclass(frozen=True, slots=True, kw_only=True)
class Print:
    """How the sheet came out of the printer, and how it lies.

    Parameters
    ----------
    scale_x, scale_y : float
        Printed length over designed length.
    ink_gain_mm : float
        Growth of every black edge.
    edge_lift_mm, curl_direction_deg : float
        Height of the ring's rim over its middle in one direction; the sheet is bent like a trough.
    fold_mm, fold_direction_deg, fold_offset_mm : float
        A sheet that was folded once and laid flat again: height of the ridge (above 0) or of the sides beside a valley
        (below 0), the direction across the fold, and the fold's distance from the middle of the ring.
    field_srgb, paper_srgb : tuple of int
        Colour of the field, None where it is bare paper, and of the paper.
    ink : float
        Reflectance of black.
    mottle : float
        Relative unevenness of paper and print.
    """

    scale_x: float = 1.0
    scale_y: float = 1.0
    ink_gain_mm: float = 0.0
    edge_lift_mm: float = 0.0
    curl_direction_deg: float = 0.0
    fold_mm: float = 0.0
    fold_direction_deg: float = 0.0
    fold_offset_mm: float = 0.0
    field_srgb: tuple[int, int, int] | None = BLUE_FIELD_SRGB
    paper_srgb: tuple[int, int, int] = (238, 238, 236)
    ink: float = 0.035
    mottle: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """A flat patch with light of its own: paint, tape or a mirrored sheet on a face, the line of a joint, glare.

    Parameters
    ----------
    polygon : shapely.Polygon
        In sheet coordinates. [mm]
    colour : tuple of float
        What it sends to the camera, white sheet in the same light = 1.
    opacity : float
        Share of what lies below that it hides; 0 only adds its light, as glare does.
    softness_mm : float
        Standard deviation of its border.
    on : int or None
        Number of the part on whose face it lies, beyond which it does not reach; None for the sheet, under all parts.
    """

    polygon: Polygon
    colour: Colour
    opacity: float = 1.0
    softness_mm: float = 0.0
    on: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """Everything that one photo shows. Equal scenes give equal photos."""

    layout: str = "A4-r1"
    parts: tuple[ScenePart, ...] = ()
    patches: tuple[Patch, ...] = ()
    metal: Metal = field(default_factory=Metal)
    camera: Camera = field(default_factory=Camera)
    light: Light = field(default_factory=Light)
    chain: Chain = field(default_factory=Chain)
    print: Print = field(default_factory=Print)
    desk_srgb: tuple[int, int, int] = (120, 100, 82)
    seed: int = 0

    def __post_init__(self) -> None:
        if self.layout not in layouts():
            raise RangeError(
                f"There is no sheet {self.layout!r}.", remedy=f"Choose one of {', '.join(sorted(layouts()))}."
            )

    @property
    def sheet(self) -> FrameLayout:
        """The scale sheet in the photo."""
        return layouts()[self.layout]

    @property
    def middle_mm(self) -> tuple[float, float]:
        """Middle of the ring."""
        return self.sheet.width_mm / 2, self.sheet.height_mm / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class PartTruth:
    """The true figures of one part."""

    face_mm2: float
    perimeter_outer_mm: float
    perimeter_holes_mm: float
    thickness_mm: float
    holes: int


def truth(scene: Scene) -> tuple[PartTruth, ...]:
    """Return the true figures of each part, from its polygon."""
    return tuple(
        PartTruth(
            face_mm2=float(part.polygon.area),
            perimeter_outer_mm=float(part.polygon.exterior.length),
            perimeter_holes_mm=float(sum(LinearRing(ring).length for ring in part.polygon.interiors)),
            thickness_mm=part.thickness_mm,
            holes=len(part.polygon.interiors),
        )
        for part in scene.parts
    )
