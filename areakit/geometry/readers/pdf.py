"""Outlines from the first page of a vector PDF, by the pypdfium2 library."""

from __future__ import annotations

import ctypes
from collections import Counter
from typing import Any

import numpy as np

from areakit.errors import FileError
from areakit.geometry.curves import Points, bezier
from areakit.geometry.readers.limits import Meter
from areakit.geometry.readers.pdf_scan import check_pdf
from areakit.geometry.readers.reader import ReadRequest, Tracing
from areakit.geometry.readers.svg_frame import Matrix, affine, stretch
from areakit.geometry.rings import Trace

_POINT_MM = 25.4 / 72.0
"""Default user space unit of ISO 32000-1, 8.3.2.3."""


class PdfReader:
    """Vector PDF: lines and curves of the first page, in points of 1/72 inch."""

    def trace(self, data: bytes, request: ReadRequest) -> Tracing:
        """Return all lines of the first page in mm; texts, images, shadings, clips and other pages are ignored."""
        import pypdfium2

        request.meter.take_bytes(len(data))
        check_pdf(data)
        try:
            document = pypdfium2.PdfDocument(data)
            page = document[0]
        except (pypdfium2.PdfiumError, IndexError):
            raise FileError(
                "This is not a PDF file that can be opened.", remedy="Export the drawing again, without a password."
            ) from None
        try:
            walk = _Walk(request)
            if len(document) > 1:
                walk.ignored["page after the first"] += len(document) - 1
            walk.page(page.raw)
            return Tracing(unit="pt", traces=tuple(walk.traces), ignored=dict(walk.ignored))
        finally:
            page.close()
            document.close()


class _Walk:
    """Goes through the objects of a page, forms included."""

    def __init__(self, request: ReadRequest) -> None:
        import pypdfium2.raw as raw

        self.traces: list[Trace] = []
        self.ignored: Counter[str] = Counter()
        self._raw: Any = raw
        self._request = request
        self._names = {
            raw.FPDF_PAGEOBJ_TEXT: "text",
            raw.FPDF_PAGEOBJ_IMAGE: "image",
            raw.FPDF_PAGEOBJ_SHADING: "shading",
        }

    def page(self, page: Any) -> None:
        scale = affine(_POINT_MM, 0.0, 0.0, _POINT_MM, 0.0, 0.0)
        for i in range(self._raw.FPDFPage_CountObjects(page)):
            self._object(self._raw.FPDFPage_GetObject(page, i), scale, 1)

    def _object(self, item: Any, frame: Matrix, depth: int) -> None:
        raw = self._raw
        self._request.meter.take_entity(depth)
        kind = raw.FPDFPageObj_GetType(item)
        clip = raw.FPDFPageObj_GetClipPath(item)
        if clip and raw.FPDFClipPath_CountPaths(clip) > 0:
            self.ignored["clip"] += 1
        placed = frame @ self._matrix(item)
        if kind == raw.FPDF_PAGEOBJ_PATH:
            self._path(item, placed)
        elif kind == raw.FPDF_PAGEOBJ_FORM:
            for i in range(raw.FPDFFormObj_CountObjects(item)):
                self._object(raw.FPDFFormObj_GetObject(item, i), placed, depth + 1)
        else:
            self.ignored[self._names.get(kind, "other object")] += 1

    def _matrix(self, item: Any) -> Matrix:
        found = self._raw.FS_MATRIX()
        if not self._raw.FPDFPageObj_GetMatrix(item, found):
            return affine(1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
        return affine(found.a, found.b, found.c, found.d, found.e, found.f)

    def _path(self, item: Any, frame: Matrix) -> None:
        raw, meter = self._raw, self._request.meter
        longer = stretch(frame)
        sagitta = self._request.sagitta_mm / longer if longer else 1.0
        count = raw.FPDFPath_CountSegments(item)
        meter.take_vertices(max(count, 0))
        segments = [self._segment(raw.FPDFPath_GetPathSegment(item, i)) for i in range(count)]
        for points, closed in _chains(segments, sagitta=sagitta, meter=meter):
            self.traces.append(Trace(points_mm=points @ frame[:2, :2].T + frame[:2, 2], closed=closed))

    def _segment(self, segment: Any) -> tuple[int, float, float, bool]:
        x, y = ctypes.c_float(), ctypes.c_float()
        self._raw.FPDFPathSegment_GetPoint(segment, x, y)
        kind = self._raw.FPDFPathSegment_GetType(segment)
        return kind, x.value, y.value, bool(self._raw.FPDFPathSegment_GetClose(segment))


def _chains(
    segments: list[tuple[int, float, float, bool]], *, sagitta: float, meter: Meter
) -> list[tuple[Points, bool]]:
    """Return subpaths from move, line and curve segments; a curve takes three segments in a row."""
    import pypdfium2.raw as raw

    chains: list[tuple[Points, bool]] = []
    points: list[Points] = []
    control: list[tuple[float, float]] = []
    here = (0.0, 0.0)
    for kind, x, y, closes in segments:
        if kind == raw.FPDF_SEGMENT_MOVETO:
            if points:
                chains.append((np.vstack(points), False))
            points = []
        elif kind == raw.FPDF_SEGMENT_BEZIERTO:
            control.append((x, y))
            if len(control) < 3:
                continue
            points.append(bezier(np.array([here, *control]), sagitta))
            control = []
        else:
            points.append(np.array([here, (x, y)]))
        if points:
            meter.take_vertices(len(points[-1]))
        here = (x, y)
        if closes and points:
            chains.append((np.vstack(points), True))
            points = []
    if points:
        chains.append((np.vstack(points), False))
    return chains
