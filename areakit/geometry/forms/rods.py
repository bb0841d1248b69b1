"""Straight pieces from their length and diameter: ends and walls of rods and tubes."""

from __future__ import annotations

import math

from areakit.uncertainty import Measured, propagate


def cylinder(diameter: Measured, length: Measured) -> Measured:
    """Return the wall of a cylinder, pi d L (closed form). [mm2]"""
    return propagate(lambda d, long: math.pi * d * long, diameter, length, unit="mm2")


def annulus(outer: Measured, inner: Measured) -> Measured:
    """Return the area between two circles of one centre, pi (D2 - d2) / 4 (closed form). [mm2]"""
    return propagate(lambda big, small: math.pi * (big * big - small * small) / 4.0, outer, inner, unit="mm2")


def disc(diameter: Measured) -> Measured:
    """Return the area of a circle. [mm2]"""
    return propagate(lambda d: math.pi * d * d / 4.0, diameter, unit="mm2")
