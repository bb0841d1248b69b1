"""Ways to run many measurements at once: any ``concurrent.futures`` executor, and processes of this machine."""

from areakit.executors.each import Finished, run_each
from areakit.executors.processes import cores, no_processes, run_on_processes

__all__ = ["Finished", "cores", "no_processes", "run_each", "run_on_processes"]
