"""What may be named as a mark, on the command line and in a request; and where the mark itself lies, no part is."""

import re
from dataclasses import replace
from importlib.resources import files
from typing import get_args

import numpy as np
import pytest
from click.testing import CliRunner
from mark_drawing import FOCAL, blank, developed, paint, square

from areakit.cli.measure import command
from areakit.errors import RangeError
from areakit.imaging.camera import usual_prior
from areakit.imaging.marks import _OTHERS
from areakit.imaging.marks.paper import SIZES
from areakit.imaging.marks.taps import taps_scale
from areakit.imaging.marks.wanted import KNOWN, read_mark
from areakit.imaging.photo import overview
from areakit.imaging.segment import find_regions
from areakit.imaging.sheet_colour import sheet_distance
from areakit.records.schema import ScaleDocument
from areakit.service.measure import MeasureRequest, measure


def test_each_kind_is_in_the_schema_the_help_and_the_words_of_the_page() -> None:
    """What must be touched for a mark of another kind, beside its finder."""
    papers = set(SIZES)
    kinds = {name.partition(":")[0] for name in KNOWN} - {"auto"}
    assert set(_OTHERS) <= kinds
    told = {"paper" if kind in papers else kind for kind in kinds}
    assert told == set(get_args(ScaleDocument.model_fields["mark"].annotation))
    shown = " ".join(CliRunner().invoke(command, ["--help"], terminal_width=100).output.split())
    page = (files("areakit") / "web/static/scale.js").read_text(encoding="utf-8")
    words = re.search(r"const MARKS = \{(.*?)\};", page)
    assert words is not None
    for kind in kinds:
        assert re.search(rf'[ ,"]{kind}[:,. ]', shown), kind
    assert set(re.findall(r"(\w+): \"", words.group(1))) == told


def test_names_are_understood() -> None:
    coin = read_mark("coin:25.75 mm, 2.2 mm @ 1200, 800.5")
    assert (coin.kind, coin.detail, coin.at_px) == ("coin", ("25.75 mm", "2.2 mm"), (1200.0, 800.5))
    assert read_mark("auto").detail == ()
    assert read_mark("A4").kind == "A4"
    assert read_mark("chequer:9x7,30 mm").detail == ("9x7", "30 mm")
    first = read_mark("coin:eur-1@1200,800; coin:25.75 mm,2.2 mm @400,300.5")
    (second,) = first.more
    assert (first.detail, first.at_px) == (("eur-1",), (1200.0, 800.0))
    assert (second.detail, second.at_px, second.more) == (("25.75 mm", "2.2 mm"), (400.0, 300.5), ())


@pytest.mark.parametrize("text", ["coin:eur-1; coin:eur-2@3,4", "card@3,4; coin:eur-2@3,4", "coin:eur-1@3,4; frame"])
def test_several_marks_are_coins_with_their_places(text: str) -> None:
    with pytest.raises(RangeError, match="each with its place"):
        read_mark(text)


@pytest.mark.parametrize("text", ["", "ruler", "coin", "coin:", "A4:2", "frame@3,4", "a3", "taps", "scan:600"])
def test_other_names_are_refused_with_what_is_known(text: str) -> None:
    with pytest.raises(RangeError, match="is no mark that areakit knows") as caught:
        read_mark(text)
    assert "chequer:9x7,30 mm" in caught.value.remedy
    with pytest.raises(RangeError):
        next(measure([], MeasureRequest(mark=text)), None)


def test_command_line_names_marks_and_refuses_others() -> None:
    runner = CliRunner()
    shown = runner.invoke(command, ["--help"]).output
    for word in ("scan", "card", "coin:eur-1", "--mark-at"):
        assert word in shown
    refused = runner.invoke(command, ["nothing.jpg", "--mark", "ruler"])
    assert isinstance(refused.exception, RangeError)


def test_window_leaves_out_excluded_polygons() -> None:
    """Two equal squares on a table: the one under the mark's own region is no part."""
    rng = np.random.default_rng(0)
    picture = blank((0.5, 0.48, 0.45))
    for x in (500.0, 1100.0):
        paint(picture, square(np.array([x, 600.0]), 160.0), (0.05, 0.05, 0.08))
    photo = developed(picture, rng, focal_px=FOCAL)
    small = overview(photo)
    scale = taps_scale(photo, small, usual_prior(1600, 1200, FOCAL), read_mark("taps:300,600,1300,600,250 mm"))
    assert len(find_regions(sheet_distance(small, scale))) == 2
    taken = scale.camera.to_sheet(square(np.array([500.0, 600.0]), 220.0))
    left = find_regions(sheet_distance(small, replace(scale, excluded_mm=(taken,))))
    assert len(left) == 1
    middle = left[0].rings[0].mean(axis=0)
    assert middle[0] + sheet_distance(small, scale).left == pytest.approx(1100.0 / small.factor, abs=3)
