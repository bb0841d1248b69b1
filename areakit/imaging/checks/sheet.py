"""Checks of the marker frame, its print and the camera: where the fit contradicts what is taken for granted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from areakit.errors import ScaleUnreliable

ROUND_ENOUGH = 0.2
"""Quality from which a round thing may be the coin that was named (drawn discs 0.9 and above, worn coins on real photos
0.5 to 0.8, what is not round below 0.2)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundThing:
    """Something round in the photo: its middle, its width and how clearly round it is. [px, px, 1]"""

    x_px: float
    y_px: float
    width_px: float
    quality: float


def check_one_round(things: Sequence[RoundThing]) -> None:
    """Refuse to choose the coin among several round things, where nobody said which it is.

    Raises
    ------
    ScaleUnreliable
        With the place of each, ready to be given back.
    """
    likely = [thing for thing in things if thing.quality >= ROUND_ENOUGH]
    if len(likely) < 2:
        return
    places = "; ".join(f"--mark-at {one.x_px:.0f},{one.y_px:.0f} ({one.width_px:.0f} px wide)" for one in likely)
    raise ScaleUnreliable(
        f"{len(likely)} round things are in view, and any of them may be the coin.",
        remedy=f"Say which one it is: {places}.",
        code="COIN_AMONG_OTHERS",
    )
