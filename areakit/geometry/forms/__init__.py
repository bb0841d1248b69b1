"""What an outline is of: one module a form, from outline and typed figures to surfaces; see :mod:`table`."""
