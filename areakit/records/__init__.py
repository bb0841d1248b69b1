"""The record of a job, and the one place where types become JSON."""
