"""Places in a photo that somebody is asked about: numbered, and answered by their number, by a point, or by a shape."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from areakit.errors import InputError
from areakit.flags import Flag, flag, place_asked
from areakit.geometry.drawn_regions import DrawnRegion
from areakit.geometry.features import Region
from areakit.geometry.outline import Outline
from areakit.geometry.regions import depth_in, polygons_of
from areakit.imaging.answers import Answer
from areakit.imaging.one_part import FoundPart
from areakit.imaging.outlines import FoundParts
from areakit.imaging.stop_off import StopOff

Kind = Literal["hole", "metal", "stop-off"]
Point = tuple[float, float]
NEAR_MM = 1.0
"""A place that is asked about again lies within this of where it was asked about before."""
_POINT = re.compile(r"\s*(-?\d+(?:\.\d+)?)\s*[,;]\s*(-?\d+(?:\.\d+)?)\s*(?:mm)?\s*")
_NUMBER = re.compile(r"\s*#?(\d{1,3})\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One answer: what lies at a point of the sheet [mm], or at a place by its number on the picture; as written."""

    kind: Kind
    point_mm: Point | None = None
    number: int | None = None
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offered:
    """A seen region of another colour of which nobody said what it is: its number on the picture, and where it is."""

    place: int | None
    seen: StopOff

    @property
    def ring_mm(self) -> list[tuple[float, float]]:
        """Its outline in sheet millimetres."""
        return [(float(x), float(y)) for x, y in self.seen.polygon.exterior.coords[:-1]]

    @property
    def at(self) -> str:
        """The point that names it in an answer."""
        x, y = self.seen.place_mm
        return f"{x:.1f},{y:.1f}"

    def as_json(self) -> dict[str, Any]:
        """Return it as a mask that is offered."""
        return {
            "place": self.place,
            "at": self.at,
            "area_mm2": round(self.seen.area_mm2, 3),
            "ring_mm": [[round(x, 3), round(y, 3)] for x, y in self.ring_mm],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """All answers to the questions of one photo, and the shapes that are stopped off whatever is seen. [mm]"""

    said: tuple[Said, ...] = ()
    shapes: tuple[Region, ...] = ()

    @property
    def by_number(self) -> bool:
        """Whether a place is named by its number."""
        return any(one.number is not None for one in self.said)


def read_answers(
    holes: Iterable[str], metal: Iterable[str], stop_off: Iterable[str], region_at: Callable[[str], Region]
) -> Answers:
    """Return the answers that were written: ``104.2,66.8``, the number of a place, or for a stop-off a shape.

    InputError for text that is none of them.
    """
    said = [_said(text, "hole") for text in holes] + [_said(text, "metal") for text in metal]
    shapes = []
    for text in stop_off:
        if _POINT.fullmatch(text) or _NUMBER.fullmatch(text):
            said.append(_said(text, "stop-off"))
        else:
            shapes.append(region_at(text))
    return Answers(said=tuple(said), shapes=tuple(shapes))


def find_with_answers(
    answers: Answers, find: Callable[[tuple[Answer, ...]], FoundParts]
) -> tuple[FoundParts, tuple[Said, ...], tuple[Point, ...]]:
    """Return what a photo gives with all answers, the answers by their points, and the numbered places.

    Numbers are those of the picture that is drawn without answers by number, so they stay when some are answered; what
    is asked only then has the numbers that follow. InputError for a number that no place has.
    """
    points = [one for one in answers.said if one.point_mm is not None]
    waiting = [one for one in answers.said if one.number is not None]
    places: list[Point] = []
    while True:
        found = find(tuple(_answer(one) for one in points))
        places += [place for place in _asked(found) if not any(_near(place, other) for other in places)]
        if not waiting:
            return found, tuple(points), tuple(places)
        ready = [one for one in waiting if 1 <= (one.number or 0) <= len(places)]
        if not ready:
            raise InputError(
                f"There is no place {waiting[0].number}: the photo asks about {len(places)}.",
                remedy="Number them as on the overlay, or give the point: 104.2,66.8.",
            )
        points += [replace(one, point_mm=places[(one.number or 1) - 1], number=None) for one in ready]
        waiting = [one for one in waiting if one not in ready]


def answered(
    part: FoundPart, number: int, said: Sequence[Said], places: Sequence[Point]
) -> tuple[Outline, tuple[DrawnRegion, ...], tuple[Offered, ...]]:
    """Return the outline of a part with its questions, numbered, the stop-offs that are such, and the open ones.

    While it is open whether a region is metal at all, it is not asked about twice.
    """
    flags = [_numbered(told, places) for told in part.outline.flags]
    asked = [_point(place) for told in part.outline.flags if (place := place_asked(told)) is not None]
    taken, offered = [], []
    for one in part.stop_offs:
        told = _said_of(one, said)
        if told is not None and told.kind == "stop-off":
            ring = list(one.polygon.exterior.coords)[:-1]
            taken.append(DrawnRegion(kind="stop_off", ring_mm=ring, at=told.text))
        elif (
            (told is None or told.kind != "metal")
            and not one.mirrored
            and not any(one.covers(place, 0.0) for place in asked)
        ):
            name = _number_of(one.place_mm, places)
            offered.append(Offered(place=name, seen=one))
            flags.append(replace(_question(one, part.outline), part=number, place=name))
    return replace(part.outline, flags=tuple(flags)), tuple(taken), tuple(offered)


def shapes_on(outline: Outline, shapes: Iterable[Region]) -> tuple[DrawnRegion, ...]:
    """Return the stop-offs by shape that touch a part."""
    return tuple(
        DrawnRegion(kind="stop_off", ring_mm=list(piece.exterior.coords)[:-1])
        for shape in shapes
        for piece in polygons_of(shape)
        if piece.intersects(outline.polygon)
    )


def check_all_met(found: FoundParts, answers: Answers, said: Sequence[Said]) -> None:
    """Refuse an answer at a point that shows something else, or a stop-off of a shape that lies on no part; InputError.

    An answer that met what it is about has changed the outline by now; so a hole well inside metal, or metal well
    outside every part, is a slip of the pen.
    """
    for one in said:
        _check_point(one, [part.outline for part in found.parts])
        seen = any(_covers(stop, one) for part in found.parts for stop in part.stop_offs)
        if one.kind == "stop-off" and not seen and one.point_mm is not None:
            x, y = one.point_mm
            raise InputError(
                f"No stop-off is seen at ({x:g}, {y:g}) mm.",
                remedy="Give its shape.",
                fields={"stop_off": f"disk 6 mm, at {x:g} {y:g} mm"},
            )
    for shape in answers.shapes:
        if not any(shape.intersects(part.outline.polygon) for part in found.parts):
            raise InputError(
                "A stop-off lies on no part.",
                remedy="Give its place in the millimetres that stand along the edges of the picture.",
            )


def _check_point(one: Said, outlines: Sequence[Outline]) -> None:
    if one.point_mm is None or one.kind == "stop-off":
        return
    x, y = one.point_mm
    deepest = max(depth_in(outline.polygon, x, y) for outline in outlines)
    if deepest > NEAR_MM if one.kind == "hole" else deepest < -NEAR_MM:
        raise InputError(
            f"At ({x:g}, {y:g}) mm there is {'metal' if one.kind == 'hole' else 'no part'}, "
            "and nothing there was in doubt.",
            remedy="Give the place in the millimetres that stand along the edges of the picture, or leave it out.",
        )


def edge_of(part: FoundPart) -> float:
    """Return how well the borders of seen stop-offs are known, at least as well as a place is read. [mm]"""
    return max((one.edge_mm for one in part.stop_offs), default=0.0)


def _said(text: str, kind: Kind) -> Said:
    if (number := _NUMBER.fullmatch(text)) is not None:
        return Said(kind=kind, number=int(number[1]), text=text)
    point = _POINT.fullmatch(text)
    if point is None:
        raise InputError(
            f"{text[:60]!r} is not a point.", remedy="Write it as x,y in millimetres: 104.2,66.8; or its number."
        )
    return Said(kind=kind, point_mm=(float(point[1]), float(point[2])), text=text)


def _answer(one: Said) -> Answer:
    assert one.point_mm is not None
    return Answer(point_mm=one.point_mm, hole=one.kind == "hole")  # a stop-off lies on metal


def _asked(found: FoundParts) -> list[Point]:
    """Return every place that a photo asks about: part by part, what may be metal first, then seen stop-offs."""
    places = []
    for part in found.parts:
        texts = [place for told in part.outline.flags if (place := place_asked(told)) is not None]
        places += [_point(text) for text in texts]
        open_ = [_point(text) for text in texts]
        told = [one for one in part.stop_offs if not one.mirrored]
        places += [one.place_mm for one in told if not any(one.covers(place, 0.0) for place in open_)]
    return places


def _point(text: str) -> Point:
    x, y = text.split(",")
    return float(x), float(y)


def _near(one: Point, other: Point) -> bool:
    return math.dist(one, other) <= NEAR_MM


def _number_of(place: Point, places: Sequence[Point]) -> int | None:
    return next((number for number, one in enumerate(places, start=1) if _near(one, place)), None)


def _numbered(told: Flag, places: Sequence[Point]) -> Flag:
    place = place_asked(told)
    return told if place is None else replace(told, place=_number_of(_point(place), places))


def _covers(stop: StopOff, said: Said) -> bool:
    return said.point_mm is not None and stop.covers(said.point_mm, NEAR_MM)


def _said_of(stop: StopOff, said: Sequence[Said]) -> Said | None:
    """Return what was said last of a seen stop-off."""
    return next((one for one in reversed(said) if _covers(stop, one)), None)


def _question(stop: StopOff, outline: Outline) -> Flag:
    x, y = stop.place_mm
    percent = 100.0 * stop.area_mm2 / outline.area.value
    return flag("STOP_OFF_SEEN", area_mm2=stop.area_mm2, percent=percent, x_mm=x, y_mm=y)
