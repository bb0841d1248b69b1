"""Answer what the tool asks of a simulated photo, as somebody who holds the part would."""

from __future__ import annotations

import numpy as np
from shapely.geometry import Point, Polygon

from areakit.flags import place_asked
from areakit.imaging.answers import Answer
from areakit.imaging.one_part import FoundPart
from areakit.imaging.outlines import FoundParts, find_outlines
from areakit.imaging.photo import read_photo
from areakit.synthetic import Scene
from calibration.studies.accuracy_scenes import Entry, true_rings_px

ROUNDS = 10
"""At most three regions are asked about at a time; a drawn part has no more holes than this answers."""


def main_part(found: FoundParts) -> FoundPart:
    """Return the largest part found; each scene holds one."""
    return max(found.parts, key=lambda part: part.outline.area.value)


def after_answers(data: bytes, scene: Scene, entry: Entry, found: FoundParts) -> tuple[FoundParts, int]:
    """Return what is measured once every question about the part is answered truly, and how many were asked."""
    if not _asked(found):
        return found, 0
    photo, openings = read_photo(data), [Polygon(ring) for ring in true_rings_px(scene, top=True)[1:]]
    answers: list[Answer] = []
    for _ in range(ROUNDS):
        asked = _asked(found)
        if not asked:
            break
        for place in asked:
            pixel = Point(found.scale.camera.project(found.scale.turned_up(np.array([place])))[0])
            answers.append(Answer(point_mm=place, hole=any(opening.contains(pixel) for opening in openings)))
        found = find_outlines(photo, thickness=entry.thickness, reading=entry.reading, answers=tuple(answers))
    return found, len(answers)


def _asked(found: FoundParts) -> list[tuple[float, float]]:
    places = [place_asked(flag) for flag in main_part(found).outline.flags]
    points = [[float(axis) for axis in place.split(",")] for place in places if place]
    return [(x, y) for x, y in points]
