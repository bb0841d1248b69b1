"""Pages in HTML, and words of people in HTML and SVG: they stay words, and what no page may hold is replaced."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence

_NOT_IN_XML = re.compile(r"[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What is no character of a page (XML 1.0, 2.2)."""


def escape(words: str) -> str:
    """Return words as text of a page, also within the quotes of an attribute."""
    return html.escape(_NOT_IN_XML.sub("\ufffd", words))


def html_page(title: str, *, style: str, body: Sequence[str], head: str = "") -> str:
    """Return a page that needs nothing else; the title is words, ``body`` and ``head`` are HTML."""
    lines = "\n".join(part for part in body if part)
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">{head}'
        f"<title>{escape(title)}</title><style>{style}</style></head>\n<body>\n{lines}\n</body></html>\n"
    )
