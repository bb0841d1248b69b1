"""What each form leaves open, by closed forms, and both sides of what it refuses or asks about."""

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon, box

from areakit.errors import AreakitError, OutlineInvalid, RangeError
from areakit.geometry.forms import axis as axes
from areakit.geometry.forms import round as rounds
from areakit.geometry.forms import turned
from areakit.geometry.forms.axis import Axis, symmetry_axes
from areakit.geometry.forms.middle import middle_line
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.words import read_form
from areakit.geometry.surface import Surface
from areakit.uncertainty import Measured, exact
from tests.geometry.forms.solids import disk, formed, rod

ROOT3 = math.sqrt(3.0)
ABOVE = View(x_mm=0.0, y_mm=0.0, height_mm=300.0)


def line_of(surface: Surface, name: str) -> Measured:
    (area,) = [line.area for line in surface.lines if line.name == name]
    return area


def refused(polygon: Polygon | None, words: str) -> str | None:
    """The message of a refusal, None where there is none."""
    try:
        formed(polygon, words)
    except AreakitError as error:
        return error.message
    return None


# The axis of an outline


@pytest.mark.parametrize(
    ("dips", "found"),
    [
        ({0.0: 0.02, 90.0: 0.029}, 2), ({0.0: 0.02, 90.0: 0.031}, 1),
        ({0.0: 0.001, 90.0: 0.009}, 2), ({0.0: 0.001, 90.0: 0.011}, 1),
        ({30.0: 0.02, 49.0: 0.02}, 1), ({30.0: 0.02, 51.0: 0.02}, 2),
    ],
)  # fmt: skip
def test_another_axis_is_alike_within_half_as_much_again_or_a_hundredth_and_twenty_degrees_away(
    monkeypatch: pytest.MonkeyPatch, dips: dict[float, float], found: int
) -> None:
    def differ(polygon: Polygon, angle: float) -> float:
        return min(least + 0.01 * abs((angle - at + 90.0) % 180.0 - 90.0) for at, least in dips.items())

    monkeypatch.setattr(axes, "asymmetry", differ)
    assert len(symmetry_axes(box(0, 0, 10, 5))) == found


# Bands


def test_a_comfort_fit_rises_by_a_quarter_of_its_wall_and_is_open_from_nothing_to_twice_that() -> None:
    """Bore of 17 mm, wall of 1.5 mm, 4 mm wide: an arc that rises by 0.375 mm, turned about the axis, by numbers."""

    def inside(rise: float) -> float:
        x = np.linspace(-2.0, 2.0, 20_001)
        radius = (4.0 + rise**2) / (2.0 * rise)
        y = 8.5 + radius - np.sqrt(radius**2 - x**2)
        return float(np.sum(math.pi * (y[1:] + y[:-1]) * np.hypot(np.diff(x), np.diff(y))))

    found = formed(None, "band, diameter 20 mm, bore 17 mm, width 4 mm, profile comfort")
    within, edges = line_of(found, "inside"), line_of(found, "edges")
    plain = 17.0 * math.pi * 4.0
    assert within.value == pytest.approx(inside(0.375), rel=1e-4)
    assert within.budget["form: profile"] == pytest.approx(
        (inside(0.75) / plain - 1.0) / 2.0 / ROOT3 * within.value, rel=1e-3
    )
    narrower = 2.0 * 17.0 * math.pi * 0.375
    assert edges.value == pytest.approx(math.pi / 2.0 * (400.0 - 289.0) - narrower, rel=1e-4)
    assert edges.budget["form: profile"] == pytest.approx(-narrower / ROOT3, rel=1e-4)


@pytest.mark.parametrize(("longer", "said"), [(0.039, None), (0.046, "7 % out of round")])
def test_a_band_is_round_to_three_hundredths(longer: float, said: str | None) -> None:
    """Half axes of 1 + e and 1 - e: the radius strays by e over root 2."""
    ring = affinity.scale(disk(20).difference(disk(16)), 1.0 + longer, 1.0 - longer)
    found = refused(ring, "band, width 4 mm")
    assert found is None if said is None else said in str(found)


@pytest.mark.parametrize(("cut", "said"), [(0.06, None), (0.08, "fills 92 % of its rectangle")])
def test_a_band_from_the_side_fills_its_rectangle(cut: float, said: str | None) -> None:
    """A corner of so much of the rectangle is cut off."""
    side = math.sqrt(2.0 * cut * 80.0)
    found = refused(
        box(0, 0, 20, 4).difference(Polygon([(0, 0), (side * 2, 0), (0, side / 2)])), "band, seen side, wall 1 mm"
    )
    assert found is None if said is None else said in str(found)


# Strips and wire


@pytest.mark.parametrize("words", ["bent, width 8 mm", "round, ends flat"])
@pytest.mark.parametrize(("length", "kept"), [(6.4, True), (5.6, False)])
def test_strip_and_wire_are_three_times_as_long_as_thick(words: str, length: float, kept: bool) -> None:
    found = refused(rod(length, 2.0), words)
    assert found is None if kept else "times as long as" in str(found)


def wire(*ends: float, **more: Any) -> Any:
    """A middle line along x with half widths of its ends, each 100 mm from the camera's foot."""
    tips = np.array([[100.0 * (-1.0) ** i, 0.0] for i in range(len(ends))]).reshape(-1, 2)
    given = {"ends": np.array(ends), "tips": tips, "headings": tips / 100.0, "half_widths": np.ones(9), "forks": 0}
    return SimpleNamespace(**{**given, **more})


@pytest.mark.parametrize(
    ("words", "taken", "open_"),
    [("round, ends flat", 1.0, 0.2), ("round, ends round", 0.0, 0.2), ("round", 0.5, 0.5 / ROOT3)],
)
def test_of_a_flat_end_seen_aslant_half_an_ellipse_counts_as_outside(words: str, taken: float, open_: float) -> None:
    """Half widths of 2 mm, a third of a right-angled triangle aslant: pi r^2 / 2 times a third each."""
    shown = 2.0 * math.pi * 4.0 / 2.0 / 3.0
    found = rounds._less_seen_ends(exact(1000.0, "mm2"), wire(2.0, 2.0), read_form(words), ABOVE)
    assert found.value == pytest.approx(1000.0 - taken * shown)
    assert found.budget["form: ends seen aslant"] == pytest.approx(open_ * shown)


@pytest.mark.parametrize(("open_mm", "up"), [(0.0, 0.5), (1.2, 1.3)])
def test_an_axis_lies_half_a_radius_higher_or_lower_and_as_open_as_its_level(open_mm: float, up: float) -> None:
    """Of a wire of 1 mm radius, 300 mm below the camera: lengths and widths go as the height."""
    view = View(x_mm=0.0, y_mm=0.0, height_mm=300.0, level_open_mm=open_mm)
    line = wire(1.0, 1.0, scatter=lambda: 0.02)
    found = rounds._with_form_shares(exact(500.0, "mm2"), line, np.ones(9), view)
    assert found.budget["form: height of the axis"] == pytest.approx(2.0 * up / 300.0 * 500.0)
    assert found.budget["form: width of the stock"] == pytest.approx(10.0)


def test_a_crossing_hides_what_a_right_angle_does_within_fifteen_hundredths() -> None:
    """Of 2 mm wire pi d^2 each; where nobody says how many of those seen there are, half of it with the rest open."""
    area, flags = rounds._crossings(wire(forks=4), read_form("round, crossings 2"), np.ones(9))
    assert (area.value, flags) == (pytest.approx(8.0 * math.pi), [])
    assert area.budget["form: crossings"] == pytest.approx(0.15 * 8.0 * math.pi)
    asked, flags = rounds._crossings(wire(forks=4), read_form("round"), np.ones(9))
    assert asked.value == pytest.approx(4.0 * math.pi)
    assert asked.budget["form: crossings"] == pytest.approx(4.0 * math.pi / ROOT3)
    assert [flag.code for flag in flags] == ["CROSSINGS_ASKED"]
    assert rounds._crossings(wire(forks=0), read_form("round"), np.ones(9)) == (exact(0.0, "mm2"), [])


def test_ends_add_a_disc_or_half_a_sphere_less_what_is_seen_of_it() -> None:
    """Of 2 mm wire: pi each flat; a half sphere has 2 pi r^2, of which pi times half a disc was counted."""
    lateral = Measured(value=1000.0, unit="mm2", budget={"edge": 20.0})
    flat, _ = rounds._ends(wire(1.0, 1.0), read_form("round, ends flat"), np.ones(9), lateral)
    assert (flat.value, flat.budget["form: ends"]) == (pytest.approx(2.0 * math.pi), pytest.approx(0.04 * math.pi))
    half_sphere = 2.0 * math.pi - math.pi * math.pi / 2.0
    ball, _ = rounds._ends(wire(1.0, 1.0), read_form("round, ends round"), np.ones(9), lateral)
    assert ball.value == pytest.approx(2.0 * half_sphere)
    unsaid, _ = rounds._ends(wire(1.0, 1.0), read_form("round"), np.ones(9), lateral)
    assert unsaid.value == pytest.approx(math.pi + half_sphere)
    spread = math.hypot((math.pi - half_sphere) / ROOT3, 0.02 * (math.pi + half_sphere))
    assert unsaid.budget["form: ends"] == pytest.approx(spread)


@pytest.mark.parametrize(("lateral", "told"), [(345.0, ["ENDS_ASKED"]), (375.0, [])])
def test_ends_are_asked_about_from_half_a_percent_on(lateral: float, told: list[str]) -> None:
    """Half the difference between flat and round ends of 2 mm wire is 1.79 mm2: half a percent of 359."""
    _, flags = rounds._ends(wire(1.0, 1.0), read_form("round"), np.ones(9), exact(lateral, "mm2"))
    assert [flag.code for flag in flags] == told


@pytest.mark.parametrize(("away", "loose"), [(1.9, 0), (2.1, 1)])
def test_an_end_within_two_half_widths_of_a_seam_goes_on_there(away: float, loose: int) -> None:
    line = rounds.MiddleLine(
        points=np.zeros((4, 2)), normals=np.zeros((4, 2)), steps=np.ones(4), half_widths=np.ones(4),
        clear=np.ones(4, dtype=bool), ends=np.array([1.0]), tips=np.array([[away, 0.0]]),
        headings=np.array([[-1.0, 0.0]]), forks=0,
    )  # fmt: skip
    outline: Any = SimpleNamespace(seam=LineString([(0, -5), (0, 5)]))
    assert len(rounds._loose(line, outline).ends) == loose


# Rods with a profile that repeats


@pytest.mark.parametrize(("angle", "kept"), [(29.0, False), (31.0, True), (149.0, True), (151.0, False)])
def test_the_grooves_of_a_knurl_have_thirty_to_a_hundred_and_fifty_degrees(angle: float, kept: bool) -> None:
    found = refused(None, f"knurl, diameter 50 mm, pitch 0.2 mm, angle {angle} deg, length 200 mm")
    assert found is None if kept else "outside 30° to 150°" in str(found)


def test_a_tenth_of_what_a_knurl_adds_is_open_for_worn_tips() -> None:
    factor = formed(None, "knurl, diameter 100 mm, pitch 1 mm, length 400 mm").figures["surface over a plain rod"]
    assert factor.budget["form: worn tips"] == pytest.approx(0.1 * (math.sqrt(2.0) * 0.995 - 1.0))


@pytest.mark.parametrize(
    ("words", "kept"),
    [
        ("reeding, diameter 50 mm, pitch 1 mm, depth 0.5 mm, length 200 mm", True),
        ("reeding, diameter 50 mm, pitch 1 mm, depth 0.51 mm, length 200 mm", False),
        # ISO 68-1: 5/8 of root 3 / 2 of the pitch on either side are 1.0825 of it.
        ("thread, diameter 2 mm, pitch 1.84 mm, length 20 mm", True),
        ("thread, diameter 2 mm, pitch 1.86 mm, length 20 mm", False),
        ("chain, pitch 3 mm, wire 1 mm, width 2.01 mm, length 32 mm", True),
        ("chain, pitch 3 mm, wire 1 mm, width 2 mm, length 32 mm", False),
        ("chain, pitch 2.99 mm, wire 1 mm, width 5 mm, length 32 mm", False),
        ("round, crossings 1000, diameter 2 mm, length 40 mm", True),
        ("round, crossings 1001, diameter 2 mm, length 40 mm", False),
        ("round, diameter 2 mm, length 9999 mm", True),
        ("round, diameter 2 mm, length 10001 mm", False),
        ("round, diameter 2 mm, length 40 mm" + 266 * " ", True),
        ("round, diameter 2 mm, length 40 mm" + 267 * " ", False),
    ],
)
def test_what_a_form_with_its_figures_may_be(words: str, kept: bool) -> None:
    if words.startswith("round"):  # read, not laid out: ten metres of wire take long
        try:
            read_form(words)
        except AreakitError:
            assert not kept
        else:
            assert kept
        return
    assert (refused(None, words) is None) == kept


def test_a_fifth_of_what_shows_of_the_ends_of_a_rod_is_open() -> None:
    """A camera 250 mm above the middle sees of each end of a rod 3 mm thick 3 x 10 / 250 mm, at the sheet's level."""
    view = View(x_mm=0.0, y_mm=0.0, height_mm=250.0)
    length = formed(box(-10, -3, 10, 3), "thread, pitch 1 mm", view=view).figures["length"]
    assert length.budget["form: ends seen aslant"] == pytest.approx(0.2 * 2.0 * 3.0 * 10.0 / 250.0, rel=0.02)
    assert length.value == pytest.approx(20.0 * (250.0 - 3.0) / 250.0 - 2.0 * 3.0 * 10.0 / 250.0, rel=1e-3)


# Turned parts


@pytest.mark.parametrize(("differ", "kept"), [(0.115, True), (0.125, False)])
def test_the_halves_of_a_turned_part_differ_by_twelve_hundredths_at_most(
    monkeypatch: pytest.MonkeyPatch, differ: float, kept: bool
) -> None:
    """A quarter of the difference is open: half of it lies on either half, and half of that is out."""
    monkeypatch.setattr(turned, "symmetry_axes", lambda polygon: [Axis(angle_deg=0.0, asymmetry=differ)])
    if not kept:
        with pytest.raises(OutlineInvalid, match=r"differ by 12 % of its area; .* less than 12 %"):
            formed(rod(30, 12), "turned")
        return
    outside = line_of(formed(rod(30, 12), "turned"), "outside")
    assert outside.budget["form: two halves"] == pytest.approx(differ * outside.value / 4.0, rel=1e-3)


@pytest.mark.parametrize(("side", "kept"), [(0.8, True), (0.88, False)])
def test_a_hole_of_two_thousandths_is_none(side: float, kept: bool) -> None:
    """Of 360 mm2 0.72."""
    half = side / 2.0
    found = refused(rod(30, 12).difference(box(15 - half, -half, 15 + half, half)), "turned")
    assert found is None if kept else "has a hole" in str(found)


def laid(**more: Any) -> Any:
    given = {
        "level": box(-15, -6, 15, 6), "free": box(-15, -6, 15, 6), "tilt_deg": 0.0, "aslant": 0.0, "height_mm": 6.0,
    }  # fmt: skip
    return SimpleNamespace(**{**given, **more})


@pytest.mark.parametrize(
    ("name", "lies", "level_open_mm", "share"),
    [
        # Its ends of 6 mm radius show pi / 4 of both times the slant, over the length of 30 mm.
        ("form: ends seen aslant", {"aslant": math.atan(0.1)}, 0.0, math.pi / 4.0 * 12.0 * 0.1 / 30.0 / ROOT3),
        # Level or resting freely, 3 % longer: half of that, as a rectangle.
        ("form: lie of the axis", {"free": box(-15.45, -6, 15.45, 6)}, 0.0, 0.03 / 2.0 / ROOT3),
        # A tenth of its height, beside that of the level: twice that over the distance.
        ("form: height of the axis", {}, 0.8, 2.0 * math.hypot(0.6, 0.8) / 300.0),
    ],
)
def test_how_a_turned_part_lies_stays_open(name: str, lies: dict[str, Any], level_open_mm: float, share: float) -> None:
    view = View(x_mm=0.0, y_mm=0.0, height_mm=300.0, level_open_mm=level_open_mm)
    shares = turned._view_shares(laid(**lies), read_form("turned"), view, 1000.0)
    assert shares[name] == pytest.approx(1000.0 * share, rel=1e-3)
    if "height" not in name:
        level = turned._view_shares(laid(), read_form("turned"), view, 1000.0)
        assert level[name] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("aslant", "lie", "codes"),
    [(4.9, 4.9, []), (5.1, 4.9, ["SEEN_ASLANT"]), (4.9, 5.1, ["AXIS_NOT_LEVEL"])],
)
def test_how_a_turned_part_lies_is_told_from_half_a_percent_on(aslant: float, lie: float, codes: list[str]) -> None:
    shares = {"form: ends seen aslant": aslant, "form: lie of the axis": lie}
    flags = turned._view_flags(laid(aslant=0.1, tilt_deg=3.0), read_form("turned"), shares, 1000.0)
    assert [flag.code for flag in flags] == codes


def test_a_hollow_part_needs_a_wall_that_leaves_its_mouth_open() -> None:
    cup = rod(30, 12)
    with pytest.raises(RangeError, match="closes the mouth"):
        formed(cup, "turned, wall 6.1 mm, open both")
    found = formed(cup, "turned, wall 1 mm, open both")
    assert shapely.is_valid(found.unrolled)
    assert line_of(found, "inside").value == pytest.approx(math.pi * 10.0 * 30.0, rel=2e-3)
    assert line_of(found, "rim").value == pytest.approx(2.0 * math.pi * (36.0 - 25.0), rel=2e-3)
    assert line_of(found, "outside").value == pytest.approx(math.pi * 12.0 * 30.0, rel=2e-3)


# The middle line of stock


@pytest.mark.parametrize(("out", "forks"), [(1.3, 0), (4.0, 1)])
def test_a_branch_reaches_beyond_a_corner(out: float, forks: int) -> None:
    """Of a square corner the line reaches 1.42 half widths from its fork; a stub of four is a branch."""
    tee = rod(40, 2).union(box(19, 0, 21, out))
    assert middle_line(tee).forks == forks


def test_the_width_of_an_end_is_that_a_half_to_two_half_widths_behind_it() -> None:
    """A strip that widens by a tenth to either side: its line leaves off about one half width before its tip."""
    strip = Polygon([(0, -1), (40, -5), (40, 5), (0, 1)])
    line = middle_line(strip)
    first = int(np.argmin(line.tips[:, 0]))
    at = line.tips[first, 0]
    half = 1.0 + 0.1 * at
    assert at == pytest.approx(1.0, abs=0.2)
    expected = (1.0 + 0.1 * (at + 1.25 * half)) * math.cos(math.atan(0.1))
    assert line.ends[first] == pytest.approx(expected, rel=0.02)
