"""Work for worker processes that may die of it; in a module of its own, since each worker loads the module anew."""

import os
import signal


def square_or_die(number: int) -> int:
    if number < 0:
        os.kill(os.getpid(), signal.SIGKILL)
    if number == 13:
        raise ValueError("thirteen")
    return number * number
