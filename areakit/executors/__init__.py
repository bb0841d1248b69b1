"""Ways to run many measurements at once."""
