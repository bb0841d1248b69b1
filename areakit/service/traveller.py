"""Make the traveller of a job: gather the record, compute lanes and map if asked, write PDF or HTML."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from areakit.errors import InputError
from areakit.output import write_whole
from areakit.plating.footprint import usual_overlap
from areakit.records.codec import quantity_from_json
from areakit.records.job import Job
from areakit.records.part_outlines import form_words
from areakit.service.desk import Desk
from areakit.service.job import read_job
from areakit.units import in_unit

if TYPE_CHECKING:
    from areakit.plating.contact import Footprint
    from areakit.plating.distribution import ThicknessMap
    from areakit.plating.strokes import StrokePlan

PAPERS = ("a4", "letter")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportRequest:
    """Where to write, on which paper, and what to compute for it.

    Parameters
    ----------
    lanes : str, optional
        Footprint of the brush across and along the lane, such as ``20 x 10 mm``, or its area: stroke lanes are computed
        with it, and with overlap, overrun and hand speed of the job's plan where it predicted strokes. Without it, the
        lanes are those of the plan, if it laid any over an outline, or over one laid flat.
    wagner : float, optional
        Wagner number of a tank: a thickness map is computed with it.
    """

    output: Path
    paper: str = "a4"
    lanes: str | None = None
    wagner: float | None = None
    font: Path | None = None


def write_report(desk: Desk, number: str, request: ReportRequest) -> Path:
    """Write the traveller as PDF, or as one HTML file where the name ends so.

    InputError if lanes or a map are asked for and the job has no outline; FileError if the file cannot be written.
    """
    from areakit.reports.document import printable_jpeg
    from areakit.reports.job_facts import facts_of

    with desk.to_read() as journal:
        job = read_job(journal, number)
        facts = facts_of(job)
        photo = printable_jpeg(journal.file(facts.photo).content) if facts.photo else None
    as_page = request.output.suffix.lower() in {".html", ".htm"}
    lanes = _lanes(job, request.lanes, downwards=as_page)
    thickness = _thickness(job, request.wagner, downwards=as_page)
    if as_page:
        from areakit.reports.job_page import job_page

        _write(request.output, job_page(facts, photo=photo, lanes=lanes, thickness=thickness, printed=desk.at))
    else:
        from areakit.reports.traveller import Pictures, write_traveller

        pictures = Pictures(photo=photo, lanes=lanes, thickness=thickness)
        write_traveller(
            facts,
            request.output,
            paper=request.paper,
            printed=desk.at[:16].replace("T", " "),
            pictures=pictures,
            font=request.font,
        )
    return request.output


def check_paper(paper: str) -> None:
    """Raise InputError for a paper that no page of the record is made for."""
    if paper not in PAPERS:
        raise InputError(f"There is no paper {paper[:20]!r}.", remedy=f"Choose one of {', '.join(PAPERS)}.")


def report_content(
    desk: Desk, number: str, *, as_page: bool, paper: str = "a4", lanes: str | None = None, wagner: float | None = None
) -> bytes:
    """Return the traveller's bytes: a PDF, or with ``as_page`` one file of HTML; see :func:`write_report`."""
    from tempfile import TemporaryDirectory

    check_paper(paper)
    with TemporaryDirectory() as folder:
        path = Path(folder) / f"traveller.{'html' if as_page else 'pdf'}"
        return write_report(
            desk, number, ReportRequest(output=path, paper=paper, lanes=lanes, wagner=wagner)
        ).read_bytes()


def _write(path: Path, text: str) -> None:
    write_whole(path, text.encode())


def _polygon(job: Job, *, brush: bool, downwards: bool) -> Any:
    """Return the outline of the job, of a part with a form what a brush is led over: its outside laid flat.

    y runs upwards as on paper, or downwards as in a browser's drawings.
    """
    from areakit.geometry.export import polygon_from_geojson

    part: Mapping[str, Any] | None = job.measured_part
    if part is None or not part.get("outline"):
        raise InputError(
            f"Job {job.number} has no outline.",
            remedy="Add a measured part to the job, or leave out the lanes.",
            fields={"areakit job measured": ""},
        )
    form, outline = form_words(part), part["outline"]
    if form is not None:
        outline = _laid_flat(part) if brush else None
    if outline is None:
        why, what = ("it cannot be laid flat", "lanes") if brush else ("no map is for that", "the map")
        raise InputError(f"The part of job {job.number} is {form}, and {why}.", remedy=f"Leave {what} out.")
    return polygon_from_geojson(outline, downwards=downwards)


def _laid_flat(part: Mapping[str, Any]) -> Any:
    """Return the outside of a part with a form laid flat, as an outline; None where it cannot be."""
    return part["form"].get("unrolled") if part.get("form") and not part.get("form_regions") else None


def _lanes(job: Job, text: str | None, *, downwards: bool) -> StrokePlan | None:
    """Return the lanes for a footprint, or for that of the plan where it laid lanes."""
    brush = _planned_brush(job)
    if text is None and (brush is None or not _can_be_led(job)):
        return None
    from areakit.plating.strokes import plan_strokes
    from areakit.service.spread import footprint_patch

    rounded = brush is None or brush["footprint_corners"] == "round"
    width, length = (
        (0.0, 0.0) if brush is None else (brush[f"footprint_{side}"]["value"] for side in ("width", "length"))
    )
    footprint = footprint_patch(text or f"{width} x {length} mm", rounded=rounded)
    hand = _hand(job, footprint)
    return plan_strokes(
        _polygon(job, brush=True, downwards=downwards),
        footprint_width_mm=footprint.width_mm,
        footprint_length_mm=footprint.length_mm,
        overlap=hand["overlap"],
        hand_speed_mm_s=hand["hand speed"],
        overrun_mm=hand["overrun"],
        rounded=rounded,
    )


def _planned_brush(job: Job) -> dict[str, Any] | None:
    planned = job.latest("planned")
    spread = planned.doc["plan"].get("distribution") if planned else None
    return spread.get("brush") if spread else None


def _can_be_led(job: Job) -> bool:
    part = job.measured_part
    return part is not None and bool(part.get("outline")) and (form_words(part) is None or _laid_flat(part) is not None)


def _hand(job: Job, footprint: Footprint) -> dict[str, float]:
    """Return overlap, overrun [mm] and hand speed [mm/s] of the strokes that the plan predicted, or the usual ones."""
    usual = {
        "overlap": usual_overlap(footprint.width_mm, footprint.length_mm, rounded=footprint.rounded),
        "overrun": footprint.length_mm / 2.0,
        "hand speed": usual_hand_speed() * 1e3,
    }
    planned = job.latest("planned")
    if planned is None or _planned_brush(job) is None:
        return usual
    unit = {"overrun": "mm", "hand speed": "mm/s"}
    premises = planned.doc["plan"]["distribution"]["premises"]
    found = {one["name"]: quantity_from_json(one["quantity"]) for one in premises}
    told = {
        name: in_unit(found[name], unit[name]).value if name in unit else found[name].value
        for name in usual
        if name in found
    }
    return {**usual, **told}


def usual_hand_speed() -> float:
    """Return the middle of the usual speeds of a hand. [m/s]"""
    from areakit.plating.premise import premise_of_range

    usual = premise_of_range("brush", "hand_speed", "hand speed")
    assert usual is not None, "the table holds the usual band"
    return usual.value


def _thickness(job: Job, wagner: float | None, *, downwards: bool) -> ThicknessMap | None:
    if wagner is None:
        return None
    from areakit.plating.distribution import predict_tank

    return predict_tank(_polygon(job, brush=False, downwards=downwards), wagner=wagner)
