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
        *_fine_slips(claims),
        *_area_slips(claims, part),
        *_process_slips(claims),
        *_thickness_slips(claims),
        *_lot_slips(claims),
    ]
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Mixed:
    """Two units that the trade mixes up: ``written`` stood where ``right`` should; and the same the other way round.

    ``typed_only`` is set where the slip is worth a question only if the figure is known to be in one of the two units.
    """

    field: str
    key: str
    written: str
    right: str
    first: str
    second: str
    typed_only: bool = False

    @property
    def factor(self) -> float:
        """Claimed over true where ``written`` stood for ``right``; a price per unit goes the other way."""
        factor = convert(1.0, self.written, self.right)
        return 1.0 / factor if self.field == "price" else factor


def _mixed(field: str, key: str, written: str, right: str, words: str, *, typed_only: bool = False) -> _Mixed:
    first, second = words.split(" for ")
    return _Mixed(field=field, key=key, written=written, right=right, first=first, second=second, typed_only=typed_only)


_MIXED = (
    _mixed("area", "cm2-in2", "cm2", "in2", "cm² for in²"),
    _mixed("area", "dm2-cm2", "dm2", "cm2", "dm² for cm²"),
    _mixed("area", "in2-mm2", "in2", "mm2", "inches for millimetres", typed_only=True),
    _mixed("thickness", "um-uin", "um", "uin", "µm for µin"),
    _mixed("thickness", "mil-um", "mil", "um", "mil for µm"),
    _mixed("thickness", "in-mm", "in", "mm", "inches for millimetres", typed_only=True),
    _mixed("charge", "ah-amin", "A.h", "A.min", "A·h for A·min"),
    _mixed("time", "h-min", "h", "min", "hours for minutes"),
    _mixed("time", "min-s", "min", "s", "minutes for seconds", typed_only=True),
    _mixed("mass", "troy", "ozt", "oz av", "troy for avoirdupois ounces"),
    _mixed("mass", "ozt-g", "ozt", "g", "troy ounces for grams", typed_only=True),
    _mixed("mass", "dwt-g", "dwt", "g", "pennyweight for grams", typed_only=True),
    _mixed("price", "troy-price", "ozt", "oz av", "per troy ounce for per avoirdupois ounce"),
    _mixed("price", "ozt-g-price", "ozt", "g", "per troy ounce for per gram", typed_only=True),
    _mixed("price", "dwt-g-price", "dwt", "g", "per pennyweight for per gram", typed_only=True),
    _mixed("current_density", "ft2-dm2", "A/ft2", "A/dm2", "A/ft² for A/dm²"),
    _mixed("factor", "ah-amin-factor", "A.h/in3", "A.min/dm2/um", "A·h for A·min"),
)


def _unit_slips(claims: Claims) -> Iterator[Slip]:
    """Give the mixed-up units that the unit in which a claim was written allows."""
    for mixed in _MIXED:
        if getattr(claims, mixed.field) is None:
            continue
        factor = MINUTES if mixed.field == "factor" else mixed.factor
        ways = (
            (mixed.key, mixed.written, f"{mixed.first} for {mixed.second}", factor),
            (f"{mixed.key}-reverse", mixed.right, f"{mixed.second} for {mixed.first}", 1.0 / factor),
        )
        for key, written, words, times in ways:
            if _may_be(claims.units.get(mixed.field), written, typed_only=mixed.typed_only):
                said = f"{_named(mixed.field)}: {words}, {_off(times)}"
                yield _scaled(claims, mixed.field, key=key, words=said, factor=times)
    yield from _decimal_slips(claims)


def _may_be(unit: str | None, written: str, *, typed_only: bool) -> bool:
    """Tell whether a claim in a unit can be one where ``written`` stood by mistake."""
    if unit is None:
        return not typed_only
    return unit == written or (unit.startswith("A.h/in") and written == "A.h/in3")


def _decimal_slips(claims: Claims) -> Iterator[Slip]:
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
    return {"factor": "plating factor", "price": "metal price", "current_density": "current density"}.get(field, field)


def _scaled(claims: Claims, field: str, *, key: str, words: str, factor: float, choice: Choice | None = None) -> Slip:
    """Return the slip that made a claim ``factor`` times what it should be."""
    claim: Measured = getattr(claims, field)
    true = propagate(lambda x: x / factor, claim, unit=claim.unit)
    changes: dict[str, Any] = {field: true}
    if choice is not None:
        changes["faces"] = choice
    corrected = replace(claims, **changes)
    return Slip(key=key, field=field, words=words, corrected=corrected, choice=choice)


SALT = {"gold": ("potassium gold cyanide", 196.96657 / (39.0983 + 196.96657 + 2 * (12.011 + 14.007)))}
"""Salt in which a metal is bought, and the share of the metal in it. [1] Source: [aw], KAu(CN)2."""
FINENESS = {"gold": (750, 585, 375), "silver": (925,)}
"""Usual fineness of alloys, in thousandths. Common practice, no source."""


def _fine_slips(claims: Claims) -> Iterator[Slip]:
    """Give the slips of a mass or a price that is not of the fine metal: of its salt, or of an alloy."""
    kinds = [
        (f"fineness-{parts}", f"alloy of {parts} ‰", parts / 1000.0) for parts in FINENESS.get(claims.metal or "", ())
    ]
    if claims.metal in SALT and claims.bath is not None and "cyanide" in claims.bath.contains:
        name, share = SALT[claims.metal]
        kinds.append(("salt", f"{name} ({share * 100:.1f} % {claims.metal})", share))
    for key, name, share in kinds:
        for field, factor in (("mass", 1.0 / share), ("price", share)):
            if getattr(claims, field) is not None:
                words = f"{_named(field)}: that of {name} for that of the fine metal, {_off(factor)}"
                yield _scaled(claims, field, key=f"{key}-{field}", words=words, factor=factor)


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
    if part.form is not None:
        yield from _wrong_forms(part, shapes)
        return
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


def _wrong_forms(part: MeasuredPart, shapes: Enclosing) -> Iterator[tuple[str, str, float]]:
    """Give the ways to get the surface of a part that is not flat wrong: most take its outline for a flat part."""
    yield "flat-part", "both faces of its outline were counted, as of a flat part", 2.0 * part.face.value
    yield "flat-face", "its outline was counted, as one face of a flat part", part.face.value
    for key, shape in (("rectangle", shapes.rectangle), ("circle", shapes.circle)):
        yield key, f"both faces of the bounding {key} of its outline were counted", 2.0 * shape.area
    for key, words, scale in _PRINTS:
        yield key, words, part.plated.value / scale**2


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
    if choice == "front-and-edges" and wall:
        yield "edges", "the edges were left out", face


def _process_slips(claims: Claims) -> Iterator[Slip]:
    if claims.bath is not None:
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
