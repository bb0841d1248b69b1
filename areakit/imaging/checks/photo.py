"""Checks of the file and the picture, before or beside the scale: compression, motion, mirroring."""

from __future__ import annotations
