"""A part as described by a drawing, typed shapes or words, each field once, as in ``measure_request``."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from areakit.geometry.face_choice import FACES
from areakit.service.asked import About, Text
from areakit.service.measure_request import EDGE_FORM, FORM, REGIONS, THICKNESS

if TYPE_CHECKING:
    from areakit.geometry.features import Region
    from areakit.service.form_regions import RegionEntry


# fmt: off
def _length(help: str, default: str = "", *, example: str, kind: str = "length") -> About:
    shape = "ANGLE" if kind == "angle" else "LENGTH"
    return About(help, default, example=example, shape=shape, kind=kind, limit=True)


def _place(help: str, one: str = "") -> About:
    return About(help, shape="FILE|SHAPE", one=one)


def _relief(help: str, example: str = "") -> About:
    return About(help, example=example, shape="KIND|FACTOR")


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceRequest:
    """What to find the surfaces of, in the words of the bench; empty text stands for what was not given.

    ``keep``, ``stop_off``, ``significant`` and ``recess`` each take a file of outlines, a written shape, or a region in
    part coordinates [mm].
    """

    drawing: Path | None = None
    shapes: Annotated[tuple[str, ...], About(
        "Typed shape.", example=("disk 30 ± 0.1 mm",), shape="SHAPE", one="shape",
    )] = ()
    plus: Annotated[tuple[str, ...], About(
        "Plane shape joined to it.", example=("disk 8 mm",), shape="SHAPE",
    )] = ()
    minus: Annotated[tuple[str, ...], About(
        "Hole in it.", example=("disk 3 mm, count 4, circle 20 mm",), shape="SHAPE",
    )] = ()
    count: Annotated[int, About("Number of equal pieces.", shape="N")] = 1
    unit: Annotated[Text, About("Unit of a drawing that does not state its own.", example="mm", shape="UNIT")] = None
    sagitta: Annotated[str, _length(
        "How far a chord may lie from its curve.", "below 0.01 % of the area", example="0.001 mm",
    )] = ""
    edge: Annotated[str, _length("How far the real edge may lie from the drawing.", example="0.03 mm")] = ""
    form: Annotated[str, FORM] = ""
    folds: Annotated[str, About(
        'Fold lines of folded sheet: a file, or a layer of the drawing, as "layer folds"; the form then is folded, as '
        'in "folded, radius 1 mm".', example="folds.dxf", shape="FILE|LAYER",
    )] = ""
    regions: Annotated["tuple[RegionEntry, ...]", REGIONS] = ()
    edge_form: Annotated[str, EDGE_FORM] = ""
    thickness: Annotated[str, THICKNESS] = ""
    faces: Annotated[str, About("What is plated.", "front, a solid or a form all over", choices=FACES)] = ""
    keep: Annotated["tuple[str | Region, ...]", _place("Plate only inside this region.", one="mask")] = ()
    stop_off: Annotated["tuple[str | Region, ...]", _place(
        'Do not plate inside this region; "hole 2" plugs that hole of the drawing, wall and all.',
    )] = ()
    mask_sides: Annotated[str, About(
        "Where the regions to plate or to stop off lie.", choices=("front", "back", "both"),
    )] = "front"
    mask_edge: Annotated[str, _length(
        "How far their edges may lie from where they should.", "0.2 mm", example="0.1 mm",
    )] = ""
    overspill: Annotated[str, _length("How far plating spreads past their edges.", example="0.3 mm")] = ""
    significant: Annotated["str | Region", _place("The significant surface on the front.")] = ""
    recess: Annotated["tuple[str | Region, ...]", _place("A blind recess or engraved region.")] = ()
    recess_depth: Annotated[str, _length("Depth of the recess.", example="0.3 ± 0.05 mm")] = ""
    draft: Annotated[str, _length("Draft of the walls from upright.", example="3 deg", kind="angle")] = ""
    bevel: Annotated[str, About("Of the front edge.", example="0.5 mm x 45 deg", shape="H x ANGLE")] = ""
    dome_height: Annotated[str, _length("Rise of a domed front above its rim.", example="2 mm")] = ""
    hollow: Annotated[bool, About("The back follows the dome.")] = False
    rim: Annotated[str, About(
        "Raised rim: its width, and its height above the field.", example="1 mm x 0.3 mm", shape="W x H",
    )] = ""
    relief: Annotated[str, _relief("Of the front: struck, engraved, coin, or a factor.", "1.08 ± 0.02")] = ""
    back_relief: Annotated[str, _relief("Of the back, in the same words.")] = ""
    wall_relief: Annotated[str, _relief("Of the walls: thread, knurl, reeded, or a factor.", "thread")] = ""
    bend_radius: Annotated[str, _length(
        "Radius of the front of a bent strip that was drawn as seen.", example="9 ± 0.1 mm",
    )] = ""
    bend_axis: Annotated[str, About("Direction of the axis of the bend.", shape="ANGLE", kind="angle")] = "90 deg"
