"""A coin has one name in every command: as a scale mark, and as a piece to verify by."""

import pytest

from areakit.imaging.marks.reference_objects import reference_objects
from areakit.records.check_pieces import known_pieces


@pytest.mark.parametrize("key", sorted(known_pieces()))
def test_a_check_piece_is_the_same_thing_as_the_mark_of_its_name(key: str) -> None:
    """Diameters and sides agree between the two tables, each with its own source."""
    piece, mark = known_pieces()[key], reference_objects()[key]
    if mark.diameter_mm is not None:
        assert piece.sizes["diameter"].value == mark.diameter_mm
    else:
        assert {piece.sizes["width"].value, piece.sizes["height"].value} == {mark.width_mm, mark.height_mm}
