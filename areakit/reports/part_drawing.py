"""A part on a printed page, true to scale: its outline with marks and rulers, stroke lanes, a thickness map."""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, cos, sin

import numpy as np
from reportlab.lib.colors import Color, HexColor, white
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from areakit.plating.distribution import ThicknessMap
from areakit.plating.strokes import StrokePlan
from areakit.reports.bands import Bands, Floats, choose_bands, thickness_raster
from areakit.reports.document import INK, RED, SOFT
from areakit.reports.drawing import ruler_figures, ruler_step
from areakit.reports.fonts import Typeface
from areakit.reports.job_facts import JobFacts, MarkFacts, Ring
from areakit.reports.part_outline import SCALES, scale_words

METAL = Color(0.90, 0.88, 0.83)
BLUE = Color(0.10, 0.30, 0.62)
_LEGEND = 30 * mm


class OutlineDrawing(Flowable):
    """The outline true to scale with defects, test places and a scale bar, y upwards.

    ``ruled`` puts its millimetres along the left and the lower edge, as a place is typed.
    """

    def __init__(
        self,
        rings: Sequence[Ring],
        marks: Sequence[MarkFacts],
        *,
        room: tuple[float, float],
        face: Typeface,
        around: Sequence[tuple[float, float]] = (),
        ruled: bool = False,
    ) -> None:
        super().__init__()
        self.rings, self.marks, self.face = rings, marks, face
        self.ruled, self.left = ruled, 8.08 * mm if ruled else 3 * mm
        places = [*(around or rings[0]), *(point for mark in marks for point in mark.points)]
        xs, ys = zip(*places, strict=True)
        self.low, self.high = (min(xs), min(ys)), (max(xs), max(ys))
        wide, tall = self.high[0] - self.low[0], self.high[1] - self.low[1]
        inner = ((room[0] - self.left) / mm - 5, room[1] / mm - 12)
        fits = (s for s in SCALES if wide * s <= inner[0] and tall * s <= inner[1])
        self.scale = next(fits, SCALES[-1])
        self.width, self.height = room[0], max(tall * self.scale + 12, 20) * mm

    def at(self, point: tuple[float, float]) -> tuple[float, float]:
        """Return where a point of the outline [mm] lies on the page."""
        k = self.scale * mm
        return self.left + (point[0] - self.low[0]) * k, self.height - 3 * mm - (self.high[1] - point[1]) * k

    def draw(self) -> None:
        """Draw it."""
        canvas: Canvas = self.canv
        canvas.setStrokeColor(INK)
        canvas.setFillColor(METAL)
        canvas.setLineWidth(0.5)
        canvas.drawPath(self.path(self.rings), stroke=1, fill=1, fillMode=0)
        for mark in self.marks:
            self._mark(canvas, mark)
        if self.ruled:
            self._rulers(canvas)
        self._bar(canvas)

    def path(self, rings: Sequence[Ring]) -> object:
        """Return rings as one path."""
        path = self.canv.beginPath()
        for ring in rings:
            points = [self.at(point) for point in ring]
            path.moveTo(*points[0])
            for point in points[1:]:
                path.lineTo(*point)
            path.close()
        return path

    def _mark(self, canvas: Canvas, mark: MarkFacts) -> None:
        colour = RED if mark.defect else BLUE
        canvas.setStrokeColor(colour)
        canvas.setLineWidth(0.9)
        x, y = self.at(mark.points[0])
        if len(mark.points) > 1:
            canvas.setFillColor(Color(colour.red, colour.green, colour.blue, alpha=0.15))
            canvas.drawPath(self.path([mark.points]), stroke=1, fill=1)
        elif mark.defect:
            canvas.circle(x, y, 1.3 * mm, stroke=1, fill=0)
        else:
            canvas.line(x - 1.4 * mm, y, x + 1.4 * mm, y)
            canvas.line(x, y - 1.4 * mm, x, y + 1.4 * mm)
        canvas.setFont(self.face.bold, 6.5)
        width = stringWidth(mark.sign, self.face.bold, 6.5)
        canvas.setFillColor(Color(1, 1, 1, alpha=0.8))
        canvas.rect(x + 1.5 * mm, y + 0.6 * mm, width + 1, 6, stroke=0, fill=1)
        canvas.setFillColor(colour)
        canvas.drawString(x + 1.6 * mm, y + 0.9 * mm, mark.sign)

    def _rulers(self, canvas: Canvas) -> None:
        canvas.setStrokeColor(SOFT)
        canvas.setFillColor(SOFT)
        canvas.setLineWidth(0.3)
        canvas.setFont(self.face.regular, 5)
        step, (x0, y0) = ruler_step(8.0 / self.scale), self.at(self.low)
        for figure in ruler_figures(self.low[0], self.high[0], step):
            x = self.at((figure, 0.0))[0]
            canvas.line(x, y0 - 1 * mm, x, y0 - 1.8 * mm)
            canvas.drawCentredString(x, y0 - 3.6 * mm, f"{figure:g}")
        for figure in ruler_figures(self.low[1], self.high[1], step):
            y = self.at((0.0, figure))[1]
            canvas.line(x0 - 1 * mm, y, x0 - 1.8 * mm, y)
            canvas.drawRightString(x0 - 2.1 * mm, y - 1.7, f"{figure:g}")

    def _bar(self, canvas: Canvas) -> None:
        length = next((n for n in (50, 20, 10, 5, 2, 1) if n * self.scale * mm <= self.width / 2), 1)
        x, y = 3 * mm, 3.2 * mm
        end = x + length * self.scale * mm
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.8)
        canvas.line(x, y, end, y)
        for place in (x, end):
            canvas.line(place, y - 1 * mm, place, y + 1 * mm)
        canvas.setFillColor(SOFT)
        canvas.setFont(self.face.regular, 7)
        canvas.drawString(end + 2 * mm, y - 2.4, f"{length} mm; drawn {scale_words(self.scale)}")


def rings_of(polygon: object) -> tuple[Ring, ...]:
    """Return a polygon's rings as lists of points."""
    outer = getattr(polygon, "exterior").coords  # noqa: B009
    holes = getattr(polygon, "interiors")  # noqa: B009
    return tuple([(float(x), float(y)) for x, y in ring] for ring in (outer, *(hole.coords for hole in holes)))


class LanesDrawing(OutlineDrawing):
    """The lanes of one pass, numbered at their starts; lifts dashed."""

    def __init__(
        self,
        plan: StrokePlan,
        marks: Sequence[MarkFacts],
        *,
        room: tuple[float, float],
        face: Typeface,
        ruled: bool = False,
    ) -> None:
        self.plan = plan
        rings = rings_of(plan.polygon)
        corners = [move.start for move in plan.moves] + [move.end for move in plan.moves]
        super().__init__(rings, marks, room=room, face=face, around=(*corners, *rings[0]), ruled=ruled)

    def draw(self) -> None:
        """Draw outline, lanes, lifts and numbers."""
        super().draw()
        canvas: Canvas = self.canv
        number = 0
        for move in self.plan.moves:
            start, end = self.at(move.start), self.at(move.end)
            canvas.setStrokeColor(BLUE if move.kind != "lift" else SOFT)
            canvas.setDash([2, 2] if move.kind == "lift" else [])
            canvas.setLineWidth(1.0 if move.kind == "lane" else 0.5)
            canvas.line(*start, *end)
            if move.kind == "lane":
                number += 1
                _arrow(canvas, start, end)
                _number(canvas, start, str(number), self.face)
        canvas.setDash([])


def lanes_words(plan: StrokePlan, facts: JobFacts) -> tuple[str, ...]:
    """Return what lanes are drawn, and how evenly the passes of the plan lie: scattered, not one repeated exactly."""
    brush = plan.brush
    drawn = (
        f"One pass: {len(plan.lanes)} lanes, {plan.lifts} lifts, brush footprint {brush.footprint_width_mm:.3g} × "
        f"{brush.footprint_length_mm:.3g} mm, overlap {brush.overlap * 100:.0f} %, {plan.seconds_per_pass:.2g} s a "
        "face."
    )
    if not facts.allowances:
        even = f"{plan.minimum_over_mean:.2f}" if plan.minimum_over_mean > 0.0 else "nothing"
        return drawn, f"One pass alone leaves {even} of the mean where it is thinnest; start each pass elsewhere."
    told = ", ".join(f"{metal} {words}" for metal, words in facts.allowances)
    return drawn, f"Lanes of a hand scatter. Mean over minimum in the plan: {told}."


def _arrow(canvas: Canvas, start: tuple[float, float], end: tuple[float, float]) -> None:
    angle = atan2(end[1] - start[1], end[0] - start[0])
    x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    path = canvas.beginPath()
    path.moveTo(x + 2.6 * cos(angle), y + 2.6 * sin(angle))
    path.lineTo(x + 2.6 * cos(angle + 2.5), y + 2.6 * sin(angle + 2.5))
    path.lineTo(x + 2.6 * cos(angle - 2.5), y + 2.6 * sin(angle - 2.5))
    path.close()
    canvas.setFillColor(BLUE)
    canvas.drawPath(path, stroke=0, fill=1)


def _number(canvas: Canvas, place: tuple[float, float], text: str, face: Typeface) -> None:
    canvas.setDash([])
    canvas.setFillColor(white)
    canvas.circle(*place, 3.6, stroke=1, fill=1)
    canvas.setFillColor(INK)
    canvas.setFont(face.regular, 5)
    canvas.drawCentredString(place[0], place[1] - 1.8, text)


class ThicknessDrawing(OutlineDrawing):
    """Local over mean thickness in bands, with its legend and its place of the minimum."""

    def __init__(self, thickness: ThicknessMap, *, room: tuple[float, float], face: Typeface) -> None:
        super().__init__(rings_of(thickness.polygon), (), room=(room[0] - _LEGEND, room[1]), face=face)
        self.thickness = thickness
        self.bands = choose_bands(thickness.ratio, thickness.areas)
        self.height = max(self.height, (len(self.bands.limits) * 4 + 16) * mm)

    def draw(self) -> None:
        """Draw the map inside the outline, the outline, the place of the minimum, the legend."""
        canvas: Canvas = self.canv
        canvas.saveState()
        canvas.clipPath(self.path(self.rings), stroke=0, fill=0, fillMode=0)
        values, corner, cell = thickness_raster(self.thickness, 160)
        size = cell * self.scale * mm
        picture = _picture(values[::-1], self.bands)
        x, y = self.at((float(corner[0]), float(corner[1])))
        canvas.drawImage(picture, x, y, width=values.shape[1] * size, height=values.shape[0] * size)
        canvas.restoreState()
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.5)
        canvas.drawPath(self.path(self.rings), stroke=1, fill=0)
        canvas.setStrokeColor(RED)
        canvas.setLineWidth(1.1)
        canvas.circle(*self.at(self.thickness.minimum_at_mm), 1.2 * mm, stroke=1, fill=0)
        self._legend(canvas)
        self._bar(canvas)

    def _legend(self, canvas: Canvas) -> None:
        x = 3 * mm + (self.high[0] - self.low[0]) * self.scale * mm + 6 * mm
        y = self.height - 4 * mm
        canvas.setFont(self.face.regular, 7)
        canvas.setFillColor(INK)
        canvas.drawString(x, y, "local / mean")
        for colour, label in zip(reversed(self.bands.colours), reversed(self.bands.labels()), strict=True):
            y -= 4 * mm
            canvas.setFillColor(HexColor(colour))
            canvas.rect(x, y, 5 * mm, 4 * mm, stroke=0, fill=1)
            canvas.setFillColor(INK)
            canvas.drawString(x + 6.5 * mm, y + 1.1 * mm, label)
        canvas.setStrokeColor(RED)
        canvas.circle(x + 2.5 * mm, y - 3.5 * mm, 1.2 * mm, stroke=1, fill=0)
        canvas.drawString(x + 6.5 * mm, y - 4.3 * mm, "minimum")


def _picture(values: Floats, bands: Bands) -> object:
    """Return the cells as a picture, each in the colour of its band."""
    import io

    from PIL import Image
    from reportlab.lib.utils import ImageReader

    colours = np.array([[int(c[i : i + 2], 16) for i in (1, 3, 5)] for c in bands.colours], dtype=np.uint8)
    level = np.clip(np.searchsorted(bands.limits, np.nan_to_num(values, nan=-1.0), side="right") - 1, 0, None)
    stream = io.BytesIO()
    Image.fromarray(colours[level]).save(stream, "PNG")
    stream.seek(0)
    return ImageReader(stream)
