"""Dull and polished flanks in a photo: what is stated where somebody says which, and where nobody does."""

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import box

from areakit.errors import OutlineInvalid
from areakit.geometry.drawing import drawn_outline
from areakit.geometry.forms.finish import MIRRORED
from areakit.geometry.forms.seen import View
from areakit.geometry.forms.words import read_form
from areakit.geometry.part import Part
from areakit.geometry.surface import Surface, plated_surface

FAR = View(x_mm=20.0, y_mm=0.0, height_mm=1e6, pixel_mm=0.05)


def seen(words: str, *, origin: str = "photo", width: float = 4.0) -> Surface:
    outline = replace(drawn_outline(box(0, 0, 40, width), sagitta_mm=1e-4), origin=origin)
    return plated_surface(Part(outline=outline, thickness=None, faces="all", form=read_form(words), view=FAR))


def codes(surface: Surface) -> list[str]:
    return [one.code for one in surface.flags]


def test_skin_that_leans_more_than_half_a_right_angle_mirrors_the_sheet() -> None:
    """The law of reflection: r = 2 (n v) n - v, seen from above, over a round section."""
    side = np.linspace(0.0, 1.0, 100_001)
    up = 2.0 * (1.0 - side**2) - 1.0
    assert side[up < 0.0][0] == pytest.approx(1.0 / MIRRORED, abs=1e-4)


@pytest.mark.parametrize(
    "words", ["round, ends none", "turned, level", "tube, bore 1 ± 0.1 mm", "thread, pitch 0.5 ± 0.01 mm"]
)
def test_where_nobody_says_the_finish_the_uncertainty_covers_both(words: str) -> None:
    dull, unsaid = seen(f"{words}, dull"), seen(words)
    assert "FINISH_ASKED" in codes(unsaid)
    assert "FINISH_ASKED" not in codes(dull)
    outside = [next(line.area for line in one.lines if line.side == "front") for one in (dull, unsaid)]
    low, high = (outside[1].value + sign * outside[1].expanded_uncertainty for sign in (-1.0, 1.0))
    assert low < outside[0].value < MIRRORED * outside[0].value < high
    assert outside[1].value == pytest.approx((1.0 + MIRRORED) / 2.0 * outside[0].value, rel=1e-6)
    assert high / outside[0].value < MIRRORED + 0.15, "no wider than it needs to be"


def test_a_polished_part_is_refused_unless_its_diameter_is_typed() -> None:
    for words in ("round, ends none, polished", "turned, level, polished"):
        with pytest.raises(OutlineInvalid, match="mirrors the sheet") as caught:
            seen(words)
        assert "matting spray" in caught.value.remedy
    typed = seen("round, ends none, polished, diameter 4 ± 0.02 mm")
    same = seen("round, ends none, dull, diameter 4 ± 0.02 mm")
    assert typed.plated.value == same.plated.value
    assert typed.plated.value == pytest.approx(math.pi * 4 * 40, rel=0.01)
    assert "FINISH_ASKED" not in codes(seen("round, ends none, diameter 4 ± 0.02 mm"))


def test_a_drawing_has_no_finish() -> None:
    surfaces = [seen(f"round, ends none{more}", origin="drawing") for more in ("", ", dull", ", polished")]
    assert {one.plated.value for one in surfaces} == {surfaces[0].plated.value}
    assert codes(surfaces[0]) == []


def test_the_diameter_that_was_found_is_as_open_as_the_surface() -> None:
    figures = [seen(f"round, ends none{more}").figures["mean diameter"] for more in (", dull", "")]
    assert figures[1].value == pytest.approx((1.0 + MIRRORED) / 2.0 * figures[0].value)
    assert figures[1].budget["form: dull or polished"] > 0.1 * figures[0].value
