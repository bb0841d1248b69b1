"""A labelled drawing of one or more parts as SVG: faces, walls, masks and holes, each with its area."""

from __future__ import annotations

import math
from collections.abc import Sequence

from areakit.geometry.export import region_path
from areakit.geometry.faces import flat_face, masks_of
from areakit.geometry.features import Side, SurfaceLine
from areakit.geometry.forms.words import PLATED
from areakit.geometry.masking import face_regions
from areakit.geometry.outline import hole_areas
from areakit.geometry.part import Part
from areakit.geometry.regions import forms_word, polygons_of
from areakit.geometry.surface import Surface, grouped_lines
from areakit.reports.drawing import ruler_figures, ruler_step
from areakit.reports.drawing_page import INK, MUTED, Page
from areakit.reports.markup import escape
from areakit.uncertainty import total
from areakit.units import show, show_found

_PAGE_MM = 210.0
_EDGE_MM = 10.0
_VIEW_MM = 80.0
_GAP_MM = 8.0
_TITLE_MM = 145.0
"""Size of a title of one letter that fits beside the view."""
_FIGURE_MM = 7.0
"""Least distance of two figures along a ruler."""
_TABLE_X = 110.0
_WALL_LENGTH_MM = 80.0
_MOST_HOLE_LABELS = 40
_MOST_HOLES_LISTED = 12
_MOST_SMALL_LABELS = 8
_FACES = {
    "one": "front",
    "front": "front",
    "back": "back",
    "both": "both faces",
    "walls": "walls",
    "all": "all over",
    "front-and-edges": "front and edges",
}

_PLATED = "#f3cf73"
_BARE = "#e9ebee"
_SPILL = "#ef8b4c"
_SIGNIFICANT = "#1f5fbf"
_REGION = "#8a3d0f"


def surface_drawing(parts: Sequence[tuple[str, Part, Surface]]) -> str:
    """Return the drawing of all parts, one below the other, as SVG text; lengths on the page are mm.

    - ``parts``: title, part, and its surfaces.
    """
    page = Page(width=_PAGE_MM)
    y = _EDGE_MM + 4.0
    for title, part, surface in parts:
        y = _draw_part(page, (title, part, surface), y) + 10.0
    return page.svg(height=y)


def _draw_part(page: Page, described: tuple[str, Part, Surface], y: float) -> float:
    """Draw one part from ``y`` down; return where it ends."""
    title, part, surface = described
    page.text(_EDGE_MM, y, title, size=5.0, weight="bold")
    words = f"plated ({_faces(part)}): {show(surface.plated)}"
    page.text(_TABLE_X, y, words, size=min(4.0, _TITLE_MM / len(words)), weight="bold")
    scale = _scale(part)
    views = y + 5.0
    bottom = _face_view(page, part, "front", scale=scale, top=views, words=_face_words(surface, "front"))
    if "back" in part.sides and bool(masks_of(part, "back")):
        bottom = _face_view(page, part, "back", scale=scale, top=bottom + _GAP_MM, words=_face_words(surface, "back"))
    bottom = _scale_bar(page, scale, bottom + 4.0)
    walls = _walls_view if part.form is None and not part.regions else _unrolled_view
    bottom = walls(page, part, surface, y=bottom + 6.0)
    table = _table(page, surface, views + 3.0)
    return max(bottom, _key(page, part, table + 6.0))


def _faces(part: Part) -> str:
    if part.form is None and not part.regions:
        return _FACES[part.faces]
    return f"{forms_word(part.form, part.regions)}, {PLATED[part.faces]}"


def _unrolled_view(page: Page, part: Part, surface: Surface, *, y: float) -> float:
    """Draw the outside of a part with a form laid flat, and list what the form found."""
    if surface.unrolled is not None:
        left, low, right, high = surface.unrolled.bounds
        scale = _round_scale(min(_WALL_LENGTH_MM / (right - left), 60.0 / (high - low)))
        size = f"{right - left:.4g} x {high - low:.4g} mm"
        words = f"outside laid flat, girth across: {size}, {_ratio(scale)}"
        page.text(_EDGE_MM, y, words, size=3.2, colour=MUTED)
        y += 2.0
        plated = _PLATED if "front" in part.sides else _BARE
        page.shape(
            region_path(surface.unrolled, scale), (_EDGE_MM - left * scale, y + high * scale), fill=plated, line=INK
        )
        y += (high - low) * scale + 5.0
    for name, figure in surface.figures.items():
        page.text(_EDGE_MM, y, f"{name}: {show_found(figure)}", size=2.8)
        y += 4.0
    return y


def _scale(part: Part) -> float:
    """Return page mm per part mm: a round figure at which the front fits its box."""
    left, low, right, high = part.outline.polygon.bounds
    return _round_scale(_VIEW_MM / max(right - left, high - low))


def _round_scale(raw: float) -> float:
    decade = 10.0 ** math.floor(math.log10(raw))
    return decade * max(step for step in (1.0, 2.0, 2.5, 4.0, 5.0) if step * decade <= raw * (1.0 + 1e-9))


def _face_words(surface: Surface, side: Side) -> str:
    plated = [line.area for line in surface.lines if line.side == side and line.plated]
    name = "back, seen through from the front" if side == "back" else side
    return f"{name}: {show(total(plated, 'mm2'))}" if plated else f"{name}: not plated"


def _face_view(page: Page, part: Part, side: Side, *, scale: float, top: float, words: str) -> float:
    """Draw one face with its masks and holes; return its lower edge."""
    base = part.outline.polygon
    left, low, right, high = base.bounds
    place = (_EDGE_MM - left * scale, top + 5.0 + high * scale)
    width, bottom = (right - left) * scale, top + 5.0 + (high - low) * scale
    page.text(_EDGE_MM, top + 2.5, f"{words}, {_ratio(scale)}", size=3.2, colour=MUTED)
    page.shape(region_path(base, scale), place, fill=_BARE, line=INK)
    polygon, _ = flat_face(part, side)
    if polygon is not None:
        margin = part.overspill.value if part.overspill is not None else 0.0
        cut = face_regions(polygon, masks_of(part, side), margin)
        plated = side in part.sides
        page.shape(region_path(cut.free, scale), place, fill=_PLATED if plated else _BARE, line=INK)
        page.shape(region_path(cut.spill, scale), place, fill=_SPILL if plated else _BARE)
        page.shape(region_path(cut.masked, scale), place, fill="url(#stopped)", line=INK)
    if side == "front":
        _marks_on_front(page, part, scale=scale, place=place)
    _hole_labels(page, part, scale=scale, place=place)
    _rulers(page, base.bounds, scale=scale, place=place)
    page.dimension((_EDGE_MM, _EDGE_MM + width), bottom + 8.0, f"{right - left:.4g} mm")
    return bottom + 10.0


def _rulers(page: Page, bounds: tuple[float, float, float, float], *, scale: float, place: tuple[float, float]) -> None:
    """Draw the part's own millimetres below a view and to the left of it, as options take a place."""
    left, low, right, high = bounds
    step = ruler_step(_FIGURE_MM / scale)
    x0, y0 = place[0] + left * scale - 1.2, place[1] - low * scale + 1.2
    page.line((place[0] + left * scale, y0), (place[0] + right * scale, y0), width=0.15, colour=MUTED)
    page.line((x0, place[1] - high * scale), (x0, place[1] - low * scale), width=0.15, colour=MUTED)
    for figure in ruler_figures(left, right, step):
        x = place[0] + figure * scale
        page.line((x, y0), (x, y0 + 1.0), width=0.15, colour=MUTED)
        page.text(x, y0 + 3.2, f"{figure:g}", size=2.2, colour=MUTED, anchor="middle")
    for figure in ruler_figures(low, high, step):
        y = place[1] - figure * scale
        page.line((x0 - 1.0, y), (x0, y), width=0.15, colour=MUTED)
        page.text(x0 - 1.4, y + 0.8, f"{figure:g}", size=2.2, colour=MUTED, anchor="end")


def _marks_on_front(page: Page, part: Part, *, scale: float, place: tuple[float, float]) -> None:
    for number, one in enumerate(part.regions, start=1):
        pieces = polygons_of(one.region.intersection(part.outline.polygon))
        if not pieces:
            continue
        outline = " ".join(region_path(piece, scale) for piece in pieces)
        page.shape(outline, place, fill="none", line=_REGION, width=0.4)
        spot = pieces[0].representative_point()
        page.text(place[0] + spot.x * scale, place[1] - spot.y * scale + 1.0, f"region {number}", size=2.6,
                  colour=_REGION, anchor="middle")  # fmt: skip
    for recess in part.recesses:
        page.shape(region_path(recess.region, scale), place, fill="#d9a93a", line=INK)
    if part.significant is not None:
        page.shape(region_path(part.significant, scale), place, fill="none", line=_SIGNIFICANT, dash="2 1.2", width=0.5)


def _hole_labels(page: Page, part: Part, *, scale: float, place: tuple[float, float]) -> None:
    """Number the holes, as the table does."""
    holes = part.outline.polygon.interiors
    if not 0 < len(holes) <= _MOST_HOLE_LABELS:
        return
    for number, ring in enumerate(holes, start=1):
        left, low, right, high = ring.bounds
        size = min(3.2, 0.8 * scale * min(right - left, high - low))
        x, y = place[0] + (left + right) / 2.0 * scale, place[1] - (low + high) / 2.0 * scale
        if size < 1.8 and len(holes) > _MOST_SMALL_LABELS:
            continue
        if size >= 1.8:
            page.text(x, y + size * 0.35, str(number), size=size, anchor="middle")
        else:
            page.text(x + (right - left) / 2.0 * scale + 0.5, y - 0.3, str(number), size=2.0)


def _scale_bar(page: Page, scale: float, y: float) -> float:
    length = 10.0 if 5.0 <= 10.0 * scale <= 60.0 else (100.0 if scale < 0.5 else 1.0)
    page.line((_EDGE_MM, y), (_EDGE_MM + length * scale, y), width=1.0)
    page.text(_EDGE_MM + length * scale + 2.0, y + 1.0, f"{length:g} mm", size=3.0)
    return y


def _walls_view(page: Page, part: Part, surface: Surface, *, y: float) -> float:
    """Draw the walls laid flat: each as long as its perimeter and as high as the thickness, on one scale of its own."""
    walls = [line for line in surface.lines if line.side == "wall" and line.name.split()[0] in {"outer", "hole"}]
    if not walls or part.thickness is None:
        return _hole_areas(page, part, y)
    rings = [part.outline.polygon.exterior, *part.outline.polygon.interiors]
    shown = list(zip(walls, rings, [0.0, *hole_areas(part.outline)], strict=True))[:4]
    scale = _WALL_LENGTH_MM / max(ring.length for _, ring, _ in shown)
    height = part.thickness.value * scale
    stretch = max(1.0, 3.0 / height)
    drawn = min(height * stretch, 25.0)
    note = f"height drawn {drawn / height:.2g} times as large" if abs(drawn / height - 1.0) > 0.01 else "to one scale"
    page.text(_EDGE_MM, y, f"walls laid flat, {note}", size=3.2, colour=MUTED)
    y += 2.0
    for line, ring, area in shown:
        length = ring.length * scale
        page.box((_EDGE_MM, y), (length, drawn), fill=_PLATED if line.plated else _BARE)
        hole = f"; takes {area:.4g} mm² from each face" if line.name.startswith("hole") else ""
        page.text(_EDGE_MM, y + drawn + 3.2, f"{line.name}: {_area(line)}{hole}", size=2.8)
        y += drawn + 6.0
    if len(walls) > len(shown):
        page.text(_EDGE_MM, y + 1.0, f"and {len(walls) - len(shown)} more, see the table", size=2.8, colour=MUTED)
        y += 4.0
    return y


def _hole_areas(page: Page, part: Part, y: float) -> float:
    """List the holes where no thickness gives them walls."""
    for number, area in list(enumerate(hole_areas(part.outline), start=1))[:_MOST_HOLES_LISTED]:
        page.text(_EDGE_MM, y, f"hole {number}: {area:.4g} mm²", size=2.8)
        y += 4.0
    return y


def _table(page: Page, surface: Surface, y: float) -> float:
    """Write every surface with its area; what is not plated in grey."""
    for line in grouped_lines(surface.lines):
        colour = INK if line.plated else MUTED
        page.text(_TABLE_X, y, line.name, size=3.0, colour=colour)
        page.text(_PAGE_MM - _EDGE_MM - 19.0, y, _area(line), size=3.0, colour=colour, anchor="end")
        basis = line.basis if line.plated else "not plated"
        page.text(_PAGE_MM - _EDGE_MM - 17.0, y, basis, size=2.6, colour=MUTED)
        y += 4.6
    page.line((_TABLE_X, y - 2.6), (_PAGE_MM - _EDGE_MM, y - 2.6), width=0.2)
    rows = [("plated area", show(surface.plated))]
    if surface.significant is not None:
        rows.append(("significant surface", show(surface.significant)))
    for name, area in rows:
        page.text(_TABLE_X, y + 1.4, name, size=3.0, weight="bold")
        page.text(_PAGE_MM - _EDGE_MM - 19.0, y + 1.4, area, size=3.0, weight="bold", anchor="end")
        y += 4.6
    shares = ", ".join(f"{100.0 * share:.1f} % {basis}" for basis, share in surface.shares.items() if share)
    for words in (shares, "± is the expanded uncertainty (coverage factor k = 2)"):
        page.text(_TABLE_X, y + 1.4, words, size=2.6, colour=MUTED)
        y += 3.8
    return y


def _key(page: Page, part: Part, y: float) -> float:
    """Explain the colours that occur."""
    entries = [("plated", _PLATED)]
    if {"front", "wall"} - part.sides:
        entries.append(("not plated", _BARE))
    if part.masks:
        entries.append(("stopped off", "url(#stopped)"))
    if part.overspill is not None and part.masks:
        entries.append(("overspill", _SPILL))
    if part.recesses:
        entries.append(("recess", "#d9a93a"))
    for name, fill in entries:
        page.box((_TABLE_X, y - 2.4), (5.0, 3.0), fill=fill)
        page.text(_TABLE_X + 7.0, y, name, size=2.8)
        y += 4.4
    if part.significant is not None:
        page.line((_TABLE_X, y - 1.0), (_TABLE_X + 5.0, y - 1.0), width=0.5, colour=_SIGNIFICANT, dash="2 1.2")
        page.text(_TABLE_X + 7.0, y, "significant surface", size=2.8)
        y += 4.4
    return y


def _area(line: SurfaceLine) -> str:
    return show(line.area).replace("-", "−")


def _ratio(scale: float) -> str:
    return escape(f"{scale:g} : 1" if scale >= 1.0 else f"1 : {1.0 / scale:g}")
