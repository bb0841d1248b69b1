"""The page behind the one-time link, pages that refuse, and the link as a code to scan."""

from __future__ import annotations

import io

from areakit.reports.markup import escape

_PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark"><title>areakit: this device</title>
<link rel="icon" href="/static/mark.svg"><link rel="stylesheet" href="/static/bench.css"></head>
<body class="entry"><main><h1>{title}</h1><p>{text}</p>{form}</main></body></html>
"""


def entry_page(key: str | None) -> str:
    """Return the page for a device that holds a key, or for one whose key does not fit."""
    if key is None:
        return _PAGE.format(
            title="This link was used, or never fitted",
            text="Each link lets in one device. The machine that runs areakit serve shows a new one.",
            form="",
        )
    form = (
        '<form method="post" action="/enter"><input type="hidden" name="key" '
        f'value="{escape(key)}"><button class="go">Use the bench on this device</button></form>'
    )
    text = "The link then stops working for others. The pass is good for a day."
    return _PAGE.format(title="Let this device in?", text=text, form=form)


NO_PASS_PAGE = _PAGE.format(
    title="This device has no pass yet",
    text="Scan the code, or open the one-time link, that the computer with areakit shows: on its page under “Phone”, "
    "and in the window that the server runs in. Readings that wait on this device are kept until then.",
    form="",
)
"""What a browser without a pass gets in place of the bench."""


def refusal_page(message: str, remedy: str) -> str:
    """Return the page for a person whose browser asked for what there is not."""
    return _PAGE.format(title=escape(message), text=escape(remedy), form="")


def code_text(link: str) -> str:
    """Return a QR code (ISO/IEC 18004) of a link in block characters, dark on light whatever the terminal's colours."""
    import segno

    stream = io.StringIO()
    segno.make(link, error="m", micro=False).terminal(out=stream, compact=True, border=2)
    lines = stream.getvalue().rstrip("\n").split("\n")
    return "\n".join(f"{_LIGHT_ON_DARK}{line}{_PLAIN}" for line in lines) + "\n"


_LIGHT_ON_DARK, _PLAIN = "\x1b[97;40m", "\x1b[0m"
"""The blocks are the light modules: they are drawn in white on black by name (ECMA-48), not in the terminal's own."""


def code_svg(link: str) -> str:
    """Return the same code as an SVG file, dark on white."""
    import segno

    stream = io.BytesIO()
    made = segno.make(link, error="m", micro=False)
    made.save(stream, kind="svg", xmldecl=False, scale=5, border=4, dark="#000", light="#fff")
    return stream.getvalue().decode()
