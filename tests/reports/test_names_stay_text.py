"""Names with markup change no page: its elements are those that a plain name gives, and the name stands in its text."""

import re
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest
from shapely.geometry import box
from test_factor_plot import recorded

import areakit
from areakit.flags import Flag
from areakit.geometry.part import Part
from areakit.geometry.shape_text import read_shape
from areakit.geometry.shapes import typed_shape
from areakit.geometry.surface import plated_surface
from areakit.plating.distribution import predict_tank
from areakit.plating.strokes import StrokePlan, plan_strokes
from areakit.reports.factor_plot import factor_svg
from areakit.reports.job_facts import facts_of
from areakit.reports.job_page import job_page
from areakit.reports.maps import dose_svg, lanes_svg, thickness_svg
from areakit.reports.markup import escape
from areakit.reports.measure_page import measure_page
from areakit.reports.notebook import parts_view
from areakit.reports.surface_drawing import surface_drawing
from areakit.service.desk import Desk
from areakit.service.job import NewJob, add, open_job
from areakit.service.job_entries import Correction, Trial
from areakit.web.entry import entry_page

PLAIN = "name"
NAMES = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onload='alert(1)",
    "</title></style><svg/onload=alert(1)>",
    "]]>&lt;&#60;b&#62;",
    "--><!--",
    "javascript:alert(1)",
    "{{7*7}}{0}%s",
)
CONTROLS = "a\x00b\x1b[31m\x0c\udcff\ufffe"


def _part() -> Part:
    return Part(outline=typed_shape(read_shape("disk 30 mm")).outline, thickness=None)


def _job(name: str, folder: Path) -> str:
    """Every field of a job that somebody writes words into."""
    desk = Desk(path=folder / "j.sqlite", who=name, now=datetime(2026, 3, 14, 9, 0, tzinfo=UTC))
    new = NewJob(part=name, customer=name, base=name, condition=name, remarks=name, number=name[:60])
    number = open_job(desk, new).number
    add(desk, number, "required", doc={"text": name})
    Trial(method="tape", result="pass", place=name, remarks=name).write(desk, number)
    add(desk, number, "reworked", doc={"what": name})
    add(desk, number, "remarked", doc={"text": name})
    add(desk, number, "signed", doc={"statement": name, "role": name})
    job = Correction(entry=1, fields={"customer": name + name}, reason=name).write(desk, number)
    return job_page(facts_of(getattr(job, "job", job)), photo=None, printed=name)


def _flagged(name: str) -> Flag:
    return Flag(code="X", message=name, remedy=name)


def _map(name: str) -> str:
    return thickness_svg(predict_tank(box(0, 0, 30, 20), wagner=0.05, panels=200), title=name)


def _strokes() -> StrokePlan:
    return plan_strokes(
        box(0, 0, 30, 20),
        footprint_width_mm=10,
        footprint_length_mm=10,
        overlap=0.3,
        hand_speed_mm_s=80,
        overrun_mm=5,
    )


def _factor(name: str) -> str:
    found = recorded(("weighing", 4.5, 1.0), ("coupon", 4.6, 2.0))
    return factor_svg(replace(found, basis=name, metal=name, brush=name, bottle=name))


PAGES: dict[str, Callable[[str, Path], str]] = {
    "job page": _job,
    "report": lambda name, _: measure_page(title=name, overlay=b"", parts=[], flags=[_flagged(name)], plan=None),
    "notebook": lambda name, _: parts_view(
        name, [(1, _part(), plated_surface(_part()))], total=None, flags=[_flagged(name)]
    ),
    "surfaces": lambda name, _: surface_drawing([(name, _part(), plated_surface(_part()))]),
    "map": lambda name, _: _map(name),
    "lanes": lambda name, _: lanes_svg(_strokes(), title=name),
    "dose": lambda name, _: dose_svg(_strokes(), title=name),
    "own factor": lambda name, _: _factor(name),
    "way in": lambda name, _: entry_page(name),
}


ASKED = (
    *(
        page.__module__
        for page in (job_page, measure_page, parts_view, surface_drawing, lanes_svg, factor_svg, entry_page)
    ),
    "areakit.reports.drawing",
    "areakit.reports.drawing_page",
    "areakit.reports.markup",
)
"""The modules that write those pages."""


class Shape(HTMLParser):
    """The elements of a page with the names of their attributes, and its text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, tuple[str, ...]]] = []
        self.words: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, tuple(name for name, _ in attrs)))
        self.words += [value for _, value in attrs if value]

    def handle_endtag(self, tag: str) -> None:
        self.elements.append((f"/{tag}", ()))

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def handle_comment(self, data: str) -> None:
        self.elements.append(("comment", ()))

    def handle_decl(self, decl: str) -> None:
        self.elements.append(("declaration", ()))


def elements(page: str) -> list[tuple[str, tuple[str, ...]]]:
    """Return the elements; a line that is broken otherwise for a longer name counts once."""
    return [one for n, one in enumerate(Shape(page).elements) if one != ("tspan", ("x", "dy")) or n == 0]


@pytest.mark.parametrize("kind", PAGES)
def test_a_name_with_markup_stays_text(kind: str, tmp_path: Path) -> None:
    plain = PAGES[kind](PLAIN, tmp_path)
    for number, name in enumerate(NAMES):
        folder = tmp_path / str(number)
        folder.mkdir()
        page = PAGES[kind](name, folder)
        assert elements(page) == elements(plain), name
        assert name[:60] in " ".join(Shape(page).words), name
        if page.lstrip().startswith("<svg"):
            assert [one.tag for one in ElementTree.fromstring(page).iter()]


@pytest.mark.parametrize("kind", [kind for kind in PAGES if kind != "job page"])
def test_a_sign_that_no_page_may_hold_is_replaced(kind: str, tmp_path: Path) -> None:
    page = PAGES[kind](CONTROLS, tmp_path)
    assert not re.search(r"[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe]", page)
    page.encode()
    if page.lstrip().startswith("<svg"):
        ElementTree.fromstring(page)
    assert elements(page) == elements(PAGES[kind](PLAIN, tmp_path))


def test_a_job_of_an_older_record_with_such_a_sign_is_shown(tmp_path: Path) -> None:
    desk = Desk(path=tmp_path / "j.sqlite", who="Ana", now=datetime(2026, 3, 14, 9, 0, tzinfo=UTC))
    facts = facts_of(open_job(desk, NewJob(part="tag")))
    page = job_page(replace(facts, order=[("part", CONTROLS)]), photo=None, printed="now")
    assert not re.search(r"[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe]", page)


def test_what_a_page_may_hold_stays() -> None:
    assert escape("a\tb\nČ金\U0001f527") == "a\tb\nČ金\U0001f527"
    assert escape("\x00\x1f\ud800\uffff") == "\ufffd" * 4
    assert escape("<&>\"'") == "&lt;&amp;&gt;&quot;&#x27;"


def test_every_module_that_writes_a_page_is_asked() -> None:
    """A writer that is forgotten above fails here; an exported outline has no words."""
    root = Path(areakit.__file__).parent
    asked = {Path(str(sys.modules[one].__file__)) for one in ASKED}
    writes = {path for path in root.rglob("*.py") if re.search("<svg|<!doctype", path.read_text("utf-8"), re.I)}
    assert {path.name for path in writes - asked} == {"export.py"}
