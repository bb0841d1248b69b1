"""The summary of a batch as CSV: a row a part, a row a refused photo, and the totals."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Any

from areakit.errors import in_shell
from areakit.plural import counted
from areakit.records.area_lines import regions_left_out, without_words
from areakit.records.batch_log import AREAS, BatchRow
from areakit.records.codec import fields_of, quantity_from_json
from areakit.records.spreadsheet import as_text
from areakit.uncertainty import Measured, total

COLUMNS = (
    "photo", "status", "part", "pieces", "face_area_mm2", "face_area_U_mm2", "perimeter_mm", "side_wall_area_mm2",
    "side_wall_area_U_mm2", "plated_area_mm2", "plated_area_U_mm2", "notes", "reason", "overlay", "sha256",
)  # fmt: skip
"""U is the expanded uncertainty, coverage factor 2. A part's areas are those of one piece; totals count all pieces."""


def summary_csv(rows: Sequence[BatchRow]) -> str:
    """Return the table; its last row counts photos and parts and adds up the areas.

    The totals take an uncertainty of one name (the sheet's size, say) as common to all photos, moving all of them the
    same way: it is not known which photos share a sheet, and the sum is then never stated too well.
    """
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\r\n")  # RFC 4180, 2.1
    writer.writeheader()
    for row in rows:
        writer.writerows({name: as_text(text) for name, text in line.items()} for line in _lines(row))
    writer.writerow(_totals(rows))
    return out.getvalue()


def totals(rows: Sequence[BatchRow], area: str = "plated_area") -> Measured:
    """Return the sum of one kind of area over all pieces of all measured parts. [mm2]"""
    value, budget = 0.0, dict[str, float]()
    for row in rows:
        areas = [quantity_from_json(part[area]) for part in row.answer["parts"] if part[area] is not None]
        of_photo = total(areas, "mm2")
        value += row.pieces * of_photo.value
        for name, share in of_photo.budget.items():
            budget[name] = budget.get(name, 0.0) + row.pieces * abs(share)
    return Measured(value=value, unit="mm2", budget=budget)


def _lines(row: BatchRow) -> list[dict[str, Any]]:
    answer = row.answer
    common = {
        "photo": row.photo, "status": answer["status"], "overlay": row.overlay or "", "sha256": row.sha256 or "",
        "pieces": row.pieces,
    }  # fmt: skip
    if not answer["parts"]:
        return [
            {
                **common,
                "reason": " ".join(
                    f"{one['message']} {in_shell(one['remedy'], fields_of(one))}" for one in answer["flags"]
                ),
            }
        ]
    return [{**common, **_part(part), "notes": _notes(answer["flags"], part["id"])} for part in answer["parts"]]


def _part(part: dict[str, Any]) -> dict[str, Any]:
    figures: dict[str, Any] = {"part": part["id"], "perimeter_mm": _figure(part["perimeter"]["value"])}
    for name in AREAS:
        if part[name] is not None:
            area = quantity_from_json(part[name])
            figures[f"{name}_mm2"], figures[f"{name}_U_mm2"] = _figure(area.value), _figure(area.expanded_uncertainty)
    return figures


def _notes(flags: list[dict[str, Any]], part: int) -> str:
    codes = [one["code"] for one in flags if one.get("part") in {None, part}]
    return " ".join(dict.fromkeys(codes))


def _totals(rows: Sequence[BatchRow]) -> dict[str, Any]:
    measured = [row for row in rows if row.answer["parts"]]
    line: dict[str, Any] = {
        "photo": f"total of {counted(len(rows), 'photo')}"
        f"{without_words(regions_left_out(row.answer for row in measured))}",
        "status": f"{len(measured)} measured, {len(rows) - len(measured)} refused",
        "part": sum(len(row.answer["parts"]) for row in measured),
        "pieces": sum(row.pieces * len(row.answer["parts"]) for row in measured),
    }
    for name in AREAS:
        whole = totals(rows, name)
        line[f"{name}_mm2"], line[f"{name}_U_mm2"] = _figure(whole.value), _figure(whole.expanded_uncertainty)
    return line


def _figure(value: float) -> str:
    return f"{value:.3f}"
