"""A measured part as costing needs it: its outline, and its area for each choice of faces."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from areakit.errors import InputError
from areakit.geometry.enclosing import Ring
from areakit.geometry.forms.words import PLATED
from areakit.plating.deposit import square_metres
from areakit.uncertainty import Measured, propagate

Choice = Literal["one", "both", "all", "front-and-edges", "walls", "given"]

SHARES: dict[Choice, tuple[int, int]] = {
    "one": (1, 0),
    "both": (2, 0),
    "all": (2, 1),
    "front-and-edges": (1, 1),
    "walls": (0, 1),
}
"""Choice of faces: how many faces, and whether the side walls."""

WORDS: dict[Choice, str] = {
    "one": "one face",
    "both": "both faces",
    "all": "all over (both faces and the edges)",
    "front-and-edges": "one face and the edges",
    "walls": "the edges only",
    "given": "as masked in the measurement",
}
_SAME: dict[str, Choice] = {
    "front": "one",
    "back": "one",
    "one face": "one",
    "both faces": "both",
    "all over": "all",
    "edges": "walls",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredPart:
    """One part as ``areakit measure`` or ``areakit surface`` printed it; areas in mm2, lengths in mm.

    ``plated`` is its plated area with masks and relief; ``faces`` the choice it was measured for;
    ``form`` what its outline is of, None for a flat part; of one with ``rounded`` edges only what was measured for is
    known.
    """

    name: str
    rings: tuple[Ring, ...]
    face: Measured
    perimeter_outer: Measured
    perimeter_holes: Measured
    thickness: Measured | None
    faces: Choice
    plated: Measured
    form: str | None = None
    rounded: bool = False
    _areas: dict[Choice, Measured | None] = field(default_factory=dict, init=False, repr=False, compare=False)

    def area(self, choice: Choice) -> Measured | None:
        """Return the area for a choice of faces in m2, None where the thickness is needed and not known."""
        if choice not in self._areas:  # claims are compared with it again for every slip that is tried
            self._areas[choice] = self._area(choice)
        return self._areas[choice]

    def _area(self, choice: Choice) -> Measured | None:
        shaped = self.form is not None or (self.rounded and self.thickness is not None)
        if choice == "given" or (shaped and choice == self.faces):
            return square_metres(self.plated)
        if shaped:
            return None
        faces, walls = SHARES[choice]
        if not walls:
            return square_metres(self.face.times(faces))
        if self.thickness is None:
            return None
        return square_metres(
            propagate(
                lambda a, outer, holes, t: faces * a + (outer + holes) * t,
                self.face,
                self.perimeter_outer,
                self.perimeter_holes,
                self.thickness,
                unit="mm2",
            )
        )

    @property
    def words(self) -> str:
        """What of it is plated, in words."""
        if self.form is not None:
            return f"{self.form} part, {PLATED.get(self.faces, WORDS[self.faces])}"
        return f"{WORDS[self.faces]}{', with masks or relief' if self.masked else ''}"

    @property
    def masked(self) -> bool:
        """Whether the plated area is other than the plain faces and walls: masked, or with relief."""
        plain = self.area(self.faces)
        return plain is not None and abs(square_metres(self.plated).value / plain.value - 1.0) > 1e-3


def read_choice(text: str) -> Choice:
    """Return a choice of faces from what people write; InputError lists the choices."""
    word = text.strip().lower()
    if word in WORDS:
        return word
    if word in _SAME:
        return _SAME[word]
    raise InputError(
        f"{text[:40]!r} is not a choice of faces.",
        remedy="Choose one of one, both, all, front-and-edges, walls, or given for what the measurement masks.",
    )
