"""Trust in the instrument: printed sheets, check pieces of known size, repeated photos; results are kept."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from areakit.errors import InputError
from areakit.flags import Flag
from areakit.foreign_text import json_from
from areakit.records import gauge, sheets
from areakit.records.check_pieces import SIZES, CheckPiece, Shape, face_area
from areakit.records.codec import picked, quantity_from_json, quantity_json
from areakit.records.entries import kept
from areakit.records.event import Event
from areakit.records.gauge import Study
from areakit.records.sheets import CopyCheck
from areakit.service.desk import Desk, read_date
from areakit.service.lens import stored_lenses
from areakit.service.measure import MeasureRequest, measure, read_check_lengths, result_json
from areakit.service.photo_list import refuse_copies
from areakit.service.record_requests import NewCopyCheck
from areakit.uncertainty import COVERAGE_FACTOR, Measured
from areakit.units import in_unit, parse, parse_with_tolerance

logger = logging.getLogger(__name__)

DEFAULT_SIZE_TOLERANCE_MM = 0.02
"""Expanded uncertainty of a size given without one: a calliper in practised hands (practice). [mm]"""


def record_copy(desk: Desk, request: NewCopyCheck) -> CopyCheck:
    """Keep the two check lengths of a sheet copy, as read today or on a date.

    InputError for a sheet that is not known, readings more than 3 % off, or a sheet copy that was checked as another
    sheet.
    """
    from areakit.imaging.marks.frame_layout import layouts

    name, sheet, uncertainty = request.name, request.sheet, request.uncertainty
    if sheet not in layouts():
        raise InputError(f"There is no sheet {sheet[:40]!r}.", remedy=f"Known: {', '.join(layouts())}.")
    reading = read_check_lengths(request.lengths)
    reading.sheet_scale(layouts()[sheet].check_lengths_mm)
    spread = parse(uncertainty, "length") * 1e3 / COVERAGE_FACTOR if uncertainty else 0.1
    doc = kept(
        sheets.LengthsRead,
        {
            "sheet": sheet,
            "read_x_mm": reading.read_mm[0],
            "read_y_mm": reading.read_mm[1],
            "uncertainty_mm": spread,
            "date": read_date(request.date, desk.now),
            **picked(request, "with_what", "remarks"),
        },
        "check",
    )
    with desk.to_write() as journal:
        with journal.writing() as writer:
            before = writer.last("sheet", name)
            if before is not None and before.doc["sheet"] != sheet:
                raise InputError(
                    f"The sheet copy {name} was checked as a {before.doc['sheet']} before.",
                    remedy="Give each sheet copy a name.",
                )
            writer.append("sheet", name, "lengths-read", at=desk.at, who=desk.who, doc=doc)
        return sheets.fold(name, journal.history("sheet", name))


def copy_check(desk: Desk, name: str) -> tuple[CopyCheck, tuple[Flag, ...]]:
    """Return the last check of a sheet copy, and what there is to say about its age."""
    with desk.to_read() as journal:
        found = sheets.fold(name, journal.history("sheet", name))
    return found, sheets.age_flags(found, desk.today)


def copy_json(check: CopyCheck) -> dict[str, Any]:
    """Return the last check of a sheet copy as JSON, its lengths in mm."""
    return {
        **picked(check, "name", "sheet"),
        "lengths_mm": list(check.reading.read_mm),
        **picked(check, "date", "who"),
    }


def list_copies(desk: Desk) -> tuple[CopyCheck, ...]:
    """Return the last check of every sheet copy."""
    with desk.to_read() as journal:
        return tuple(sheets.fold(name, journal.history("sheet", name)) for name in journal.keys("sheet"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where measurements come from: photos to measure now, or lines that ``areakit measure --json`` printed."""

    photos: tuple[Path, ...] = ()
    lines: str | None = None
    thickness: str | None = None
    check_lengths: str | None = None
    copy_name: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Verified:
    """One measurement of a check piece held against its known area."""

    piece: CheckPiece
    photo: str
    measured: Measured
    reference: Measured
    normalised_error: float
    sheet: str
    unverified_sheet: bool

    @property
    def agrees(self) -> bool:
        """Whether the normalised error is at most 1 in size."""
        return abs(self.normalised_error) <= 1.0


def own_piece(title: str, shape: Shape, sizes: Mapping[str, str], thickness: str | None) -> CheckPiece:
    """Return a piece of the user's own from sizes with units, such as ``20.00 ± 0.01 mm``."""
    if shape not in SIZES or shape == "card":
        raise InputError(f"There is no shape {shape[:20]!r}.", remedy="Choose disc, ring or rectangle.")
    made = {}
    for name, text in sizes.items():
        value, tolerance = parse_with_tolerance(text, "length")
        spread = DEFAULT_SIZE_TOLERANCE_MM if tolerance is None else tolerance * 1e3
        made[name] = Measured(value=value * 1e3, unit="mm", budget={f"{title} {name}": spread / COVERAGE_FACTOR})
    height = parse(thickness, "length") * 1e3 if thickness else None
    return CheckPiece(key=title, title=title, shape=shape, sizes=made, thickness_mm=height, source="practice")


def verify(desk: Desk, piece: CheckPiece, source: Source) -> tuple[Verified, ...]:
    """Hold each measurement of one piece against its known face, and keep the result.

    InputError if a photo shows not exactly one part.
    """
    thickness = source.thickness or (f"{piece.thickness_mm:g} mm" if piece.thickness_mm else None)
    reference = face_area(piece)
    found = tuple(_verified(piece, reference, line) for line in measured_lines(desk, source, thickness=thickness))
    with desk.to_write() as journal, journal.writing() as writer:
        for one in found:
            writer.append("check", f"verify {piece.key}", "verified", at=desk.at, who=desk.who, doc=verified_json(one))
    logger.info("verified %d measurements of %s", len(found), piece.key)
    return found


def _verified(piece: CheckPiece, reference: Measured, line: Mapping[str, Any]) -> Verified:
    area = only_face(line)
    codes = {flag["code"] for flag in line.get("flags", [])}
    return Verified(
        piece=piece,
        photo=str(line.get("photo", "")),
        measured=area,
        reference=reference,
        normalised_error=gauge.error_of_check(area, reference),
        sheet=str((line.get("scale") or {}).get("sheet", "")),
        unverified_sheet="SHEET_UNVERIFIED" in codes,
    )


def verified_json(one: Verified) -> dict[str, Any]:
    """Return a verification as JSON; areas in mm2."""
    return {
        "piece": one.piece.key,
        "title": one.piece.title,
        **picked(one, "photo", "sheet", "unverified_sheet"),
        "measured": quantity_json(one.measured),
        "reference": quantity_json(one.reference),
        **picked(one, "normalised_error", "agrees"),
    }


def measured_lines(desk: Desk, source: Source, *, thickness: str | None) -> list[dict[str, Any]]:
    """Return one measured line a photo; the error of a photo that is refused is raised."""
    if source.lines is not None:
        return _read_lines(source.lines)
    if not source.photos:
        raise InputError("There is no photo.", remedy="Name photos, or give measured lines.", fields={"from": ""})
    known = copy_check(desk, source.copy_name)[0] if source.copy_name and not source.check_lengths else None
    request = MeasureRequest(
        thickness=thickness,
        check_lengths=source.check_lengths,
        reading=known.reading if known else None,
        lenses=stored_lenses(desk),
    )
    lines = []
    refuse_copies(source.photos)
    for result in measure(list(source.photos), request):
        if result.error is not None:
            raise result.error
        if known is not None and result.found is not None:
            known.check_sheet(result.found.scale.sheet)
        lines.append(result_json(result))
    return lines


def _read_lines(text: str) -> list[dict[str, Any]]:
    try:
        found = [json_from(line) for line in text.splitlines() if line.strip()]
    except ValueError:
        raise InputError(
            "The lines are not JSON.",
            remedy="Measure again, and give the whole answer.",
            fields={"areakit measure --json": ""},
        ) from None
    if not found or not all(isinstance(line, dict) for line in found):
        raise InputError(
            "There is no measured line.",
            remedy="Measure again, and give the whole answer.",
            fields={"areakit measure --json": ""},
        )
    return found


def only_face(line: Mapping[str, Any]) -> Measured:
    """Return the face of the one part of a line [mm2]; InputError if there are none or several."""
    parts = line.get("parts") or []
    if len(parts) != 1:
        raise InputError(
            f"{line.get('photo', 'A photo')} shows {len(parts)} parts; a check needs exactly one.",
            remedy="Lay the one piece alone in the field.",
        )
    return in_unit(quantity_from_json(parts[0].get("face_area")), "mm2")


def repeat(desk: Desk, name: str, source: Source, *, shots: int) -> Study:
    """Study the spread of photos of one part, ``shots`` of each placement in order, and keep the result.

    InputError if the photos do not fill whole placements.
    """
    lines = measured_lines(desk, source, thickness=source.thickness)
    if shots < 1 or len(lines) % shots:
        raise InputError(
            f"{len(lines)} photos do not make whole placements of {shots}.",
            remedy="Take the same number of photos in each placement, and say it.",
            fields={"shots": ""},
        )
    faces = [only_face(line) for line in lines]
    groups = [faces[at : at + shots] for at in range(0, len(faces), shots)]
    found = gauge.study(groups)
    doc = {**study_json(found), "photos": [line.get("photo") for line in lines], "faces": [f.value for f in faces]}
    with desk.to_write() as journal:
        journal.append("check", f"repeat {name}", "repeated", at=desk.at, who=desk.who, doc=doc)
    logger.info("studied %d photos of %s", len(faces), name)
    return found


def study_json(found: Study) -> dict[str, Any]:
    """Return a study as JSON; areas in mm2."""
    return {
        "placements": found.placements,
        "photos_in_all": found.shots,
        **picked(found, "mean", "repeatability"),
        "between_placements": found.between,
        "reproducibility": found.reproducibility,
        "stated_standard_uncertainty": found.stated,
        **picked(found, "mean_square_between", "mean_square_within", "f_ratio", "stated_holds"),
    }


def trend(desk: Desk, kind: str) -> tuple[Event, ...]:
    """Return all kept results of a kind (``verified`` or ``repeated``), oldest first."""
    with desk.to_read() as journal:
        events = [e for key in journal.keys("check") for e in journal.history("check", key) if e.kind == kind]
    return tuple(sorted(events, key=lambda event: event.at))
