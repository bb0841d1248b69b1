"""The middle line of a slender outline: where it runs, how wide it is there, where it ends and branches."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import MultiPoint, Polygon

from areakit.errors import OutlineInvalid

Floats = npt.NDArray[np.float64]
Node = tuple[int, int]
_SPACING = 0.25
"""Distance of points along the outline, over its mean width."""
_TRUE_TO = 0.003
"""How true the outline is followed, over its mean width."""
_MOST_POINTS = 6000
_TWIG = 1.6
"""A twig that reaches less far than this many half widths beyond its fork runs into a corner (square corner: 1.42)."""
_BEHIND = 0.5, 2.0
"""How far behind a loose end its width is taken, in half widths."""
_CELL = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class MiddleLine:
    """Short steps along the middle of a slender outline. [mm]

    - ``points``, ``normals`` (n, 2): middle of each step, and the unit vector square to it.
    - ``steps``, ``half_widths`` (n,): length of each step, and distance from it to the outline.
    - ``clear`` (n,): away from ends and forks, where the width is that of the stock.
    - ``ends`` (m,): half width at each loose end.
    - ``tips``, ``headings`` (m, 2): where the middle line leaves off at each loose end, and the unit vector along it
      there.
    - ``forks``: how many branches more than one middle line has: two for each place where the stock crosses itself.
    """

    points: Floats
    normals: Floats
    steps: Floats
    half_widths: Floats
    clear: npt.NDArray[np.bool_]
    ends: Floats
    tips: Floats
    headings: Floats
    forks: int

    @property
    def length_mm(self) -> float:
        """From the first half width to the last, loose ends to their tips included."""
        return float(self.steps.sum() + self.ends.sum())

    @property
    def mean_width_mm(self) -> float:
        """Mean width along the line."""
        return 2.0 * float(np.average(self.half_widths, weights=self.steps))

    def scatter(self) -> float:
        """Return the standard deviation of the width along the line over its mean; slow changes taken off."""
        clear = self.half_widths[self.clear]
        if len(clear) < 8:
            clear = self.half_widths
        reach = max(len(clear) // 12, 3)
        return float(np.std(clear - _running(clear, reach)) / np.mean(clear))


def middle_line(polygon: Polygon) -> MiddleLine:
    """Return the middle line of an outline, from the Voronoi cells of points along it.

    Raises OutlineInvalid if the outline is not slender enough to have one.
    """
    width = 2.0 * polygon.area / polygon.length
    count = polygon.length / (_SPACING * width)
    spacing = _SPACING * width * max(count / _MOST_POINTS, 1.0)
    around = shapely.segmentize(polygon.simplify(_TRUE_TO * width), spacing)
    cloud = MultiPoint(shapely.get_coordinates(around))
    edges = shapely.get_parts(shapely.voronoi_polygons(cloud, only_edges=True))
    ends = shapely.get_coordinates(edges).reshape(-1, 2, 2) if _two_points(edges) else _pairs(edges)
    shapely.prepare(polygon)
    inside = shapely.contains_xy(polygon, ends[:, 0, 0], ends[:, 0, 1]) & shapely.contains_xy(
        polygon, ends[:, 1, 0], ends[:, 1, 1]
    )
    graph = _Graph(ends[inside], polygon)
    graph.prune()
    return graph.line()


def _two_points(edges: npt.NDArray[np.object_]) -> bool:
    return bool((shapely.get_num_coordinates(edges) == 2).all())


def _pairs(edges: npt.NDArray[np.object_]) -> Floats:
    pieces = [np.stack([c[:-1], c[1:]], axis=1) for c in (shapely.get_coordinates(e) for e in edges)]
    return np.concatenate(pieces)


class _Graph:
    """The edges of the cells inside the outline, each node by its place."""

    def __init__(self, ends: Floats, polygon: Polygon) -> None:
        self.place: dict[Node, Floats] = {}
        self.near: dict[Node, set[Node]] = defaultdict(set)
        for one, other in ends:
            a, b = self._node(one), self._node(other)
            if a != b:
                self.near[a].add(b)
                self.near[b].add(a)
        nodes = list(self.near)
        spots = shapely.points(np.array([self.place[n] for n in nodes]).reshape(-1, 2))
        away = np.atleast_1d(shapely.distance(spots, polygon.boundary))
        self.reach = {node: float(value) for node, value in zip(nodes, away, strict=True)}

    def _node(self, spot: Floats) -> Node:
        key = (round(float(spot[0]) / _CELL), round(float(spot[1]) / _CELL))
        self.place.setdefault(key, spot)
        return key

    def prune(self) -> None:
        """Take off the twigs that run into corners and into the noise of the outline."""
        while True:
            twigs = [twig for leaf in [n for n in self.near if len(self.near[n]) == 1] if (twig := self._twig(leaf))]
            if not twigs:
                return
            for twig in twigs:
                for one in twig:
                    for other in self.near.pop(one, set()):
                        self.near[other].discard(one)

    def _twig(self, leaf: Node) -> list[Node] | None:
        """Return the nodes from a loose end up to its fork, where the twig is too short to be a branch."""
        chain, here, before = [leaf], leaf, leaf
        length = 0.0
        while True:
            onward = [n for n in self.near[here] if n != before]
            if len(self.near[here]) > 2:
                short = length + self.reach[leaf] < _TWIG * self.reach[here]
                return chain[:-1] if short else None
            if not onward:
                return None
            before, here = here, onward[0]
            length += float(np.hypot(*(self.place[here] - self.place[before])))
            chain.append(here)

    def line(self) -> MiddleLine:
        pairs = self._walk()
        if len(pairs) < 4:
            raise OutlineInvalid(
                "The outline is not slender, so it has no middle line.",
                remedy="Choose the form turned, or flat.",
                fields={"form": "turned"},
            )
        first, second = (np.array([self.place[pair[i]] for pair in pairs]) for i in (0, 1))
        along = second - first
        steps = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)
        loose = [n for n in self.near if len(self.near[n]) == 1]
        forks = [n for n in self.near if len(self.near[n]) > 2]
        middle = (first + second) / 2.0
        reach = np.array([(self.reach[a] + self.reach[b]) / 2.0 for a, b in pairs])
        return MiddleLine(
            points=middle,
            normals=np.column_stack([-along[:, 1], along[:, 0]]) / steps[:, None],
            steps=steps,
            half_widths=reach,
            clear=self._clear(middle, reach, [*loose, *forks]),
            ends=np.array([self._end(middle, reach, n) for n in loose]),
            tips=np.array([self.place[n] for n in loose]).reshape(-1, 2),
            headings=np.array([self._heading(middle, n) for n in loose]).reshape(-1, 2),
            forks=sum(len(self.near[n]) - 2 for n in forks),
        )

    def _end(self, middle: Floats, reach: Floats, node: Node) -> float:
        """Return the half width behind a loose end: nearer to it the distance to the outline is that to its corners."""
        away = np.hypot(*(middle - self.place[node]).T) / self.reach[node]
        behind = (away > _BEHIND[0]) & (away < _BEHIND[1])
        return float(np.mean(reach[behind])) if behind.any() else self.reach[node]

    def _heading(self, middle: Floats, node: Node) -> Floats:
        """Return the direction in which the line leaves off at a loose end."""
        back = self.place[node] - middle
        away = np.hypot(*back.T)
        near = (away > 0.0) & (away < _BEHIND[1] * self.reach[node])
        way = back[near].mean(axis=0) if near.any() else np.array([1.0, 0.0])
        return np.asarray(way / max(float(np.hypot(*way)), 1e-12))

    def _clear(self, middle: Floats, reach: Floats, special: list[Node]) -> npt.NDArray[np.bool_]:
        clear = np.ones(len(middle), dtype=bool)
        for node in special:
            away = np.hypot(*(middle - self.place[node]).T)
            clear &= away > 2.0 * np.maximum(reach, self.reach[node])
        return clear

    def _walk(self) -> list[tuple[Node, Node]]:
        """Return every step once, those that follow each other along the line one after the other."""
        starts = [*(n for n in self.near if len(self.near[n]) == 1), *self.near]
        seen: set[frozenset[Node]] = set()
        found: list[tuple[Node, Node]] = []
        for start in starts:
            here: Node | None = start
            while here is not None:
                onward = next((n for n in self.near[here] if frozenset((here, n)) not in seen), None)
                if onward is not None:
                    seen.add(frozenset((here, onward)))
                    found.append((here, onward))
                here = onward
        return found


def _running(values: Floats, reach: int) -> Floats:
    """Return the mean of each value with its neighbours, ``reach`` to either side."""
    padded = np.pad(values, reach, mode="edge")
    sums = np.cumsum(np.concatenate([[0.0], padded]))
    return np.asarray((sums[2 * reach + 1 :] - sums[: -(2 * reach + 1)]) / (2 * reach + 1))
