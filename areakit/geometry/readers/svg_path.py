"""The path grammar of SVG 2 (chapter 9) as chains of points."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator

import numpy as np

from areakit.errors import AreakitError, FileError
from areakit.geometry.curves import Points, bezier, ellipse_arc
from areakit.geometry.readers.limits import Meter

_NUMBER = re.compile(r"[\s,]*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)")
_FLAG = re.compile(r"[\s,]*([01])")
_COMMAND = re.compile(r"[\s,]*([MmLlHhVvCcSsQqTtAaZz])")
_ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
Spot = tuple[float, float]


def path_chains(text: str, sagitta: float, meter: Meter) -> list[tuple[Points, bool]]:
    """Return the subpaths of a ``d`` attribute: points of shape (n, 2) in user units, and whether each is closed.

    Raises FileError if the text breaks the grammar.
    """
    pen = _Pen(sagitta, meter)
    for command, numbers in _steps(text):
        pen.draw(command, numbers)
    return pen.finish()


def _steps(text: str) -> Iterator[tuple[str, list[float]]]:
    """Yield each command with its numbers; a repeated M goes on as L (9.3.3)."""
    at, command = 0, ""
    while at < len(text):
        found = _COMMAND.match(text, at)
        if found:
            command, at = found.group(1), found.end()
            if command in "Zz":
                yield command, []
                continue
        elif not text[at:].strip(" \t\r\n,"):
            return
        if not command or command in "Zz":
            raise _broken(text, at)
        numbers, at = _numbers(text, at, command.upper())
        yield command, numbers
        command = {"M": "L", "m": "l"}.get(command, command)


def _numbers(text: str, at: int, command: str) -> tuple[list[float], int]:
    numbers = []
    for place in range(_ARGUMENTS[command]):
        pattern = _FLAG if command == "A" and place in (3, 4) else _NUMBER
        found = pattern.match(text, at)
        if not found:
            raise _broken(text, at)
        numbers.append(float(found.group(1)))
        at = found.end()
    return numbers, at


def _broken(text: str, at: int) -> FileError:
    return FileError(
        f"A path of the drawing breaks off at {text[at : at + 12]!r}.", remedy="Export the drawing again as SVG."
    )


class _Pen:
    """Draws commands one by one; keeps the current point and the last control point."""

    def __init__(self, sagitta: float, meter: Meter) -> None:
        self._sagitta = sagitta
        self._meter = meter
        self._chains: list[tuple[Points, bool]] = []
        self._pieces: list[Points] = []
        self._here: Spot = (0.0, 0.0)
        self._first: Spot = (0.0, 0.0)
        self._last_control: dict[str, Spot] = {}
        self._draw: dict[str, Callable[[list[float], Spot], None]] = {
            "M": self._move, "L": self._line, "H": self._across, "V": self._down, "C": self._cubic,
            "S": self._smooth_cubic, "Q": self._quadratic, "T": self._smooth_quadratic, "A": self._arc,
            "Z": self._close,
        }  # fmt: skip

    def draw(self, command: str, numbers: list[float]) -> None:
        """Draw one command; small letters count from the current point."""
        kept = self._last_control
        base = self._here if command.islower() else (0.0, 0.0)
        self._last_control = {}
        if command.upper() in "ST":
            self._last_control = kept
        self._draw[command.upper()](numbers, base)

    def finish(self) -> list[tuple[Points, bool]]:
        """Return every subpath drawn."""
        self._end(closed=False)
        return self._chains

    def _end(self, *, closed: bool) -> None:
        if self._pieces:
            self._chains.append((np.vstack(self._pieces), closed))
        self._pieces = []

    def _add(self, points: Points) -> None:
        self._meter.take_vertices(len(points))
        self._pieces.append(points)
        self._here = (float(points[-1][0]), float(points[-1][1]))

    def _move(self, numbers: list[float], base: Spot) -> None:
        self._end(closed=False)
        self._here = self._first = _spot(numbers, base)

    def _to(self, x: float, y: float) -> None:
        self._add(np.array([self._here, (x, y)]))

    def _line(self, numbers: list[float], base: Spot) -> None:
        self._to(*_spot(numbers, base))

    def _across(self, numbers: list[float], base: Spot) -> None:
        self._to(base[0] + numbers[0], self._here[1])

    def _down(self, numbers: list[float], base: Spot) -> None:
        self._to(self._here[0], base[1] + numbers[0])

    def _close(self, numbers: list[float], base: Spot) -> None:
        self._end(closed=True)
        self._here = self._first

    def _cubic(self, numbers: list[float], base: Spot) -> None:
        self._curve([_spot(numbers[i:], base) for i in (0, 2, 4)], "C")

    def _smooth_cubic(self, numbers: list[float], base: Spot) -> None:
        self._curve([self._mirrored("C"), *(_spot(numbers[i:], base) for i in (0, 2))], "C")

    def _quadratic(self, numbers: list[float], base: Spot) -> None:
        self._curve([_spot(numbers[i:], base) for i in (0, 2)], "Q")

    def _smooth_quadratic(self, numbers: list[float], base: Spot) -> None:
        self._curve([self._mirrored("Q"), _spot(numbers, base)], "Q")

    def _mirrored(self, kind: str) -> Spot:
        x, y = self._last_control.get(kind, self._here)
        return 2.0 * self._here[0] - x, 2.0 * self._here[1] - y

    def _curve(self, control: list[Spot], kind: str) -> None:
        points = bezier(np.array([self._here, *control]), self._sagitta)
        self._last_control = {kind: control[-2]}
        self._add(points)

    def _arc(self, numbers: list[float], base: Spot) -> None:
        end = _spot(numbers[5:], base)
        try:
            points = _endpoint_arc(self._here, end, numbers, sagitta=self._sagitta)
        except AreakitError:
            raise
        except (ArithmeticError, ValueError):
            raise FileError(
                "An arc of this SVG file cannot be followed: its figures are out of all bounds.",
                remedy="Export the drawing again as SVG.",
            ) from None
        points[-1] = end
        self._add(points)


def _spot(numbers: list[float], base: Spot) -> Spot:
    return base[0] + numbers[0], base[1] + numbers[1]


def _endpoint_arc(start: Spot, end: Spot, numbers: list[float], *, sagitta: float) -> Points:
    """Turn end points, radii and flags into centre and angles (SVG 2, appendix B.2.4 and B.2.5)."""
    rx, ry, turn = abs(numbers[0]), abs(numbers[1]), math.radians(numbers[2])
    if rx == 0.0 or ry == 0.0 or start == end:
        return np.array([start, end])
    cos, sin = math.cos(turn), math.sin(turn)
    dx, dy = (start[0] - end[0]) / 2.0, (start[1] - end[1]) / 2.0
    x, y = cos * dx + sin * dy, cos * dy - sin * dx
    stretch = math.hypot(x / rx, y / ry)
    if stretch > 1.0:
        rx, ry = rx * stretch, ry * stretch
    short = (rx * y) ** 2 + (ry * x) ** 2
    root = math.sqrt(max((rx * ry) ** 2 / short - 1.0, 0.0))
    root = -root if numbers[3] == numbers[4] else root
    cx, cy = root * rx * y / ry, -root * ry * x / rx
    first = math.atan2((y - cy) / ry, (x - cx) / rx)
    sweep = math.atan2((-y - cy) / ry, (-x - cx) / rx) - first
    if numbers[4] and sweep < 0.0:
        sweep += 2.0 * math.pi
    elif not numbers[4] and sweep > 0.0:
        sweep -= 2.0 * math.pi
    centre = (cos * cx - sin * cy + (start[0] + end[0]) / 2.0, sin * cx + cos * cy + (start[1] + end[1]) / 2.0)
    return ellipse_arc(centre, (rx, ry), turn=turn, start=first, sweep=sweep, sagitta=sagitta)
