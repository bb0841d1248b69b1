"""Where labels go in a picture: beside what they name, over no edge and no other part, with a line that leads there.

Edges and parts are drawn into a coarse mask a little thicker than they are, so a box that is free in the mask is free
in the picture. A label takes the free place that is nearest to its part, below before above; one that finds none beside
it goes on the part's own face where that is wide enough, and else stays away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

CELL_PX = 4
"""Side of a cell of the mask, in pixels of the picture."""
CLEAR_PX = 5.0
"""How far a label stays away from edges and from other labels."""
ABOVE_COSTS, ON_FACE_COSTS, CROSSING_COSTS = 1.15, 90.0, 400.0
"""Distance above and beside a part against below it; what a place on the face, and a line across another part, cost
in pixels."""
NEAR, TRIALS = 3000, 300
"""How many places nearest to a part's box are looked at, and how many of them for a line that crosses nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """What a label belongs to: closed rings in pixels of the picture, outer first, and the size of its label."""

    rings_px: Sequence[Floats]
    size_px: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a label stands: its box (left, top, right, bottom), and the line to its part, None on the part itself."""

    box: tuple[float, float, float, float]
    leader: tuple[tuple[float, float], tuple[float, float]] | None


def place_labels(
    named: Sequence[Named], size_px: tuple[int, int], *, taken: Sequence[tuple[float, float, float, float]] = ()
) -> list[Place | None]:
    """Return a place for each label in a picture of ``size_px`` (width, height); None where there is none.

    ``taken`` are boxes that nothing may cover. Large parts choose last: small ones have fewer places near them.
    """
    shape = -(-size_px[1] // CELL_PX), -(-size_px[0] // CELL_PX)
    parts = np.zeros(shape, dtype=np.int32)
    for one in named:
        parts += _drawn(one.rings_px, shape, filled=True)
    edges = sum((_drawn(one.rings_px, shape, filled=False).astype(np.int32) for one in named), np.zeros(shape, int)) > 0
    boxes = np.zeros(shape, dtype=bool)
    for box in taken:
        _fill(boxes, box)
    places: list[Place | None] = [None] * len(named)
    order = sorted(range(len(named)), key=lambda i: float(np.ptp(named[i].rings_px[0], axis=0).prod()))
    for i in order:
        own = _drawn(named[i].rings_px, shape, filled=True)
        others = (parts - own) > 0
        places[i] = _place(named[i], own=own, others=others, blocked=edges | boxes, size_px=size_px)
        if (found := places[i]) is not None:
            _fill(boxes, found.box)
            if found.leader is not None:
                boxes |= _line(found.leader, shape)
    return places


def _place(one: Named, *, own: Flags, others: Flags, blocked: Flags, size_px: tuple[int, int]) -> Place | None:
    width, height = one.size_px
    free = _free(blocked | others, width, height, size_px)
    rows, columns = np.nonzero(free)
    if not len(rows):
        return None
    ring = one.rings_px[0][:: max(1, len(one.rings_px[0]) // 200)]
    corners = np.array([ring.min(axis=0), ring.max(axis=0)])
    if len(rows) > NEAR:
        far = _apart(
            (columns * CELL_PX).astype(np.float64), (rows * CELL_PX).astype(np.float64), width, height, corners
        )
        near = np.argpartition(far, NEAR)[:NEAR]
        rows, columns = rows[near], columns[near]
    left = (columns * CELL_PX).astype(np.float64)
    top = (rows * CELL_PX).astype(np.float64)
    on_face = _sums(own, width, height)[rows, columns] > 0
    cost = _distance(left, top, width, height, ring)
    below = top > float(np.max(ring[:, 1])) - height
    cost = np.where(on_face, ON_FACE_COSTS, np.where(below, cost, ABOVE_COSTS * cost + 2.0))
    best: tuple[float, Place] | None = None
    for k in np.argsort(cost, kind="stable")[:TRIALS]:
        if best is not None and cost[k] >= best[0]:
            break
        box = (float(left[k]), float(top[k]), float(left[k]) + width, float(top[k]) + height)
        leader = None if on_face[k] else _leader(box, ring)
        crossed = leader is not None and bool((_line(leader, own.shape) & others).any())
        total = float(cost[k]) + (CROSSING_COSTS if crossed else 0.0)
        if best is None or total < best[0]:
            best = total, Place(box=box, leader=leader)
    return best[1] if best else None


def _apart(left: Floats, top: Floats, width: float, height: float, corners: Floats) -> Floats:
    """Return how far boxes of one size are from one whose lowest and highest corners are given, shape (boxes,)."""
    (low_x, low_y), (high_x, high_y) = corners
    dx = np.maximum(np.maximum(left - high_x, low_x - left - width), 0.0)
    dy = np.maximum(np.maximum(top - high_y, low_y - top - height), 0.0)
    return np.asarray(np.hypot(dx, dy))


def _distance(left: Floats, top: Floats, width: float, height: float, ring: Floats) -> Floats:
    """Return how far boxes of one size are from the nearest point of a ring, shape (boxes,)."""
    nearest = np.full(len(left), np.inf)
    for x, y in ring:
        dx = np.maximum(np.maximum(left - x, x - left - width), 0.0)
        dy = np.maximum(np.maximum(top - y, y - top - height), 0.0)
        np.minimum(nearest, dx * dx + dy * dy, out=nearest)
    return np.asarray(np.sqrt(nearest))


def _leader(box: tuple[float, float, float, float], ring: Floats) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the shortest line from a box to a ring."""
    near = np.column_stack([np.clip(ring[:, 0], box[0], box[2]), np.clip(ring[:, 1], box[1], box[3])])
    k = int(np.argmin(np.hypot(*(near - ring).T)))
    return (float(near[k, 0]), float(near[k, 1])), (float(ring[k, 0]), float(ring[k, 1]))


def _free(blocked: Flags, width: float, height: float, size_px: tuple[int, int]) -> Flags:
    """Tell for each cell whether a box with its upper left corner there covers nothing and stays in the picture."""
    free = _sums(blocked, width, height) == 0
    rows, columns = np.arange(free.shape[0]) * CELL_PX, np.arange(free.shape[1]) * CELL_PX
    free &= (rows >= CLEAR_PX)[:, None] & (rows + height <= size_px[1] - CLEAR_PX)[:, None]
    free &= (columns >= CLEAR_PX)[None, :] & (columns + width <= size_px[0] - CLEAR_PX)[None, :]
    return np.asarray(free)


def _sums(mask: Flags, width: float, height: float) -> npt.NDArray[np.int64]:
    """Count the set cells under a box, and around it by what stays clear, for each upper left corner; same shape."""
    margin = int(np.ceil(CLEAR_PX / CELL_PX))
    across, down = int(np.ceil(width / CELL_PX)) + 1 + 2 * margin, int(np.ceil(height / CELL_PX)) + 1 + 2 * margin
    padded = np.pad(mask.astype(np.int64), ((margin + 1, down), (margin + 1, across)))
    total = padded.cumsum(axis=0).cumsum(axis=1)
    rows, columns = mask.shape
    inner = total[down : down + rows, across : across + columns] - total[:rows, across : across + columns]
    return np.asarray(inner - total[down : down + rows, :columns] + total[:rows, :columns])


def _drawn(rings_px: Sequence[Floats], shape: tuple[int, int], *, filled: bool) -> Flags:
    """Draw rings into a mask: their edges, or the whole of the outer one with its edge."""
    image = Image.new("1", (shape[1], shape[0]))
    draw = ImageDraw.Draw(image)
    for ring in rings_px[: 1 if filled else None]:
        points = [(float(x), float(y)) for x, y in ring / CELL_PX]
        if filled and len(points) > 2:
            draw.polygon(points, fill=1)
        draw.line([*points, points[0]], fill=1, width=3)
    return np.asarray(image, dtype=bool)


def _line(leader: tuple[tuple[float, float], tuple[float, float]], shape: tuple[int, int]) -> Flags:
    image = Image.new("1", (shape[1], shape[0]))
    ImageDraw.Draw(image).line([(x / CELL_PX, y / CELL_PX) for x, y in leader], fill=1, width=1)
    return np.asarray(image, dtype=bool)


def _fill(mask: Flags, box: tuple[float, float, float, float]) -> None:
    left, top, right, bottom = (value / CELL_PX for value in box)
    mask[max(int(top), 0) : int(np.ceil(bottom)) + 1, max(int(left), 0) : int(np.ceil(right)) + 1] = True
