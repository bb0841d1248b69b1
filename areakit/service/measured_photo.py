"""One photo to the line that ``areakit measure --json`` prints, for what goes on from there."""

from __future__ import annotations

import json
from pathlib import Path

from areakit.service.measure import MeasureRequest, measure, result_json


def measured_photo(path: Path, request: MeasureRequest) -> str:
    """Return the JSON line of one photo.

    Raises
    ------
    AreakitError
        If the request makes no sense, or the photo cannot be read or is refused.
    """
    result = next(measure([path], request))
    if result.error is not None:
        raise result.error
    return json.dumps(result_json(result), ensure_ascii=False)
