"""The lines of one face: flat area, dome, masks, overspill, recesses, rim, relief."""

from __future__ import annotations

from shapely.geometry import Polygon

from areakit.errors import RangeError
from areakit.flags import Flag, flag
from areakit.geometry.edge_forms import face_extra
from areakit.geometry.features import Basis, Mask, Region, Side, SurfaceLine, dome_extra
from areakit.geometry.masking import Clear, clear_area, overspill
from areakit.geometry.part import Part
from areakit.uncertainty import Measured, propagate, total


def face_lines(part: Part, side: Side) -> tuple[list[SurfaceLine], list[Flag]]:
    """Return every line of the front or of the back; they add up to what is plated there."""
    polygon, flat = flat_face(part, side)
    if polygon is None:
        return [], []
    measured: Basis = "measured" if part.outline.origin in {"photo", "scan"} else "computed"
    book = _Book(part, side)
    book.add("face", measured, flat)
    flags = book.masks(polygon, flat)
    if part.dome is not None and side in part.dome.sides:
        extra, is_round = dome_extra(part.outline, part.dome)
        book.add("dome, more than flat", "computed", extra.times(book.free_portion))
        flags += [] if is_round else [flag("DOME_SHAPE_ASSUMED")]
    rounding = face_extra(part.outline, part.thickness, part.edge_form) if part.thickness is not None else None
    if rounding is not None:
        book.add("rounded edge, more than flat", "computed", rounding.times(book.free_portion))
    if side == "front":
        book.recesses_and_rim()
    book.relief()
    return book.lines, flags


def flat_face(part: Part, side: Side) -> tuple[Polygon | None, Measured]:
    """Return region and area of a face before anything is added: the front of a taper is smaller, of a bend longer."""
    outline = part.outline
    if part.taper is not None and side == "front":
        return part.taper.front, part.taper.front_area
    if part.bend_radius is not None and part.thickness is not None and side == "back":
        inner = propagate(lambda a, t, r: a * (1.0 - t / r), outline.area, part.thickness, part.bend_radius, unit="mm2")
        return outline.polygon, inner
    return outline.polygon, outline.area


def masks_of(part: Part, side: Side) -> list[Mask]:
    """Return the masks that lie on one side."""
    return [mask for mask in part.masks if side in mask.sides]


def significant_area(part: Part) -> Measured | None:
    """Return the area of the significant surface on the front, with dome and relief in proportion. [mm2]

    Raises RangeError if the region does not touch the front.
    """
    if part.significant is None:
        return None
    polygon, flat = flat_face(part, "front")
    mark = Mask(region=part.significant, keep=True)
    clear = clear_area(polygon, flat, [mark]) if polygon is not None else None
    if clear is None or clear.area.value <= 0.0:
        raise RangeError(
            "The significant surface does not touch the front of the part.", remedy="Give it in part coordinates."
        )
    terms = [clear.area]
    if part.dome is not None and "front" in part.dome.sides:
        terms.append(dome_extra(part.outline, part.dome)[0].times(clear.area.value / flat.value))
    area = total(terms, "mm2")
    relief = part.relief.get("front")
    return area if relief is None else propagate(lambda a, f: a * f, area, relief.factor, unit="mm2")


class _Book:
    """Collects the lines of one face."""

    def __init__(self, part: Part, side: Side) -> None:
        self.lines: list[SurfaceLine] = []
        self.free_portion = 1.0
        self._part = part
        self._side = side
        self._clear: Clear | None = None

    def add(self, name: str, basis: Basis, area: Measured, *, plated: bool = True) -> None:
        """Add one line; it is plated where its side is."""
        self.lines.append(
            SurfaceLine(
                name=f"{self._side} {name}",
                side=self._side,
                basis=basis,
                area=area,
                plated=plated and self._side in self._part.sides,
            )
        )

    def masks(self, polygon: Polygon, flat: Measured) -> list[Flag]:
        """Take away what is masked, and add the overspill."""
        masks = masks_of(self._part, self._side)
        if not masks:
            return []
        clear = self._clear = clear_area(polygon, flat, masks)
        self.free_portion = clear.region.area / polygon.area
        self.add("stopped off", "computed", propagate(lambda free, a: free - a, clear.area, flat, unit="mm2"))
        if self._part.overspill is not None:
            self.add("overspill at the masks", "allowance", overspill(polygon, clear, self._part.overspill))
        return [
            flag("MASK_MISSES", mask=f"Mask {number}", side=self._side)
            for number, mask in enumerate(masks, start=1)
            if not polygon.intersects(mask.region)
        ]

    def recesses_and_rim(self) -> None:
        """Add the walls of blind recesses, and the inner wall of a raised rim."""
        for number, recess in enumerate(self._part.recesses, start=1):
            wall = propagate(lambda p, d: p * d, recess.perimeter, recess.depth, unit="mm2")
            self.add(f"recess wall {number}", "computed", wall, plated=self._is_free(recess.region))
        if self._part.rim is not None:
            self.add("rim, inner wall", "computed", _rim_wall(self._part))

    def relief(self) -> None:
        """Add what relief makes of all that is plated on this face."""
        relief = self._part.relief.get(self._side)
        if relief is None:
            return
        flat = total([line.area for line in self.lines if "wall" not in line.name], "mm2")
        self.add("relief", "allowance", propagate(lambda a, f: a * (f - 1.0), flat, relief.factor, unit="mm2"))

    def _is_free(self, region: Region) -> bool:
        return self._clear is None or self._clear.region.intersects(region.representative_point())


def _rim_wall(part: Part) -> Measured:
    """Return the inner wall of a rim: its height times the length of the outer ring, taken in by its width."""
    from areakit.geometry.differences import differenced

    assert part.rim is not None
    shell = Polygon(part.outline.polygon.exterior)

    def wall(width: float, height: float) -> list[float]:
        inside = shell.buffer(-width, quad_segs=64)
        if inside.is_empty:
            raise RangeError(f"A rim {width:.3g} mm wide leaves no field.", remedy="Check the width of the rim.")
        return [inside.boundary.length * height]

    (area,) = differenced(wall, [part.rim.width, part.rim.height], ["mm2"])
    whole = part.outline.perimeter_outer
    return propagate(lambda a, p: a * p / whole.value, area, whole, unit="mm2")
