"""One photo to the line that ``areakit measure --json`` prints, for what goes on from there."""

from __future__ import annotations

import json
from pathlib import Path

from areakit.records.sheets import PrintCheck
from areakit.service.measure import MeasureRequest, result_json
from areakit.service.measure_many import Item, measure_item


def measured_photo(path: Path, request: MeasureRequest, *, print_check: PrintCheck | None = None) -> str:
    """Return the JSON line of one photo; ``print_check`` is the print that its sheet must be.

    Raises
    ------
    AreakitError
        If the request makes no sense, the photo cannot be read or is refused, or it shows another sheet.
    """
    result = measure_item(Item(photo=path), request=request, print_check=print_check).result
    if result.error is not None:
        raise result.error
    return json.dumps(result_json(result), ensure_ascii=False)
