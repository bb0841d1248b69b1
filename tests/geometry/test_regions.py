"""Parts of several forms: closed forms, a mesh of the joined solid, seams that are no edges."""

import math

import numpy as np
import pytest
from shapely.geometry import Point, Polygon, box
from skimage.measure import marching_cubes, mesh_surface_area

from areakit.errors import InputError, OutlineInvalid, RangeError
from areakit.geometry.drawing import drawn_outline
from areakit.geometry.drawn_regions import read_region_words, split_region
from areakit.geometry.features import Mask
from areakit.geometry.forms.seen import View
from areakit.geometry.part import Faces, Part, thickness_mm
from areakit.geometry.regions import FormRegion, depth_in
from areakit.geometry.surface import JOINT_SHARE, Surface, plated_surface

DISC = Point(0, 0).buffer(10, quad_segs=256)
STEM = box(-1, -40, 1, 0)
PIN = DISC.union(STEM)
BELOW = box(-3, -41, 3, -9.95)


def region(place: Polygon, words: str, edge: float = 0.1) -> FormRegion:
    form, thickness = read_region_words(words)
    return FormRegion(region=place, form=form, thickness=thickness, edge_mm=edge, text=words)


def joined(
    whole: Polygon,
    *regions: FormRegion,
    thickness: float | None = 1.0,
    faces: Faces = "all",
    view: View | None = None,
    masks: tuple[Mask, ...] = (),
) -> Surface:
    outline = drawn_outline(whole, sagitta_mm=1e-4)
    thick = None if thickness is None else thickness_mm(thickness, 0.0)
    return plated_surface(Part(outline=outline, thickness=thick, faces=faces, regions=regions, view=view, masks=masks))


def meshed(disc_t: float, wire_d: float, *, middled: bool, step: float) -> float:
    """Return the surface of a disc and a wire in one, by marching cubes over the distance to it. [mm2]"""
    x, y, z = np.meshgrid(
        np.arange(-10.97, 11, step), np.arange(-41.03, 11, step), np.arange(-0.98, 3.2, step), indexing="ij"
    )
    low = (wire_d - disc_t) / 2.0 if middled else 0.0
    disc = np.maximum(np.hypot(x, y) - 10.0, np.abs(z - low - disc_t / 2.0) - disc_t / 2.0)
    wire = np.maximum(np.hypot(x, z - wire_d / 2.0) - wire_d / 2.0, np.maximum(-40.0 - y, y + 9.95))
    points, faces, _, _ = marching_cubes(np.minimum(disc, wire), 0.0, spacing=(step, step, step))
    return float(mesh_surface_area(points, faces))


def solid_surface(disc_t: float, wire_d: float, *, middled: bool) -> float:
    """Return what meshes of two steps tend to: each bevels the sharp edges by a share of its step. [mm2]"""
    coarse, fine = (meshed(disc_t, wire_d, middled=middled, step=step) for step in (0.24, 0.12))
    return 2.0 * fine - coarse


@pytest.mark.filterwarnings("ignore:Setting the shape on a NumPy array")  # inside the meshing library
@pytest.mark.parametrize("middled", [True, False])
def test_a_disc_with_a_wire_stem_has_the_surface_of_a_mesh_of_both_in_one(middled: bool) -> None:
    found = joined(PIN, region(BELOW, "form round, ends flat"))
    mesh = solid_surface(1.0, 2.0, middled=middled)
    assert found.plated.value == pytest.approx(mesh, rel=3e-3)
    closed = 2 * math.pi * 100 + 20 * math.pi + math.pi * 2 * 30.05 + math.pi  # disc, its rim, wire, its free end
    assert found.plated.value == pytest.approx(closed, rel=1e-3)


def test_regions_of_one_kind_and_thickness_are_the_part_without_regions() -> None:
    whole = joined(PIN)
    cut = joined(PIN, region(BELOW, "thickness 1 mm"))
    assert cut.plated.value == pytest.approx(whole.plated.value, rel=1e-7)
    assert not any("at region" in line.name for line in cut.lines)


def test_what_is_thicker_keeps_its_step_and_the_seam_has_no_wall() -> None:
    plate = box(0, 0, 40, 10)
    found = joined(plate, region(box(20, -1, 41, 11), "thickness 3 ± 0.01 mm"))
    walls = sum(line.area.value for line in found.lines if line.side == "wall")
    assert walls == pytest.approx((20 + 10 + 20) * 1.0 + (20 + 10 + 20) * 3.0 + 10 * (3.0 - 1.0), rel=1e-6)
    step = next(line.area for line in found.lines if line.name == "region 1, at rest")
    assert step.value == pytest.approx(20.0)


def test_round_and_turned_say_the_same_of_a_rod() -> None:
    one = joined(PIN, region(BELOW, "form round, ends flat")).plated.value
    other = joined(PIN, region(BELOW, "form turned")).plated.value
    assert one == pytest.approx(other, rel=1e-4)


def test_an_end_at_a_seam_is_no_end_and_a_stem_between_two_leaves_has_none() -> None:
    two = PIN.union(Point(0, -50).buffer(10.05, quad_segs=256))
    found = joined(two, region(box(-3, -40.05, 3, -9.95), "form round"))
    assert found.figures["region 1 loose ends"].value == 0.0
    assert not any(line.name == "region 1 ends" for line in found.lines)
    assert {line.name for line in found.lines} >= {"rest 1 front face", "rest 2 front face"}
    assert "ENDS_ASKED" not in {told.code for told in found.flags}


def test_a_seam_drawn_to_one_side_gives_to_one_piece_what_it_takes_from_the_other() -> None:
    plate = box(0, 0, 40, 10)
    same = joined(plate, region(box(20, -1, 41, 11), "thickness 1 mm", edge=0.5))
    assert same.plated.budget.get("edge of region 1", 0.0) == pytest.approx(0.0, abs=1e-9)
    wire = joined(box(0, 0, 40, 4), region(box(20, -1, 41, 5), "form round, ends flat", edge=0.5), faces="front")
    # 4 mm of seam, 0.5 mm to one side: pi times the strip more, one face of it less.
    assert wire.plated.budget["edge of region 1"] == pytest.approx(4 * 0.5 * (math.pi - 1.0), rel=0.02)


def test_the_doubt_of_a_joint_is_a_tenth_of_what_it_hides() -> None:
    found = joined(box(0, 0, 40, 4), region(box(20, -1, 41, 5), "form bent, width 3 mm"))
    hidden = 4.0 * 1.0  # the sheet is 1 mm thick; resting or middle on middle, the strip behind it is higher
    assert found.plated.budget["form: seam"] == pytest.approx(-2 * JOINT_SHARE * hidden)
    assert JOINT_SHARE == 0.1
    sheet = joined(box(0, 0, 40, 4), region(box(20, -1, 41, 5), "thickness 3 ± 0.01 mm"))
    assert "form: seam" not in {name for name, share in sheet.plated.budget.items() if share}


def test_tolerances_of_two_regions_are_their_own() -> None:
    plate = box(0, 0, 60, 10)
    found = joined(
        plate,
        region(box(20, -1, 40, 11), "thickness 3 ± 0.1 mm"),
        region(box(40, -1, 61, 11), "thickness 2 ± 0.1 mm"),
    )
    assert {"region 1 thickness", "region 2 thickness"} <= set(found.plated.budget)


def test_a_thin_region_far_below_the_level_of_the_outline_is_larger_than_it_was_read() -> None:
    view = View(x_mm=0.0, y_mm=0.0, height_mm=200.0, level_mm=10.0)
    found = joined(box(-20, -5, 20, 5), region(box(0, -6, 21, 6), "thickness 0.0001 mm"), thickness=10.0, view=view)
    flat = {line.name: line.area.value for line in found.lines if "front" in line.name}
    assert flat["front face"] == pytest.approx(200.0)
    assert flat["region 1 front face"] == pytest.approx(200.0 * (200.0 / 190.0) ** 2, rel=1e-5)


def test_a_stop_off_over_leaf_and_stem_takes_from_both() -> None:
    stop = Mask(region=box(-20, -15, 20, 0), keep=False, sides=frozenset({"front", "back"}))
    bare, found = (joined(PIN, region(BELOW, "form round, ends flat"), masks=masks) for masks in ((), (stop,)))
    gone = {line.name: line.area.value for line in found.lines if "stopped off" in line.name}
    assert gone["front stopped off"] == pytest.approx(gone["back stopped off"])
    assert gone["region 1 outside stopped off"] == pytest.approx(-math.pi * 2 * 5.05, rel=0.05)
    assert found.plated.value < bare.plated.value


def test_regions_that_make_no_sense_are_refused_with_what_to_do() -> None:
    with pytest.raises(RangeError, match="outside the part"):
        joined(PIN, region(box(50, 50, 60, 60), "form round"))
    with pytest.raises(RangeError, match=r"over another by"):
        joined(PIN, region(BELOW, "form round"), region(box(-3, -20, 3, -12), "thickness 2 mm"))
    with pytest.raises(OutlineInvalid, match="thin strip"):
        joined(PIN, region(box(-0.95, -41, 3, -9.95), "form round"))
    with pytest.raises(RangeError, match="height is not known"):
        joined(PIN, region(BELOW, "form round"), thickness=None)


def test_a_strip_as_wide_as_wire_is_no_sliver() -> None:
    thin = joined(PIN, region(box(-0.95, -41, 3, -9.95), "thickness 0.5 mm", edge=0.001))
    assert thin.plated.value > 0.0


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("rectangle 3 x 20 mm", "does not describe a region"),
        ("form round", "does not describe a region"),
        ("disk 3 mm: form ", "does not describe a region"),
    ],
)
def test_text_without_place_or_words_is_refused(text: str, wrong: str) -> None:
    with pytest.raises(InputError, match=wrong):
        split_region(text)


def test_words_of_a_region_are_form_and_thickness_once_each() -> None:
    assert split_region("C:\\stem.dxf: form round, ends flat") == ("C:\\stem.dxf", "form round, ends flat")
    for words in ("faces all", "form round; form round", "form round; thickness 1 mm"):
        with pytest.raises(InputError):
            read_region_words(words)
    assert read_region_words("form flat; thickness 0.3 mm")[0] is None


@pytest.mark.parametrize(("x", "y", "depth"), [(2, 5, 2.0), (5, 5, -1.0), (-3, 5, -3.0), (0, 0, 0.0)])
def test_depth_is_the_distance_to_the_edge_and_negative_outside_and_in_holes(x: float, y: float, depth: float) -> None:
    frame = box(0, 0, 10, 10).difference(box(4, 4, 6, 6))
    assert depth_in(frame, x, y) == pytest.approx(depth)
