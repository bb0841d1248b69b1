"""An outline corrected on its photo, by closed forms: a plate of 40 mm x 30 mm under a camera straight above it."""

import json
import math
from typing import Any

import numpy as np
import pytest

from areakit.errors import AreakitError, InputError, RangeError
from areakit.geometry.surface import plated_surface
from areakit.imaging.camera import Camera
from areakit.records.measure_json import surface_result_json
from areakit.service.correct import CorrectRequest, PlaceRequest, correct, places_mm
from areakit.service.part_body import part_from_body
from areakit.service.part_description import SurfaceRequest
from areakit.service.surface import find_surfaces

# log focal length, principal point, four lens terms, rotation, translation: 400 mm above (20, 15) mm
STRAIGHT = [math.log(3000.0), 2000.0, 1500.0, *(0.0,) * 7, 0.0, 0.0, 400.0]
PX = 3000.0 / 400.0  # a millimetre of the sheet, by the pinhole
RING = [[2000.0 + x * PX, 1500.0 - y * PX] for x, y in ((20, 15), (-20, 15), (-20, -15), (20, -15))]
CAMERA = {"parameters": STRAIGHT, "k3": 0.0}
HUGE = int("9" * 400)  # sound JSON, and no floating-point number


def plate() -> dict[str, Any]:
    """A plate of foil, as a measurement prints it."""
    found = find_surfaces(SurfaceRequest(shapes=("rectangle 40 x 30 mm",), thickness=None, faces="one"))
    parts = [(one.part_id, one.surface, one.part.outline, one.part.thickness) for one in found.parts]
    body = surface_result_json(parts, found.plated, count=1, flags=())
    part: dict[str, Any] = json.loads(json.dumps(body))["parts"][0]
    return part


def corrected(**changes: Any) -> dict[str, Any]:
    moved = [[RING[0][0] + 4 * PX, RING[0][1]], *RING[1:]]  # a corner drawn out by 4 mm
    given = {"part": plate(), "before_px": [RING], "rings_px": [moved], "camera": CAMERA, "hand": "0.4 mm", **changes}
    return correct(CorrectRequest(**given))


def test_a_corner_drawn_out_adds_its_triangle() -> None:
    after = corrected()
    assert after["face_area"]["value"] == pytest.approx(40 * 30 + 4 * 30 / 2)
    assert after["corrected"] is True
    # what was drawn anew: the upper edge's 4 mm more and the slanting side, or the side that went (30 mm)
    moved = 4 + math.hypot(4, 30)
    assert after["face_area"]["budget"]["outline corrected by hand"] == pytest.approx(moved * 0.2, rel=0.02)


def test_a_stored_lens_with_its_third_term_in_the_parameters_gives_the_same() -> None:
    lens = [*STRAIGHT[:3], -0.05, 0.01, *STRAIGHT[5:]]
    camera = Camera(parameters=np.array(lens), covariance=np.zeros((13, 13)), rms_px=0.0, k3=0.02)
    seen = [
        camera.project(np.array(ring) * (1.0, -1.0)).tolist()
        for ring in ([(20, 15), (-20, 15), (-20, -15), (20, -15)],)
    ]
    own = corrected(before_px=seen, rings_px=seen, camera={"parameters": lens, "k3": 0.02})
    stored = corrected(before_px=seen, rings_px=seen, camera={"parameters": [*lens, 0.02]})
    assert own["face_area"]["value"] == pytest.approx(1200.0)
    assert stored == own


def test_a_point_of_the_photo_has_its_place_on_the_part() -> None:
    point = [2000.0 + 3 * PX, 1500.0 - 7 * PX]
    request = PlaceRequest(part=plate(), before_px=[RING], points_px=[point], camera=CAMERA)
    assert places_mm(request) == [[3.0, 7.0]]


def test_regions_drawn_on_the_photo_are_taken_from_the_face() -> None:
    band = {
        "kind": "stop_off",
        "ring_px": [[1800, 1600], [2200, 1600], [2200, 1800], [1800, 1800]],
    }
    after = corrected(rings_px=[RING], regions=[band])
    free = 30 / 2 + 100 / PX  # all above the band's edge, 100 px below the middle
    assert after["plated_area"]["value"] == pytest.approx(40 * free)
    assert after["corrected"] is False
    again = corrected(part={**plate(), **after}, rings_px=[RING], regions=[band])
    assert again["plated_area"]["value"] == pytest.approx(after["plated_area"]["value"])


STEM = [[2000.0 + x * PX, 1500.0 - y * PX] for x, y in ((5, -25), (9, -25), (9, 25), (5, 25))]
CROSSED, ASIDE = STEM[::2] + STEM[1::2], [[x + 900, y] for x, y in STEM]
"""A band of 4 mm across the plate, 4 mm beside its middle, drawn past its edges."""


def test_a_drawn_region_has_its_form_like_a_written_one() -> None:
    part = {**plate(), "faces": "all", "thickness": {"value": 1.0, "unit": "mm", "budget": {}}}
    words = "form round, ends none"
    drawn = corrected(part=part, rings_px=[RING], regions=[{"kind": "form", "ring_px": STEM, "words": words}])
    typed = find_surfaces(
        SurfaceRequest(
            shapes=("rectangle 40 x 30 mm",),
            thickness="1 ± 0 mm",
            regions=(f"rectangle 4 x 50 mm, at 7 0 mm: {words}",),
        )
    )
    assert [one["form"] for one in drawn["form_regions"]] == ["round"]
    assert drawn["plated_area"]["value"] == pytest.approx(typed.plated.value, rel=5e-4)
    assert drawn["plated_area"]["budget"]["edge of region 1"] != 0.0
    assert "REGIONS_DRAWN" in [one["code"] for one in drawn["flags"]]
    again = part_from_body(json.loads(json.dumps(drawn)))
    assert [one.text for one in again.regions] == [words]
    assert plated_surface(again).plated.value == pytest.approx(drawn["plated_area"]["value"])


def test_a_finer_hand_knows_the_seam_better() -> None:
    part = {**plate(), "faces": "all", "thickness": {"value": 1.0, "unit": "mm", "budget": {}}}
    region = {"kind": "form", "ring_px": STEM, "words": "form round, ends none"}
    shares = [
        corrected(part=part, rings_px=[RING], regions=[region], hand=hand)["plated_area"]["budget"]["edge of region 1"]
        for hand in ("0.2 mm", "0.6 mm")
    ]
    assert shares[1] == pytest.approx(3.0 * shares[0], rel=1e-3)


@pytest.mark.parametrize(
    ("changes", "error", "told"),
    [
        ({"rings_px": []}, InputError, "has no ring"),
        ({"rings_px": [RING[:2]]}, InputError, "fewer than three points"),
        ({"rings_px": [[*RING[:3], [math.nan, 0.0]]]}, InputError, "no number"),
        ({"rings_px": [[*RING[:3], [HUGE, 0.0]]]}, InputError, "no number"),
        ({"rings_px": [RING * 30_000]}, InputError, "points; 3 to 50000 are read"),
        ({"camera": {}}, InputError, "camera of the measurement is missing"),
        ({"camera": {"parameters": [HUGE] * 13}}, InputError, "camera of the measurement is missing"),
        ({"camera": {"parameters": STRAIGHT, "k3": HUGE}}, InputError, "camera of the measurement is missing"),
        ({"camera": {"parameters": STRAIGHT, "k3": math.nan}}, InputError, "camera of the measurement is missing"),
        ({"camera": {"parameters": [-709.0, *STRAIGHT[1:]]}}, InputError, "does not see every point"),
        ({"hand": "11 mm"}, RangeError, "11 mm is outside 0 to 10 mm"),
        ({"regions": [{"kind": "window"}]}, InputError, "is no region"),
        ({"regions": [{"kind": "form", "ring_px": RING, "words": 3}]}, InputError, "is no region"),
        ({"regions": [{"kind": "form", "ring_px": STEM}]}, InputError, "not understood of a region"),
        ({"regions": [{"kind": "form", "ring_px": STEM, "words": "form oval"}]}, InputError, "is not a form"),
        ({"regions": [{"kind": "form", "ring_px": CROSSED, "words": "form round"}]}, AreakitError, "not sound"),
        ({"regions": [{"kind": "form", "ring_px": ASIDE, "words": "form round"}]}, InputError, "lies on no part"),
        ({"regions": [{}] * 51}, InputError, "51 regions were drawn; 50 are read"),
        ({"part": {**plate(), "faces": "top"}}, InputError, "'top' is not a choice of faces"),
        ({"part": {**plate(), "flags": [{"code": "DIM"}]}}, InputError, "note of the part cannot be read"),
        ({"part": {**plate(), "perimeter": {}}}, InputError, "lacks its outline, area or perimeter"),
        ({"part": {**plate(), "thickness": {"value": 1.0, "unit": "um"}}}, InputError, "'um' where mm is due"),
        ({"part": {**plate(), "regions": {"hand_mm": HUGE, "drawn": []}}}, InputError, "drawn region of the part"),
        ({"part": {**plate(), "outline": {"type": "Point", "coordinates": [1, 2]}}}, AreakitError, "not a polygon"),
        ({"part": {**plate(), "outline": {"type": "Polygon", "coordinates": [[[HUGE, 0]] * 4]}}}, AreakitError,
         "cannot be read as a polygon"),
    ],
)  # fmt: skip
def test_what_no_measurement_gave_is_refused_in_one_sentence(
    changes: dict[str, Any], error: type[AreakitError], told: str
) -> None:
    with pytest.raises(error, match=told) as caught:
        corrected(**changes)
    assert caught.value.remedy


@pytest.mark.parametrize("points", [[], [[math.inf, 1.0]], [["here", 1.0]], [[HUGE, 1.0]]])
def test_a_point_that_is_none_has_no_place(points: list[list[Any]]) -> None:
    with pytest.raises(InputError, match="no point, or one that is no number"):
        places_mm(PlaceRequest(part=plate(), before_px=[RING], points_px=points, camera=CAMERA))
