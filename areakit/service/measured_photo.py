"""One photo to the line that ``areakit measure --json`` prints, for what goes on from there."""

from __future__ import annotations

import json
from pathlib import Path

from areakit.records.sheets import CopyCheck
from areakit.service.measure import MeasureRequest, result_json
from areakit.service.measure_many import Item, measure_item


def measured_photo(path: Path, request: MeasureRequest, *, copy_check: CopyCheck | None = None) -> str:
    """Return the JSON line of one photo; ``copy_check`` is the sheet copy that it must show.

    Raises
    ------
    AreakitError
        If the request makes no sense, the photo cannot be read or is refused, or it shows another sheet.
    """
    result = measure_item(Item(photo=path), request=request, copy_check=copy_check).result
    if result.error is not None:
        raise result.error
    return json.dumps(result_json(result), ensure_ascii=False)
