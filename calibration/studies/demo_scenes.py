"""What lies on the sheet in each demo picture, how it is lit and photographed, and the truth file that goes with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from shapely.geometry import Polygon

from areakit.imaging.marks.frame_layout import FrameLayout, layouts
from calibration.studies import demo_shapes as shapes
from calibration.studies.demo_camera import USUAL_SENSOR, Camera, Sensor

MADE_BY = "calibration/studies/render_demo.py"
Colour = tuple[float, float, float]
PAPER: Colour = (0.84, 0.84, 0.83)


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoPart:
    """One part: its outline round its own origin, where that origin lies on the sheet, and its metal."""

    name: str
    outline: Callable[[], Polygon]
    metal: str
    centre_mm: tuple[float, float]
    turn_deg: float = 0.0
    roughness: float = 0.2
    roughness_across: float | None = None
    """Roughness at right angles to the sheet's x, where brushing made it another one."""
    ripple: float = 0.0
    """Strength of the unevenness of the shine; the shape itself stays flat."""

    def on_sheet(self) -> Polygon:
        return shapes.placed(self.outline(), self.centre_mm, self.turn_deg)


@dataclass(frozen=True, slots=True, kw_only=True)
class Light:
    """A room: ceiling, window, walls; and a desk lamp if its share is above 0."""

    ceiling: float = 1.0
    window: float = 9.0
    window_azimuth_deg: float = 200.0
    walls: float = 0.45
    swing: float = 0.25
    """How much brighter the walls are on the window's side, as a share."""
    lamp_share: float = 0.0
    """The lamp's illuminance at the field's middle, as a multiple of the paper's white under a ceiling of 1."""
    lamp_from_mm: tuple[float, float, float] = (-640.0, 300.0, 390.0)
    """Where the lamp stands: to the right, away from the viewer, up, from the middle of the sheet's field."""
    lamp_radius_mm: float = 36.0
    tint: Colour = (1.0, 0.985, 0.95)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """One demo picture."""

    name: str
    what: str
    sheet: str
    thickness_mm: float
    parts: tuple[DemoPart, ...]
    camera: Camera
    light: Light = Light()
    sensor: Sensor = USUAL_SENSOR
    field: str = "blue"
    field_srgb: tuple[int, int, int] | None = None
    """Colour of the printed field where it is not the usual one of that name."""
    paper: Colour = PAPER
    print_scale: tuple[float, float] = (1.0, 1.0)
    """Printed length over designed length, along x and y."""
    refused_because: str = ""
    seed: int = 1
    table: Colour = (0.36, 0.24, 0.15)
    form: str = ""
    """What the outlines are of, as it is typed; flat parts unless said."""
    ground: tuple[int, ...] = ()
    """Places that are asked about, by their numbers, and are bare ground in the shade."""
    exposure: float = 0.70
    """Linear value of the usual paper."""
    samples: int = 64

    @property
    def layout(self) -> FrameLayout:
        return layouts()[self.sheet]


def truth_toml(scene: Scene) -> str:
    """Return the truth file of a scene."""
    camera, (along, down) = scene.camera, scene.layout.check_lengths_mm
    lines = [
        f'made_by = "{MADE_BY}"',
        'note = "A path-traced drawing, not a photograph. The outlines are exact; light and camera are models."',
        'licence = "MIT"',
        f'what = "{scene.what}"',
        f'expected = "{"refused" if scene.refused_because else "measured"}"',
        *([f'why = "{scene.refused_because}"'] if scene.refused_because else []),
        f'sheet = "{scene.sheet}"',
        f'field = "{scene.field}"',
        f"check_lengths_mm = [{along}, {down}]",
        f'form = "{scene.form}"' if scene.form else f"thickness_mm = {scene.thickness_mm}",
        *([f"ground = {list(scene.ground)}"] if scene.ground else []),
        "",
        "[camera]",
        f"width_px = {camera.width_px}",
        f"height_px = {camera.height_px}",
        f"focal_length_35mm_mm = {camera.f35_mm}",
        f"focal_px = {camera.focal_px:.3f}",
        f"k1 = {camera.k1}",
        f"k2 = {camera.k2}",
        f"tilt_deg = {camera.tilt_deg}",
        f"height_mm = {camera.height_mm:.3f}",
        f"pixels_per_mm = {camera.focal_px / camera.distance_mm:.3f}",
        f"point_spread_sigma_px = {camera.psf_px}",
    ]
    for part in scene.parts:
        lines += ["", *_part_toml(part)]
    return "\n".join(lines) + "\n"


def _part_toml(part: DemoPart) -> list[str]:
    shape = part.on_sheet()
    surface = getattr(part, "surface_mm2", None)
    return [
        "[[parts]]",
        f'name = "{part.name}"',
        f'metal = "{part.metal}"',
        f"area_mm2 = {shape.area:.4f}",
        *([f"surface_mm2 = {surface:.4f}"] if surface else []),
        f"outer_perimeter_mm = {shape.exterior.length:.4f}",
        f"holes_perimeter_mm = {shapes.holes_perimeter_mm(shape):.4f}",
        f"holes = {len(shape.interiors)}",
        f"centre_mm = [{part.centre_mm[0]}, {part.centre_mm[1]}]",
        f"turn_deg = {part.turn_deg}",
    ]


def _view(size: tuple[int, int], distance_mm: float, aim_mm: tuple[float, float], **more: float) -> Camera:
    tilt = {"tilt_deg": 6.0, "tilt_towards_deg": 70.0, "roll_deg": 1.5, "k1": 0.02, "k2": -0.01, **more}
    return Camera(width_px=size[0], height_px=size[1], distance_mm=distance_mm, aim_mm=aim_mm, **tilt)


A4_MIDDLE = (130.0, 92.0)
A5_MIDDLE = (91.0, 64.5)
LARGE, USUAL = (3264, 2448), (2800, 2100)

FIVE = (
    DemoPart(name="washer", outline=shapes.washer, metal="copper", centre_mm=(58.0, 57.0), roughness=0.18),
    DemoPart(name="gear", outline=shapes.gear, metal="steel", centre_mm=(128.0, 58.0), turn_deg=9.0),
    DemoPart(name="drop", outline=shapes.drop, metal="gold", centre_mm=(199.0, 63.0), turn_deg=24.0, roughness=0.15),
    DemoPart(name="tag", outline=shapes.tag, metal="silver", centre_mm=(83.0, 122.0), turn_deg=-16.0, roughness=0.22),
    DemoPart(name="blossom", outline=shapes.blossom, metal="brass", centre_mm=(165.0, 121.0), turn_deg=35.0),
)

SIX_PLACES = ((75.0, 55.0, 6.0), (133.0, 61.0, -11.0), (191.0, 54.0, 3.0),
              (72.0, 118.0, -4.0), (130.0, 124.0, 14.0), (189.0, 119.0, -8.0))  # fmt: skip
SIX = tuple(
    DemoPart(name=f"tag {number}", outline=shapes.tag, metal="brass", centre_mm=(x, y), turn_deg=turn, roughness=0.2)
    for number, (x, y, turn) in enumerate(SIX_PLACES, 1)
)

SCENES = (
    Scene(
        name="foil-shape",
        what="A leaf cut from brass shim",
        sheet="A4-r1",
        thickness_mm=0.05,
        parts=(
            DemoPart(
                name="leaf", outline=shapes.leaf, metal="brass", centre_mm=(133.0, 88.0), turn_deg=-17.0,
                roughness=0.22, ripple=1.0,
            ),
        ),
        camera=_view(USUAL, 246.0, A4_MIDDLE, tilt_towards_deg=110.0, roll_deg=-2.0),
        light=Light(window_azimuth_deg=235.0),
        seed=11,
    ),
    Scene(
        name="pierced-badge",
        what="A pierced brass shield",
        sheet="A5-r1",
        thickness_mm=1.2,
        parts=(
            DemoPart(
                name="shield", outline=shapes.shield_badge, metal="brass", centre_mm=(90.0, 62.0), turn_deg=12.0,
                roughness=0.12, ripple=0.3,
            ),
        ),
        camera=_view(LARGE, 181.0, A5_MIDDLE, tilt_deg=7.0, tilt_towards_deg=60.0, roll_deg=2.5),
        light=Light(window_azimuth_deg=140.0),
        seed=12,
    ),
    Scene(
        name="thick-bracket",
        what="A steel bracket, 60 x 25 x 3 mm, two holes",
        sheet="A4-r1",
        thickness_mm=3.0,
        parts=(
            DemoPart(
                name="bracket", outline=shapes.bracket, metal="steel", centre_mm=(184.0, 52.0), turn_deg=-21.0,
                roughness=0.25, ripple=0.3,
            ),
        ),
        camera=_view(LARGE, 244.0, A4_MIDDLE, tilt_deg=9.0, tilt_towards_deg=-75.0, roll_deg=-1.0, k1=-0.03, k2=0.02),
        light=Light(window_azimuth_deg=60.0),
        table=(0.30, 0.30, 0.31),
        seed=13,
    ),
    Scene(
        name="several-parts",
        what="Five parts of five metals, all 1 mm thick",
        sheet="A4-r1",
        thickness_mm=1.0,
        parts=FIVE,
        camera=_view(USUAL, 245.0, A4_MIDDLE, tilt_deg=5.0, tilt_towards_deg=95.0, roll_deg=0.8),
        light=Light(window_azimuth_deg=160.0),
        seed=14,
    ),
    Scene(
        name="six-tags",
        what="Six equal tags of brass, 0.8 mm thick",
        sheet="A4-r1",
        thickness_mm=0.8,
        parts=SIX,
        camera=_view(USUAL, 246.0, A4_MIDDLE, tilt_deg=4.0, tilt_towards_deg=100.0, roll_deg=1.2),
        light=Light(window_azimuth_deg=200.0),
        seed=19,
    ),
    Scene(
        name="hard-shadow",
        what="A steel angle plate under a desk lamp that throws a hard shadow",
        sheet="A4-r1",
        thickness_mm=2.0,
        parts=(
            DemoPart(
                name="angle plate", outline=shapes.angle_plate, metal="steel", centre_mm=(132.0, 90.0), turn_deg=18.0,
                roughness=0.35, ripple=0.3,
            ),
        ),
        camera=_view(USUAL, 246.0, A4_MIDDLE, tilt_deg=6.0, tilt_towards_deg=80.0, roll_deg=-1.6),
        light=Light(ceiling=0.4, window=0.3, walls=0.22, lamp_share=1.6, tint=(1.0, 0.94, 0.84)),
        table=(0.30, 0.30, 0.31),
        seed=15,
    ),
    Scene(
        name="refused-crossing",
        what="A copper strap that lies across the marker frame",
        sheet="A4-r1",
        thickness_mm=1.0,
        parts=(DemoPart(name="strap", outline=shapes.strap, metal="copper", centre_mm=(206.0, 84.0), turn_deg=14.0),),
        camera=_view(USUAL, 246.0, A4_MIDDLE, tilt_deg=5.0, tilt_towards_deg=120.0, roll_deg=1.0),
        light=Light(window_azimuth_deg=210.0),
        refused_because="The part reaches over the edge of the sheet's field and covers marks.",
        seed=16,
    ),
    Scene(
        name="refused-blurred",
        what="A nickel cam disc, badly out of focus",
        sheet="A4-r1",
        thickness_mm=1.5,
        parts=(DemoPart(name="cam disc", outline=shapes.cam_disc, metal="nickel", centre_mm=(128.0, 88.0)),),
        camera=_view((2600, 1950), 246.0, A4_MIDDLE, tilt_deg=7.0, tilt_towards_deg=75.0, psf_px=6.0),
        light=Light(window_azimuth_deg=180.0),
        refused_because="The picture is blurred: its edges spread over about 6 px.",
        seed=17,
        samples=36,
    ),
    Scene(
        name="white-field",
        what="A trefoil of copper shim on the white sheet",
        sheet="A4-r1",
        thickness_mm=0.1,
        parts=(
            DemoPart(
                name="trefoil", outline=shapes.trefoil, metal="copper", centre_mm=(131.0, 92.0), turn_deg=20.0,
                roughness=0.22, ripple=0.3,
            ),
        ),
        camera=_view(USUAL, 246.0, A4_MIDDLE, tilt_deg=7.0, tilt_towards_deg=65.0, roll_deg=-0.8),
        light=Light(window_azimuth_deg=215.0),
        field="white",
        seed=18,
    ),
)  # fmt: skip
