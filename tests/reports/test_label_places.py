"""Labels of the overlay against the outlines as polygons: over no edge, no other part, no other label."""

import numpy as np
import numpy.typing as npt
import pytest
from shapely.geometry import LineString, Point, Polygon, box

from areakit.reports.field_ruler import Field, Tick
from areakit.reports.label_places import Named, Place, place_labels
from areakit.reports.overlay import Labelled, Overlay, compose

Floats = npt.NDArray[np.float64]
SIZE = (1600, 1200)


def ring(x: float, y: float, radius: float, lobes: int = 0) -> Floats:
    angle = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    reach = radius * (1 + (0.25 * np.cos(lobes * angle) if lobes else 0.0))
    return np.array([x, y]) + np.column_stack([reach * np.cos(angle), reach * np.sin(angle)])


def crowd(count: int, seed: int) -> list[Named]:
    """Lobed parts with a hole each, on a grid that leaves about a third of a radius between them."""
    rng = np.random.default_rng(seed)
    across = int(np.ceil(np.sqrt(count * 4 / 3)))
    step = SIZE[0] / (across + 0.5)
    named = []
    for i in range(count):
        x, y = step * (i % across + 0.75), step * (i // across + 0.75)
        radius = step * rng.uniform(0.25, 0.4)
        named.append(Named(rings_px=(ring(x, y, radius, 5), ring(x, y, 0.25 * radius)), size_px=(38.0, 26.0)))
    return named


def check(named: list[Named], places: list[Place | None], size: tuple[int, int] = SIZE) -> None:
    boxes = [None if place is None else box(*place.box) for place in places]
    for i, label in enumerate(boxes):
        if label is None:
            continue
        assert box(0, 0, *size).contains(label)
        for j, one in enumerate(named):
            for edge in one.rings_px:
                assert not label.intersects(Polygon(edge).exterior), (i, j)
            assert i == j or not label.intersects(Polygon(one.rings_px[0])), (i, j)
            assert i == j or boxes[j] is None or not label.intersects(boxes[j]), (i, j)


@pytest.mark.thorough
@pytest.mark.parametrize(("count", "seed"), [(1, 0), (5, 1), (12, 2), (40, 3), (108, 4)])
def test_no_label_lies_over_an_edge_another_part_or_another_label(count: int, seed: int) -> None:
    named = crowd(count, seed)
    places = place_labels(named, SIZE)
    check(named, places)
    found = sum(place is not None for place in places)
    assert found == count or (count > 40 and found > 0.7 * count)  # side by side, some have no room


def test_a_line_leads_from_each_label_to_its_own_part_and_crosses_no_other() -> None:
    named = crowd(40, 5)
    for i, place in enumerate(place_labels(named, SIZE)):
        assert place is not None
        if place.leader is None:
            assert Polygon(named[i].rings_px[0]).contains(box(*place.box))
            continue
        start, end = place.leader
        assert box(*place.box).distance(Point(start)) < 1.0
        assert Polygon(named[i].rings_px[0]).exterior.distance(Point(end)) < 1.0
        crossed = [j for j, one in enumerate(named) if LineString(place.leader).intersects(Polygon(one.rings_px[0]))]
        assert set(crossed) <= {i}


def test_a_lone_part_is_named_below_itself_and_near() -> None:
    alone = Named(rings_px=(ring(800, 500, 200),), size_px=(180.0, 30.0))
    (place,) = place_labels([alone], SIZE)
    assert place is not None
    assert place.box[1] > 500
    assert Polygon(alone.rings_px[0]).distance(box(*place.box)) < 40


def test_boxes_that_are_taken_stay_free() -> None:
    alone = Named(rings_px=(ring(800, 500, 200),), size_px=(180.0, 30.0))
    taken = (0.0, 600.0, 1600.0, 1200.0)
    (place,) = place_labels([alone], SIZE, taken=[taken])
    assert place is not None
    assert not box(*place.box).intersects(box(*taken))


def test_a_part_that_fills_the_picture_is_named_on_its_face() -> None:
    full = Named(rings_px=(ring(800, 600, 1100), ring(800, 600, 100)), size_px=(180.0, 30.0))
    (place,) = place_labels([full], SIZE)
    assert place is not None
    assert place.leader is None
    check([full], [place])


def test_a_label_that_fits_nowhere_is_left_away() -> None:
    wide = Named(rings_px=(ring(800, 600, 300),), size_px=(1700.0, 30.0))
    assert place_labels([wide], SIZE) == [None]


# In the overlay

GREY = np.full((3000, 4000, 3), 128, dtype=np.uint8)


def field(left: float, top: float, right: float, bottom: float) -> Field:
    """A field of ten pixels a millimetre, seen from straight above."""
    across, down = np.arange(left, right + 1, 100), np.arange(top, bottom + 1, 100)

    def side(points: list[tuple[float, float]], out: tuple[float, float]) -> tuple[Tick, ...]:
        return tuple(Tick(at_px=np.array(p), out_px=np.array(p) + out, text=f"{10 * i}") for i, p in enumerate(points))

    return Field(
        edge_px=np.array([(left, top), (right, top), (right, bottom), (left, bottom)]),
        sides=(
            side([(x, top) for x in across], (0, -50)),
            side([(x, bottom) for x in across], (0, 50)),
            side([(left, y) for y in down], (-50, 0)),
            side([(right, y) for y in down], (50, 0)),
        ),
        shown_px=np.array([(left - 150, top - 150), (right + 150, bottom + 150)]),
    )


def drawn(count: int) -> Overlay:
    rng = np.random.default_rng(9)
    across = int(np.ceil(np.sqrt(count * 1.5)))
    step = 1800 / across
    parts = [
        Labelled(
            rings_px=(ring(1100 + step * (i % across + 0.5), 900 + step * (i // across + 0.5), step * 0.3, 5),),
            lines=(f"{i + 1}",),
        )
        for i in range(count)
    ]
    rng.shuffle(parts)  # type: ignore[arg-type]
    crossing = Labelled(rings_px=(ring(2950, 2000, 150),), lines=("not measured:", "it crosses"), kind="left out")
    return compose(GREY, [*parts, crossing], "caption", field=field(1000, 800, 3000, 2200))


@pytest.mark.parametrize("count", [3, 40])
def test_the_labels_of_an_overlay_keep_clear_of_all_edges(count: int) -> None:
    overlay = drawn(count)
    named = [Named(rings_px=part.rings_px, size_px=(0, 0)) for part in overlay.parts]
    assert all(place is not None for place in overlay.places)
    check(named, list(overlay.places), overlay.image.size)


def test_only_the_sheet_is_shown() -> None:
    overlay = drawn(3)
    # 2000 px of field, 150 px of frame on either side, of 4000 px of photo; at 2000 px the field is 1739 px wide
    wide = [np.ptp(part.rings_px[0][:, 0]) for part in overlay.parts if part.kind == "part"]
    assert overlay.image.width == 2000
    assert wide[0] / (2 * 0.3 * 1.25 * 1800 / 3) == pytest.approx(2000 / 2300, rel=0.1)


def test_ticks_stand_every_ten_millimetres_along_the_edge() -> None:
    overlay = compose(GREY, [], "", field=field(1000, 800, 3000, 2200))
    pixels = np.asarray(overlay.image).astype(int)
    scale = 2000 / 2300
    row = round((800 - 650) * scale) - 4  # just above the upper edge of the field
    dark = np.flatnonzero(pixels[row].max(axis=1) < 60)
    steps = {round((x / scale + 850 - 1000) / 100) for x in dark}
    assert steps == set(range(21))
    off = [(x / scale + 850 - 1000) - 100 * round((x / scale + 850 - 1000) / 100) for x in dark]
    between = [o for o, x in zip(off, dark, strict=True) if 1050 < x / scale + 850 < 2950]  # figures of the sides stand
    assert len(between) > 19  # at the corners
    assert np.abs(between).max() < 6


def test_what_was_left_out_is_drawn_dashed_and_the_field_in_white() -> None:
    overlay = drawn(3)
    pixels = np.asarray(overlay.image).astype(int)
    (left_out,) = [part for part in overlay.parts if part.kind == "left out"]
    at = np.rint(left_out.rings_px[0]).astype(int)
    red = np.abs(pixels[at[:, 1], at[:, 0]] - left_out.colour).max(axis=1) < 40
    assert 0.3 < red.mean() < 0.7


def test_labels_that_find_no_room_are_told_of_in_the_caption() -> None:
    small = np.full((120, 200, 3), 128, dtype=np.uint8)
    part = Labelled(rings_px=(ring(100, 60, 40),), lines=("7:  a label far too wide for the picture it is in, by far",))
    without = compose(small, [], "").image
    overlay = compose(small, [part], "")
    assert overlay.places == (None,)
    assert (np.asarray(without)[120:] == 255).all()
    assert (np.asarray(overlay.image)[120:] < 100).any()
