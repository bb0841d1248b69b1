"""Which surfaces of a part are plated, by name; a module of its own, so that a request needs no geometry."""

from typing import Literal, get_args

Faces = Literal["one", "front", "back", "both", "walls", "all", "front-and-edges"]
"""Which surfaces are plated; ``one`` is the front; ``front-and-edges`` is the front and the edges, not the back."""
FACES: tuple[str, ...] = get_args(Faces)
