"""Words of people in HTML and SVG: they stay words, and a sign that no such page may hold becomes its replacement."""

from __future__ import annotations

import html
import re

_NOT_IN_XML = re.compile(r"[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What is no character of a page (XML 1.0, 2.2)."""


def escape(words: str) -> str:
    """Return words as text of a page, also within the quotes of an attribute."""
    return html.escape(_NOT_IN_XML.sub("\ufffd", words))
