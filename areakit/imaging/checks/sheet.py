"""Checks of the marker frame, its print and the camera: where the fit contradicts what is taken for granted."""

from __future__ import annotations
