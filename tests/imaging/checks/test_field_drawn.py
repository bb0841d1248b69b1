"""The rim of the field in drawn photos: a part that is smaller than the field, and one that is not."""

from __future__ import annotations

import pytest

from areakit.errors import OutlineNotFound
from areakit.imaging.checks.field import STRANGE_REFUSED, frame_row, hidden_share, rim_pairs, strange_share
from areakit.imaging.marks import find_scale
from areakit.imaging.marks.frame_layout import layouts
from areakit.imaging.outlines import find_outlines
from areakit.imaging.photo import overview, read_photo
from calibration.studies.silent_part import slits, too_large


@pytest.mark.thorough
@pytest.mark.parametrize("seed", [8, 5014, *(pytest.param(seed, marks=pytest.mark.slow) for seed in (10, 1015))])
def test_a_part_over_field_and_frame_is_refused(seed: int) -> None:
    case = too_large(seed)
    with pytest.raises(OutlineNotFound) as refused:
        find_outlines(read_photo(case.photo), **case.request)
    assert refused.value.code == "FIELD_COVERED"


@pytest.mark.thorough
def test_the_rim_of_a_sheet_that_is_seen_is_all_of_one_kind() -> None:
    photo = read_photo(slits(2).photo)
    small = overview(photo)
    scale = find_scale(photo, small, mark="auto", reading=None)
    layout = layouts()[scale.sheet]
    assert strange_share(*rim_pairs(small, scale, layout)) < STRANGE_REFUSED / 4
    assert hidden_share(*frame_row(small, scale, layout)) == 0.0


@pytest.mark.slow
def test_a_part_as_white_as_paper_that_covers_a_third_of_the_rim_is_refused() -> None:
    """A silver comb laid across the printed field: half of the empty band is blue, half is metal."""
    case = slits(1011)
    with pytest.raises(OutlineNotFound) as refused:
        find_outlines(read_photo(case.photo), **case.request)
    assert refused.value.code == "GUARD_BAND_COVERED"
