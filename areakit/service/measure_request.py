"""What can be asked of a photo, each field once: options, query, tables and Python's words are made from it.

Annotations are read while the program runs, so they are no text here but for types that a request only carries.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from areakit.geometry.face_choice import FACES
from areakit.service.asked import About, Text, Texts

if TYPE_CHECKING:
    from areakit.imaging.lens import Lens
    from areakit.imaging.scale import CheckReading
    from areakit.service.form_regions import RegionEntry


# fmt: off
def _edge_makes() -> Iterable[str]:
    from areakit.geometry.edge_makes import edge_makes  # reads a table

    return edge_makes()


THICKNESS = About(
    "Thickness of the part.", "of a photo anything up to 2 mm, which its uncertainty covers; no side walls then",
    example="1.2 ± 0.05 mm", shape="T", kind="length", limit=True, each=True,
)
FORM = About(
    "What the outline is of: round, turned, band, tube, folded, bent, domed, coil, thread, knurl, reeding, mesh or "
    "chain, with its figures; round ones in a photo dull or polished.", "flat",
    example="turned, wall 1 mm, open wide", shape="FORM", each=True,
)
REGIONS = About(
    "A region with a form or thickness of its own: a shape or a file of outlines in mm of the sheet, or a layer of "
    "a drawing; then its words.", example=("rectangle 3 x 20 mm, at 80 60 mm: form round, ends flat",),
    shape="PLACE: WORDS", one="region",
)
EDGE_FORM = About(
    "Form of the edges of a flat part, the same on both faces: sharp, rounded with its radius, or unknown. On a sheet "
    "without colour an edge of which nothing is said counts as broken by up to 0.6 mm.",
    "sharp", example="rounded 0.5 mm", shape="FORM", each=True,
)
_PLACE = "by its number on the picture, or by a point: x,y in mm of the sheet."


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureRequest:
    """What to do with each photo, as text from the bench.

    ``reading`` is that of the check lengths from the record of a sheet copy; ``lenses`` are stored ones (``areakit
    lens-check``): a photo whose camera has one is measured with it.
    """

    thickness: Annotated[Text, THICKNESS] = None
    form: Annotated[Text, FORM] = None
    parts: Annotated[Texts, About(
        "What one part has of its own.", example=("2: thickness 0.3 mm; form round; edge-make cast",),
        shape="N: WORDS", one="part",
    )] = ()
    regions: Annotated["tuple[RegionEntry, ...]", REGIONS] = ()
    faces: Annotated[str, About(
        "What is plated: one (or front, back) face, both faces, the walls, all of these; front-and-edges is one face "
        "and the cut "
        "edge.", "one face of a flat part, all of another form", choices=FACES, each=True,
    )] = ""
    edge_make: Annotated[str, About(
        "How the edge was made, for what no photo shows of it: cut-foil, sawn, sheared, punched, cast, etched, "
        "tumbled.", "unknown", shape="NAME", choices=_edge_makes, each=True,
    )] = ""
    edge_form: Annotated[str, EDGE_FORM] = ""
    mark: Annotated[str, About(
        'Which scale mark to use: auto, frame (of a scale sheet), A4, letter, A5, scan, card, coin:eur-1, "coin:25.75 '
        'mm", several coins '
        'as "coin:eur-1@1200,800; coin:eur-2@400,300", "taps:x1,y1,x2,y2,100 mm", "ruler:x1,y1,x2,y2,100 mm", '
        '"chequer:9x7,30 mm", "markers:6x6,4x5,37.5 mm,5 mm". Taps and places are pixels of the upright photo; a '
        'chequerboard counts its inner corners, and says its square: "30.02 ± 0.02 mm" if you measured it, which takes '
        "away the share of a sheet copy that nobody measured.", shape="MARK",
    )] = "auto"
    check_lengths: Annotated[Text, About(
        "Both check lengths of the printed sheet, along x and along y, as read with a ruler; or card, where a card of "
        "85.60 x 53.98 mm (ISO/IEC 7810, ID-1) lies in the field to tell its size, coin:eur-1 or "
        '"coin:25.75 mm" where a coin does.', example="200.2 x 119.9 mm", shape="X x Y",
    )] = None
    holes: Annotated[Texts, About(f"A place that is a hole, {_PLACE}", shape="X,Y|N", one="hole")] = ()
    metal: Annotated[Texts, About(f"A place that is metal, {_PLACE}", shape="X,Y|N")] = ()
    stop_off: Annotated[Texts, About(
        f"What is stopped off on the front: a place of another colour, {_PLACE[:-1]}; or any shape, or a file of "
        "outlines.", example=("disk 6 mm, at 104 66 mm",), shape="X,Y|N|SHAPE",
    )] = ()
    reading: "CheckReading | None" = None
    lenses: "tuple[Lens, ...]" = ()
