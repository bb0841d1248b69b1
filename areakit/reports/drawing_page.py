"""One SVG page in millimetres: text, lines, boxes and shapes, nothing from outside."""

from __future__ import annotations

from areakit.reports.markup import escape

INK = "#1d2530"
MUTED = "#667080"
_FONT = "DejaVu Sans, Arial, Helvetica, sans-serif"
_HATCH = (
    '<pattern id="stopped" width="2.4" height="2.4" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect width="2.4" height="2.4" fill="#ffffff"/><rect width="1.0" height="2.4" fill="#8a97a8"/></pattern>'
)


class Page:
    """Collects the marks of a page; y points downwards. [mm]"""

    def __init__(self, *, width: float) -> None:
        self._width = width
        self._marks: list[str] = []

    def text(
        self, x: float, y: float, words: str, *, size: float, colour: str = INK, anchor: str = "start",
        weight: str = "normal",
    ) -> None:  # fmt: skip
        """Write words with their baseline at ``y``."""
        self._marks.append(
            f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size:.2f}" fill="{colour}" text-anchor="{anchor}" '
            f'font-weight="{weight}">{escape(words)}</text>'
        )

    def line(
        self, start: tuple[float, float], end: tuple[float, float], *, width: float, colour: str = INK, dash: str = ""
    ) -> None:
        """Draw a straight line."""
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        way = f"M{start[0]:.2f} {start[1]:.2f}L{end[0]:.2f} {end[1]:.2f}"
        self._marks.append(f'<path d="{way}" stroke="{colour}" stroke-width="{width}"{dashes}/>')

    def box(self, corner: tuple[float, float], size: tuple[float, float], *, fill: str) -> None:
        """Draw a filled rectangle with a thin outline."""
        self._marks.append(
            f'<rect x="{corner[0]:.2f}" y="{corner[1]:.2f}" width="{size[0]:.3f}" height="{size[1]:.3f}" fill="{fill}" '
            f'stroke="{INK}" stroke-width="0.2"/>'
        )

    def shape(
        self, path: str, place: tuple[float, float], *, fill: str, line: str = "none", dash: str = "",
        width: float = 0.25,
    ) -> None:  # fmt: skip
        """Draw path data, moved to ``place``; holes stay open."""
        if not path:
            return
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        self._marks.append(
            f'<path d="{path}" transform="translate({place[0]:.3f} {place[1]:.3f})" fill="{fill}" '
            f'fill-rule="evenodd" stroke="{line}" stroke-width="{width}"{dashes}/>'
        )

    def dimension(self, ends: tuple[float, float], y: float, words: str) -> None:
        """Draw a dimension line with end ticks and its figure in the middle."""
        x, to_x = ends
        middle, half = (x + to_x) / 2.0, len(words) * 0.95 + 1.0
        for start, end in ((x, middle - half), (middle + half, to_x)):
            if end > start:
                self.line((start, y), (end, y), width=0.2, colour=MUTED)
        for at in (x, to_x):
            self.line((at, y - 1.2), (at, y + 1.2), width=0.2, colour=MUTED)
        self.text(middle, y + 1.0, words, size=2.8, colour=MUTED, anchor="middle")

    def svg(self, *, height: float) -> str:
        """Return the page as SVG text."""
        size = f'width="{self._width:g}mm" height="{height:.1f}mm" viewBox="0 0 {self._width:g} {height:.1f}"'
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="{_FONT}">\n<defs>{_HATCH}</defs>\n'
            f'<rect width="100%" height="100%" fill="#ffffff"/>\n' + "\n".join(self._marks) + "\n</svg>\n"
        )
