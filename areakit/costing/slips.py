"""The slips that the trade makes, each as a change that would set a claim right.

A slip is tried by undoing it: the corrected claims are compared again. What then agrees, the slip would explain;
whether it happened, nobody can tell from the figures.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from areakit.costing.claims import Claims, other_valences, valence_words
from areakit.costing.consistency import WHOLE
from areakit.costing.measured_part import SHARES, WORDS, Choice, MeasuredPart
from areakit.geometry.enclosing import Enclosing, PlainShape, enclosing_shapes
from areakit.uncertainty import Measured, propagate
from areakit.units import convert, in_unit

MINUTES = 60.0
FIT_TO_LETTER = 279.4 / 297.0
"""Scale at which an A4 page fits the height of a Letter page (ISO 216 and 11 in). [1]"""
SHRUNK_MARK = 0.97
"""Scale of a mark printed by a driver that shrinks the page to its margins. Common practice, no source. [1]"""
ROUND = 0.9
"""From this share of its circle on, an outline counts as round. [1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """One slip: the claim it sits in, what it is in words, and the claims as they are without it.

    ``choice`` is the choice of faces that the words speak of, where the slip is one of area.
    """

    key: str
    field: str
    words: str
    corrected: Claims
    choice: Choice | None = None


def slips(claims: Claims, part: MeasuredPart | None = None) -> tuple[Slip, ...]:
    """Return every slip that these claims could hold."""
    found = [
        *_unit_slips(claims),
        *_area_slips(claims, part),
        *_process_slips(claims),
        *_thickness_slips(claims),
        *_lot_slips(claims),
    ]
    return tuple(found)


# field, key, factor of claimed over true for the first way round, what was mixed up
def _unit_factors() -> tuple[tuple[str, str, float, str], ...]:
    ounce = convert(1.0, "ozt", "g") / convert(1.0, "oz av", "g")
    return (
        ("area", "cm2-in2", convert(1.0, "cm2", "in2"), "cm² for in²"),
        ("area", "dm2-cm2", convert(1.0, "dm2", "cm2"), "dm² for cm²"),
        ("thickness", "um-uin", convert(1.0, "um", "uin"), "µm for µin"),
        ("thickness", "mil-um", convert(1.0, "mil", "um"), "mil for µm"),
        ("charge", "ah-amin", MINUTES, "A·h for A·min"),
        ("time", "h-min", MINUTES, "hours for minutes (or minutes for seconds)"),
        ("mass", "troy", ounce, "troy for avoirdupois ounces"),
        ("price", "troy-price", 1.0 / ounce, "per troy ounce for per avoirdupois ounce"),
        ("factor", "ah-amin-factor", MINUTES, "A·h for A·min"),
    )


def _unit_slips(claims: Claims) -> Iterator[Slip]:
    for field, key, factor, words in _unit_factors():
        if getattr(claims, field) is not None:
            first, second = words.split(" for ", 1)
            yield _scaled(claims, field, key=key, words=f"{_named(field)}: {words}, {_off(factor)}", factor=factor)
            if "(" not in second:
                words = f"{second} for {first}"
            yield _scaled(
                claims,
                field,
                key=f"{key}-reverse",
                words=f"{_named(field)}: {words}, {_off(1.0 / factor)}",
                factor=1.0 / factor,
            )
    for field in ("area", "thickness", "mass", "charge"):
        if getattr(claims, field) is None:
            continue
        for places, factor in (("one place", 10.0), ("two places", 100.0)):
            if field == "area" and factor == 100.0:
                continue  # dm² for cm² says it better
            name = f"decimal-{places.split()[0]}"
            words = f"{_named(field)}: the decimal point is {places} off (a wrong power of ten in a conversion), "
            yield _scaled(claims, field, key=f"{name}-high", words=words + _off(factor), factor=factor)
            yield _scaled(claims, field, key=f"{name}-low", words=words + _off(1.0 / factor), factor=1.0 / factor)


def _off(factor: float) -> str:
    """Return how far off a slip puts a claim."""
    return f"{factor:.4g} times too large" if factor > 1 else f"{1.0 / factor:.4g} times too small"


def _named(field: str) -> str:
    return {"factor": "plating factor", "price": "metal price"}.get(field, field)


def _scaled(claims: Claims, field: str, *, key: str, words: str, factor: float, choice: Choice | None = None) -> Slip:
    """Return the slip that made a claim ``factor`` times what it should be."""
    claim: Measured = getattr(claims, field)
    true = propagate(lambda x: x / factor, claim, unit=claim.unit)
    changes: dict[str, Any] = {field: true}
    if choice is not None:
        changes["faces"] = choice
    corrected = replace(claims, **changes)
    return Slip(key=key, field=field, words=words, corrected=corrected, choice=choice)


def _area_slips(claims: Claims, part: MeasuredPart | None) -> Iterator[Slip]:
    if claims.area is None:
        return
    if part is None:
        yield from _area_slips_without_outline(claims)
        return
    choices: tuple[Choice, ...] = (claims.faces,) if claims.faces else ("one", "both", "all")
    shapes = enclosing_shapes(part.rings)
    for choice in choices:
        true = part.area(choice)
        if true is None or choice == "given":
            continue
        for key, words, wrong in _wrong_areas(part, shapes, choice, counted=claims.faces is not None):
            said = f"area: {words}" if claims.faces else f"area of {WORDS[choice]}: {words}"
            yield _scaled(claims, "area", key=key, words=said, factor=wrong / in_unit(true, "mm2").value, choice=choice)


def _area_slips_without_outline(claims: Claims) -> Iterator[Slip]:
    yield _scaled(claims, "area", key="one-face", words="area: one face was counted for two", factor=0.5)
    yield _scaled(claims, "area", key="two-faces", words="area: two faces were counted for one", factor=2.0)
    yield _scaled(claims, "area", key="radius", words="area: the diameter was taken as the radius", factor=4.0)
    yield _scaled(claims, "area", key="diameter", words="area: the radius was taken as the diameter", factor=0.25)
    yield from _print_slips_plain(claims)


def _print_slips_plain(claims: Claims) -> Iterator[Slip]:
    for key, words, scale in _PRINTS:
        yield _scaled(claims, "area", key=key, words=f"area: {words}", factor=scale**-2)


_PRINTS = (
    ("fit-letter", "the A4 scale sheet was printed to fit Letter paper", FIT_TO_LETTER),
    ("mark-97", "the scale mark was printed at 97 %", SHRUNK_MARK),
)


def _wrong_areas(
    part: MeasuredPart, shapes: Enclosing, choice: Choice, *, counted: bool
) -> Iterator[tuple[str, str, float]]:
    """Give key, words and area [mm2] of every usual way to get the area of a choice of faces wrong."""
    faces, walls = SHARES[choice]
    t = part.thickness.value if part.thickness is not None else 0.0

    def area(shape: PlainShape, *, scale: float = 1.0, n: int = faces, w: int = walls) -> float:
        return n * shape.area * scale**2 + w * shape.perimeter * scale * t

    true = PlainShape(area=part.face.value, perimeter=part.perimeter_outer.value + part.perimeter_holes.value)
    if counted:
        yield from _wrong_faces(choice, area(true, n=1, w=0), true.perimeter * t)
    if part.perimeter_holes.value:
        yield "holes", "the holes were not subtracted", area(shapes.filled)
    for key, shape in (("rectangle", shapes.rectangle), ("circle", shapes.circle)):
        if shape.area > 1.001 * true.area:
            yield key, f"the bounding {key} was used", area(shape)
            if faces and walls and t:
                yield f"{key}-flat", f"the bounding {key} was used and the edges were left out", area(shape, w=0)
    if shapes.roundness >= ROUND:
        yield "radius", "the diameter was taken as the radius", area(shapes.filled, scale=2.0)
        yield "diameter", "the radius was taken as the diameter", area(shapes.filled, scale=0.5)
    for key, words, scale in _PRINTS:
        yield key, words, area(true, scale=1.0 / scale)


def _wrong_faces(choice: Choice, face: float, wall: float) -> Iterator[tuple[str, str, float]]:
    if choice in ("both", "all"):
        yield "one-face", "one face was counted for two", face + (wall if choice == "all" else 0.0)
    if choice == "all" and wall:
        yield "edges", "the edges were left out", 2.0 * face
        yield "one-face-only", "only one face was counted, without back and edges", face
    if choice == "both" and wall:
        yield "edges-added", "the edges were counted in", 2.0 * face + wall
    if choice == "one":
        yield "two-faces", "two faces were counted for one", 2.0 * face
        if wall:
            yield "all-for-one", "all surfaces were counted for one face", 2.0 * face + wall
    if choice == "foil" and wall:
        yield "edges", "the edges were left out", face


def _process_slips(claims: Claims) -> Iterator[Slip]:
    if claims.bath is not None and claims.metal is not None:
        for electrons, other in other_valences(claims.bath):
            words = f"valence: the figures fit {other}, not {valence_words(claims)}"
            yield Slip(
                key="valence", field="charge", words=words, corrected=replace(claims, electrons=electrons)
            )  # fmt: skip
    if claims.efficiency is not None:
        inverse = propagate(lambda e: 1.0 / e, claims.efficiency, unit="1")
        yield Slip(
            key="efficiency-inverted",
            field="efficiency",
            words="efficiency: multiplied where it divides, or divided where it multiplies",
            corrected=replace(claims, efficiency=inverse),
        )
        yield Slip(
            key="efficiency-left-out",
            field="efficiency",
            words="efficiency: left out (100 % was used)",
            corrected=replace(claims, efficiency=WHOLE),
        )


def _thickness_slips(claims: Claims) -> Iterator[Slip]:
    if claims.thickness is None or claims.allowance is None:
        return
    if claims.thickness_is == "minimum":
        words = "thickness: the minimum was plated as the mean, without the distribution allowance"
        yield Slip(key="mean-minimum", field="thickness", words=words, corrected=replace(claims, allowance=WHOLE))
    else:
        words = "thickness: a minimum was taken as the mean"
        corrected = replace(claims, thickness_is="minimum")
        yield Slip(key="mean-minimum", field="thickness", words=words, corrected=corrected)


def _lot_slips(claims: Claims) -> Iterator[Slip]:
    if claims.pieces > 1:
        other = "piece" if claims.per == "lot" else "lot"
        words = f"pieces: the figures are of one {other}, not of one {claims.per}"
        yield Slip(key="lot", field="pieces", words=words, corrected=_per(claims))


def _per(claims: Claims) -> Claims:
    return replace(claims, per="piece") if claims.per == "lot" else replace(claims, per="lot")
