"""Plated area of small irregular parts, with an uncertainty that can be trusted, and what follows from it."""

__version__ = "0.1.0"
