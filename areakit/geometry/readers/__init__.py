"""Readers of drawings: a Protocol of one method, a table of names, and an entry-point group."""
