"""Sound drawings, settings, tables and documents to break, and texts that are bombs from the start."""

from __future__ import annotations

import io
import json
import math
import random
import zlib
from functools import cache

import ezdxf
from reportlab.pdfgen import canvas

from areakit.costing.rates import rates_text
from areakit.records.measure_json import surface_result_json
from areakit.records.plan_json import plan_json
from areakit.service.part_description import SurfaceRequest
from areakit.service.plan import PlanRequest, plan
from areakit.service.surface import find_surfaces

Random = random.Random

SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="100mm" height="80mm"
 viewBox="0 0 100 80"><style>.no {display:none}</style><defs><g id="a"><circle cx="5" cy="5" r="3"/></g></defs>
 <path fill-rule="evenodd" d="M0 0H40V30H0z M5 5v10h10v-10z m20 0a4 4 0 1 1 0 .1z
 C1 2 3 4 5 6 S 7 8 9 10 Q1 1 2 2 T3 3"/>
 <g transform="translate(50 5) rotate(30) scale(1.1, .9) skewX(3) matrix(1 0 0 1 2 3)">
 <rect width="9" height="7" rx="2"/>
 <ellipse cx="20" cy="9" rx="4" ry="2"/><polygon points="30,5 34,5 32,9"/><polyline points="1 1 2 2"/></g>
 <use href="#a" x="60" y="50"/><use xlink:href="#a" x="70"/><svg x="5" y="50" width="10" height="10" viewBox="0 0 5 5">
 <line x1="0" y1="0" x2="1" y2="1"/></svg><text>note</text><image href="http://192.0.2.1/x.png"/></svg>"""

WKT = b"GEOMETRYCOLLECTION (POLYGON ((0 0, 40 0, 40 30, 0 30, 0 0), (5 5, 15 5, 15 15, 5 15, 5 5)), POINT Z (1 2 3))"

GEOJSON = json.dumps(
    {"type": "FeatureCollection", "unit": "mm", "features": [
        {"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [
            [[0, 0], [40, 0], [40, 30], [0, 30], [0, 0]], [[5, 5], [15, 5], [15, 15], [5, 15], [5, 5]]]}},
        {"type": "Feature", "geometry": {"type": "MultiPolygon", "coordinates":
            [[[[50, 0], [60, 0], [60, 9], [50, 0]]]]}},
    ]}
).encode()  # fmt: skip

SOLUTIONS = b"""[solutions.my-gold]
metal = "gold"
bath = "gold-acid-hard"
title = "Gold of the shelf"
metal_content = "8.2 g/L"
efficiency = "72 % \xc2\xb1 6 %"
allowed_charge = "5 A.h/L"
usable_fraction = "30 %"
voltage = "4 V to 10 V"
current_density = "5 A/dm2 to 15 A/dm2"
speed = "8 m/min to 20 m/min"
contains = ["cyanide"]
"""

CLAIMS_CSV = b"""name,metal,area,thickness,mass,charge,current,time,price
badge,gold,12.5 cm2,0.5 um,12.06 mg,0.709 A.min,0.4 A,1.77 min,
lug,nickel,"8,1 cm2",3 um,21.6 mg,,,,
"""

CLAIMS_JSON = json.dumps(
    [
        {"metal": "gold", "area": "12.5 cm2", "thickness": "0.5 um", "mass": "12.06 mg"},
        {"area": "12.5 cm2", "thickness": "0.5 um", "density": "19.3 g/cm3", "charge": "0.709 A.min", "per": "lot"},
        {"bath": "gold-cyanide", "factor": "60 A.h/in3", "density": "19.3 g/cm3", "efficiency": "72 %", "pieces": "2"},
    ]
).encode()


@cache
def dxf() -> bytes:
    document = ezdxf.new()
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (40, 0, 0, 0, 0.3), (40, 30), (0, 30)], format="xyseb", close=True)
    space.add_circle((10, 10), 4)
    space.add_ellipse((25, 15), (5, 0), 0.5)
    space.add_spline([(50, 0), (60, 5), (65, 15), (50, 20), (50, 0)])
    block = document.blocks.new("b")
    block.add_line((0, 0), (1, 1))
    block.add_arc((0, 0), 3, 0, 90)
    space.add_blockref("b", (70, 5), dxfattribs={"xscale": 2, "rotation": 30})
    space.add_text("note")
    text = io.StringIO()
    document.write(text)
    # Tables of line types and the like are the bulk of a file; the header and the entities are what is read here.
    return text.getvalue().encode()


@cache
def pdfs() -> list[bytes]:
    pages = []
    for packed in (0, 1):
        page = io.BytesIO()
        sheet = canvas.Canvas(page, pageCompression=packed, invariant=1)
        path = sheet.beginPath()
        path.moveTo(0, 0)
        path.lineTo(110, 0)
        path.curveTo(120, 20, 120, 60, 110, 80)
        path.lineTo(0, 80)
        path.close()
        path.rect(20, 20, 30, 30)
        sheet.drawPath(path, fill=1)
        sheet.beginForm("f")
        sheet.rect(200, 200, 30, 40)
        sheet.endForm()
        sheet.doForm("f")
        sheet.drawString(50, 50, "note")
        sheet.save()
        pages.append(page.getvalue())
    return pages


@cache
def plan_request() -> dict[str, object]:
    return {
        "process": "nickel-gold-brush", "area": "12.5 cm2 ± 0.2 cm2", "layers": {"nickel": "3 um", "gold": "0.5 um"},
        "footprint": "4 cm2", "efficiency": {"gold": "72% ± 6%"}, "pieces": 3, "base": "brass",
        "current_density": {"gold": "10 A/dm2"},
    }  # fmt: skip


@cache
def measured_json() -> bytes:
    found = find_surfaces(SurfaceRequest(shapes=("rectangle 40 x 30 mm",), thickness="1.2 mm", faces="all"))
    parts = [(one.part_id, one.surface, one.part.outline, one.part.thickness) for one in found.parts]
    return json.dumps(surface_result_json(parts, found.plated, count=1, flags=found.flags)).encode()


@cache
def correction() -> bytes:
    """A measured rectangle whose corner somebody moved, with regions drawn over it, as the page asks for it."""
    body = json.loads(measured_json())["parts"][0]
    camera = [math.log(3000.0), 2000.0, 1500.0, *(0.0,) * 7, 0.0, 0.0, 400.0]  # straight above, 133 mm wide
    ring = [[2150.0, 1387.5], [1850.0, 1387.5], [1850.0, 1612.5], [2150.0, 1612.5]]
    near = [[1900.0, 1400.0], [1900.0, 1500.0], [2000.0, 1500.0]]
    return json.dumps(
        {
            "part": {**body, "regions": {"hand_mm": 0.2, "drawn": []}},
            "before_px": [ring],
            "rings_px": [[[2160.0, 1380.0], *ring[1:]]],
            "camera": {"parameters": camera, "k3": 0.0},
            "regions": [{"kind": "stop_off", "sides": "both", "ring_px": near}],
            "hand": "0.2 mm",
        }
    ).encode()


@cache
def planned_json() -> bytes:
    return json.dumps(plan_json(plan(PlanRequest(**plan_request())))).encode()  # type: ignore[arg-type]


@cache
def rates() -> bytes:
    return rates_text(currency="EUR", example=True).encode()


def nested(rng: Random) -> bytes:
    """Brackets many levels deep, closed or not."""
    deep = rng.choice((50, 1_000, 100_000))
    opening, closing = rng.choice(
        ((b"[", b"]"), (b'{"a":', b"}"), (b'{"type":"FeatureCollection","features":[', b"]}"))
    )
    return opening * deep + (b"1" + closing * deep if rng.random() < 0.5 else b"")


def nested_toml(rng: Random) -> bytes:
    deep = rng.choice((500, 50_000))
    brackets, tables = b"a = " + b"[" * deep + b"]" * deep, b"a = " + b"{b=" * deep
    header, key = b"[" + b"a." * deep + b"a]\n", b"a." * deep + b"a=1"
    return rng.choice((brackets, tables, header, key))


def nested_svg(rng: Random) -> bytes:
    deep = rng.choice((100, 30_000))
    return b'<svg xmlns="http://www.w3.org/2000/svg">' + b"<g>" * deep + b"</g>" * deep + b"</svg>"


def entities_svg(_: Random) -> bytes:
    """Entities that unfold each other, and one that names a file (XML 1.0, 4.2)."""
    rows = b"".join(b'<!ENTITY e%d "%s">' % (i, b"&e%d;" % (i - 1) * 10) for i in range(1, 12))
    return b'<!DOCTYPE svg [<!ENTITY e0 "lol"><!ENTITY f SYSTEM "file:///etc/passwd">' + rows + b"]><svg>&e11;&f;</svg>"


def using_svg(_: Random) -> bytes:
    """Groups that place each other, twice each, and one that places itself."""
    rows = b"".join(b'<g id="g%d"><use href="#g%d"/><use href="#g%d"/></g>' % (i, i + 1, i + 1) for i in range(30))
    return b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">' + rows + (
        b'<g id="g30"><rect width="1" height="1"/></g><g id="s"><use href="#s"/></g><use href="#s"/></svg>'
    )  # fmt: skip


def long_svg(rng: Random) -> bytes:
    body = rng.choice((b"M0 0" + b"h1v1" * 200_000, b"M0 0" + b"A1e9 1e9 0 1 1 1 1" * 9_000, b"M" + b"." * 400_000))
    return (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9"><path d="'
        + body
        + b'"/></svg>'
    )


def long_dxf(rng: Random) -> bytes:
    head = b"0\nSECTION\n2\nENTITIES\n"
    row = rng.choice(
        (
            b"0\nLINE\n10\n0\n20\n0\n11\n1\n21\n1\n",
            b"0\nCIRCLE\n10\n0\n20\n0\n40\n1e12\n",
            b"0\nINSERT\n2\nb\n70\n9999\n71\n9999\n",
        )
    )
    return head + row * rng.choice((1, 30_000)) + b"0\nENDSEC\n0\nEOF\n"


def folded_pdf(rng: Random) -> bytes:
    """A stream that unfolds to very many bytes, and forms that place each other."""
    content = rng.choice((b"0 0 m 1 1 l S\n" * 4_000_000, b"/F Do " * 30_000, b"q " * 200_000))
    packed = zlib.compress(content)
    head = (
        b"%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj 2 0 obj<</Type/Pages/Kids[3 0 R]/Count 1>>endobj "
        b"3 0 obj<</Type/Page/Parent 2 0 R/MediaBox[0 0 99 99]/Contents 4 0 R"
        b"/Resources<</XObject<</F 5 0 R>>>>>>endobj "
        b"5 0 obj<</Type/XObject/Subtype/Form/BBox[0 0 9 9]/Resources<</XObject<</F 5 0 R>>>>/Length 6>>stream\n"
        b"/F Do \nendstream endobj 4 0 obj<</Filter/FlateDecode/Length "
    )
    return head + str(len(packed)).encode() + b">>stream\n" + packed + (
        b"\nendstream endobj\ntrailer<</Root 1 0 R>>\n%%EOF"
    )  # fmt: skip


def long_csv(rng: Random) -> bytes:
    return rng.choice(
        (b"name,area\n" + b"x,1 cm2\n" * 50_000, b"a," * 100_000 + b"\n1,2\n", b'name,area\n"' + b"x" * 2_000_000)
    )


def wide_wkt(rng: Random) -> bytes:
    return rng.choice(
        (b"POLYGON ((" + b"0 0, " * 400_000 + b"0 0))", b"GEOMETRYCOLLECTION (" * 50_000, b"MULTIPOLYGON (((" * 3_000)
    )
