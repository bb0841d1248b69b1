"""A page for the bench and an HTTP API, served on this machine: JSON to request, service, result to JSON."""
