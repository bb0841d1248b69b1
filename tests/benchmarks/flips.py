"""One flipped bit in a JPEG: refused, measured right, or to another area? ``python -m tests.benchmarks.flips``.

Beside each answer stands what would be measured if the file were decoded as a viewer does, without a word.
"""

from __future__ import annotations

import argparse
import io
import random
from collections import Counter

from PIL import Image

from areakit.service.measure import MeasureRequest, measure_bytes
from tests.fuzz.photo_seeds import measured, stored

REQUEST = MeasureRequest(thickness="1.2 mm", check_lengths="150.1 x 90 mm")


def outcome(data: bytes, right: float) -> str:
    """Measure a copy; tell whether its area is the right one within what is stated."""
    found = measure_bytes(data, REQUEST, name="flipped")
    if found.error is not None:
        return "refused"
    areas = [part.surface.face for part in found.parts]
    same = len(areas) == 1 and abs(areas[0].value - right) <= areas[0].expanded_uncertainty
    return "right" if same else "other area"


def as_shown(data: bytes) -> bytes | None:
    """Return the picture as a viewer shows it, as PNG; None if it shows nothing."""
    try:
        with Image.open(io.BytesIO(data)) as image:
            return stored(image.convert("RGB"), "PNG", compress_level=1)
    except (OSError, ValueError, SyntaxError):
        return None


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=250)
    given = parser.parse_args()
    data, rng = measured(), random.Random(2)
    right = measure_bytes(data, REQUEST, name="sound").parts[0].surface.face.value
    start = data.index(b"\xff\xda")
    counts: dict[str, Counter[str]] = {"areakit": Counter(), "as a viewer decodes": Counter()}
    for _ in range(given.cases):
        flipped = bytearray(data)
        flipped[rng.randrange(start, len(data))] ^= 1 << rng.randrange(8)
        counts["areakit"][outcome(bytes(flipped), right)] += 1
        shown = as_shown(bytes(flipped))
        counts["as a viewer decodes"]["refused" if shown is None else outcome(shown, right)] += 1
    print(f"| {given.cases} flipped bits | refused | right | other area |\n|---|---|---|---|")
    for name, found in counts.items():
        print(f"| {name} | {found['refused']} | {found['right']} | {found['other area']} |")


if __name__ == "__main__":
    main()
