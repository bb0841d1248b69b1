"""Metals, charge, thickness, and the plan for the bench."""
