"""How long a surface may stand without current: by the metal that lies open and the step, from a table.

A rinse between two steps is no pause: the surface stays wet, and each rinse that the plan has there adds its time.
"""

from __future__ import annotations

from functools import cache

from areakit.plating.metals import Figure, read_figures


@cache
def _rows() -> dict[str, Figure]:
    return {row.subject: row for row in read_figures("pauses.csv")}


def allowed_pause(metal: str, *, kind: str = "plate") -> Figure:
    """Return the longest pause on a metal before it has to be activated again; a strike bears less. [s]"""
    rows = _rows()
    own = rows.get(metal, rows["other"])
    strike = rows["strike"]
    return strike if kind == "strike" and strike.value < own.value else own


def rinse_time() -> float:
    """Return the time that a rinse takes. [s]"""
    return _rows()["rinse"].value
