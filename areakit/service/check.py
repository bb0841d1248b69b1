"""Check claimed figures: one request in, one verdict for each set of claims out."""

from __future__ import annotations

import logging

from areakit.costing.claims import read_claims
from areakit.costing.measured_part import MeasuredPart
from areakit.costing.verdict import Verdict, check_claims
from areakit.errors import AreakitError, InputError
from areakit.records.check_json import read_claim_rows
from areakit.records.measured_parts import part_asked
from areakit.service.quote_request import CheckRequest as CheckRequest

logger = logging.getLogger(__name__)


def check(request: CheckRequest) -> tuple[Verdict, ...]:
    """Return a verdict for every set of claims.

    InputError for claims that cannot be read, or of which no two can be compared; the message names the row.
    """
    part = part_asked(request.part, request.part_number)
    rows = read_claim_rows(request.file) if request.file is not None else [{}]
    verdicts = tuple(
        _verdict({**request.claims, **row}, part=part, row=number if len(rows) > 1 else None, request=request)
        for number, row in enumerate(rows, start=1)
    )
    logger.info("checked %d claims, %d disagree", len(verdicts), sum(not one.agrees for one in verdicts))
    return verdicts


def _verdict(entries: dict[str, str], *, part: MeasuredPart | None, row: int | None, request: CheckRequest) -> Verdict:
    if row is not None and not entries.get("name"):
        entries = {**entries, "name": f"line {row}"}
    try:
        verdict = check_claims(read_claims(entries), part, two_slips=request.two_slips)
    except AreakitError as error:
        if row is None:
            raise
        raise InputError(
            f"Row {row} of the claims: {error.message}", remedy=error.remedy, fields=error.fields
        ) from None
    if not verdict.comparisons and verdict.floor is None:
        where = f"Row {row} of the claims holds" if row is not None else "There are"
        raise InputError(
            f"{where} no two figures that physics ties together.",
            remedy="Give, say, area, thickness, metal and mass, or an area and the measured part.",
            fields={"part": ""},
        )
    return verdict
