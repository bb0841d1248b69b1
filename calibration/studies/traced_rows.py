"""One row of the path-traced study: a row of the accuracy study, with the light and how it was rendered."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from math import nan

from calibration.studies.accuracy import facts_row
from calibration.studies.accuracy_rows import Row
from calibration.studies.accuracy_scenes import Entry
from calibration.studies.traced_scenes import TracedScene


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedRow(Row):
    """Roughness is alpha of the GGX distribution; ``lamp`` is the lamp's share of light; ``rays`` are those a pixel.

    ``drawn`` is the error of the area as the ray tracer sees it, in %, only of ideal scenes.
    """

    light: str = ""
    drawn: float = nan
    roughness: float = nan
    lamp: float = nan
    rays: int = 0
    renderer: str = ""


def row_of(traced: TracedScene, entry: Entry, *, rays: int, renderer: str, code: str) -> TracedRow:
    """Return the row of a scene before it is measured; what only the other renderer draws is not a number."""
    row = TracedRow(**asdict(facts_row(traced.drawn, traced.seed, entry)))
    return replace(
        row,
        brightness=nan,
        gradient=nan,
        contact=nan,
        cast=nan,
        veil=nan,
        light=traced.light,
        roughness=traced.view.parts[0].roughness,
        lamp=traced.view.light.lamp_share,
        rays=rays,
        renderer=renderer,
        code=code,
    )
