"""Outlines in millimetres and the surfaces that follow from them."""
