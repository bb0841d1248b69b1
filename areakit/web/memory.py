"""The memory of a server that runs for long: what photos took goes back to the system."""

from __future__ import annotations

import ctypes

HEAPS = 2
LARGEST_IN_A_HEAP = 1 << 20
"""Larger blocks, such as photos, are mapped by themselves and given back whole. [bytes]"""
_M_MMAP_THRESHOLD, _M_ARENA_MAX = -3, -8
"""Names of the GNU C library for both (its mallopt(3))."""


def bound_heaps() -> bool:
    """Bound the heaps of the C library, and return whether it could be asked.

    Left alone it gives up to 8 heaps a core to threads, and keeps ever larger blocks in them once one was freed: photos
    measured one after the other then leave gaps in all of them, and memory creeps for as long as the server runs.
    """
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (AttributeError, OSError, TypeError):  # another C library, or none by that name
        return False
    return bool(mallopt(_M_ARENA_MAX, HEAPS)) and bool(mallopt(_M_MMAP_THRESHOLD, LARGEST_IN_A_HEAP))
