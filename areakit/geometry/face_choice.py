"""Which surfaces of a part are plated, by name."""

from typing import Literal, get_args

Faces = Literal["one", "front", "back", "both", "walls", "all", "foil"]
"""Which surfaces are plated; ``one`` is the front; ``foil`` is front and cut edge, its back lying on a carrier."""
FACES: tuple[str, ...] = get_args(Faces)
