"""One remark of a check: what was seen, why it matters, where that is written, and what to do."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from areakit.errors import Fields
from areakit.sources import source

Severity = Literal["stop", "check", "note"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """``stop``: do not start like this; ``check``: decide knowingly; ``note``: good to know."""

    code: str
    severity: Severity
    message: str
    why: str
    source: str
    remedy: str
    fields: Fields = field(default_factory=dict, hash=False)

    @property
    def citation(self) -> str:
        """The source in words."""
        return source(self.source).citation
