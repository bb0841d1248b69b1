"""What threads took for photos goes back to the system; seen in processes of their own, for heaps are the process's."""

import subprocess
import sys

import pytest

SCENE = """
import re, sys, threading
from areakit.web.memory import LARGEST_IN_A_HEAP, bound_heaps
if sys.argv[1] == "bound" and not bound_heaps():
    raise SystemExit
kept = []

def photo():
    blocks = [bytearray(size * LARGEST_IN_A_HEAP) for size in (3, 9, 17, 25)]
    kept.append([bytes(3000) for _ in range(30)])  # an answer is kept a little longer than its photo
    del blocks

for _ in range(30):
    threads = [threading.Thread(target=photo) for _ in range(12)]
    [thread.start() for thread in threads]
    [thread.join() for thread in threads]
print(re.search(r"VmRSS:\\s+(\\d+)", open("/proc/self/status").read())[1])
"""


def memory_kb(how: str) -> int:
    done = subprocess.run([sys.executable, "-c", SCENE, how], capture_output=True, text=True, check=True)
    if not done.stdout:
        pytest.skip("another C library than GNU's")
    return int(done.stdout)


@pytest.mark.thorough
@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_photos_of_many_threads_leave_nothing_in_the_heaps() -> None:
    """360 photos of 54 MB, never more than 12 at once, and 32 MB of answers that stay."""
    bound, alone = memory_kb("bound"), memory_kb("left alone")
    assert bound < 100_000
    assert bound < alone / 2
