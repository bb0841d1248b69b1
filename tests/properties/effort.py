"""How many cases a property is tried on: few and the same ones each time, or as many as AREAKIT_EXAMPLES says."""

import os

from hypothesis import HealthCheck, settings

_MANY = os.environ.get("AREAKIT_EXAMPLES")

effort = settings(
    max_examples=int(_MANY or 20),
    derandomize=_MANY is None,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],  # a busy machine is no fault of the property
)
