"""What a notebook shows: well-formed, everything inside it, nothing run and nothing fetched."""

import re
from xml.etree import ElementTree

import pytest

import areakit
from areakit.errors import in_python
from areakit.flags import Flag
from areakit.geometry.part import Part
from areakit.geometry.surface import plated_surface
from areakit.reports.notebook import parts_view


@pytest.fixture(scope="module")
def shown() -> str:
    return areakit.measure(areakit.demo_photo("several-parts"), thickness="1.2 mm", faces="all")._repr_html_()


def tree(html: str) -> ElementTree.Element:
    return ElementTree.fromstring(html)  # as XML: every tag closed, every letter escaped


def test_a_measurement_shows_outlines_areas_and_cautions(shown: str) -> None:
    page = tree(shown)
    words = " ".join(page.itertext())
    assert len(page.findall(".//{http://www.w3.org/2000/svg}svg")) == 5
    measured = areakit.measure(areakit.demo_photo("several-parts"), thickness="1.2 mm", faces="all")
    for part in measured.parts:
        assert str(part.plated) in words
    assert str(measured.plated) in words
    assert "coverage factor 2" in words
    for flag in measured.flags:
        assert in_python(flag.remedy, flag.fields) in words
    assert "give them (check_lengths=" in words


def test_nothing_is_run_or_fetched(shown: str) -> None:
    plan = areakit.plan("12.5 cm2", process="nickel-tank", layers={"nickel": "5 um"})
    claims = {"area": "12.5 cm2", "metal": "gold", "thickness": "0.5 um", "thickness_is": "mean", "mass": "21 mg"}
    (verdict,) = areakit.check_quote(claims)
    for html in (shown, plan._repr_html_(), verdict._repr_html_()):
        page = tree(html)
        tags = {one.tag.split("}")[-1] for one in page.iter()}
        assert not tags & {"script", "link", "img", "iframe", "object", "image", "use", "style", "foreignObject"}
        names = {name.lower() for one in page.iter() for name in one.attrib}
        assert not names & {"href", "src"}
        assert not [name for name in names if name.startswith("on")]
        assert not re.search(r"url\(|javascript:|@import", html)


def test_a_plan_shows_its_cautions() -> None:
    plan = areakit.plan("12.5 cm2", process="nickel-tank", layers={"nickel": "5 um"})
    words = " ".join(tree(plan._repr_html_()).itertext())
    assert plan.cautions
    assert all(caution.text in words for caution in plan.cautions)


def test_strange_names_stay_text() -> None:
    outline = areakit.plated_surface(shape="disk 30 mm").parts[0].part.outline
    part = Part(outline=outline, thickness=None)
    bad = Flag(code="X", message="<script>alert(1)</script> & more", remedy='"none"')
    html = parts_view("<b onload=x>.jpg", [(1, part, plated_surface(part))], total=None, flags=[bad])
    words = " ".join(tree(html).itertext())
    assert "<b onload=x>.jpg" in words
    assert "<script>alert(1)</script> & more" in words


def test_what_is_stopped_off_is_not_drawn_as_plated() -> None:
    whole, masked = (
        areakit.plated_surface(shape="rectangle 40 x 30 mm", stop_off=stop).parts[0]._repr_html_()
        for stop in ((), "rectangle 10 x 10 mm")
    )
    assert whole.count("Z") < masked.count("Z")
