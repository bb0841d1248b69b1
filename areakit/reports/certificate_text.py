"""The words of a certificate's file, to hold them against what the record states."""

from __future__ import annotations

from areakit.errors import FileError
from areakit.reports.document import PAPERS

_SUBJECT = "areakit certificate "
"""What stands before the code in the file's own description."""


def described(code: str) -> str:
    """Return the description that goes into a certificate's file."""
    return f"{_SUBJECT}{code}"


def read_certificate(data: bytes) -> tuple[str, str, str]:
    """Return code, paper and all words of a certificate's file, blanks left out.

    Raises FileError if it is no PDF, or not a certificate of this kind.
    """
    import pypdfium2

    try:
        document = pypdfium2.PdfDocument(data)
        subject = str(document.get_metadata_value("Subject"))
        width = document[0].get_width()
        words = "".join(document[n].get_textpage().get_text_bounded() for n in range(len(document)))
    except (pypdfium2.PdfiumError, IndexError):
        raise FileError("The file is not a PDF that can be read.", remedy="Give the file of the certificate.") from None
    if not subject.startswith(_SUBJECT):
        raise FileError(
            "The PDF is not a certificate.",
            remedy="Give the file that was made as the certificate of the job.",
            fields={"areakit job certificate": ""},
        )
    paper = min(PAPERS, key=lambda name: abs(PAPERS[name][0] - width))
    return subject.removeprefix(_SUBJECT), paper, "".join(words.split())


def first_difference(said: str, recorded: str) -> tuple[str, str] | None:
    """Return where two texts part, a few letters of each; None where they are the same."""
    if said == recorded:
        return None
    at = next(
        (n for n, (a, b) in enumerate(zip(said, recorded, strict=False)) if a != b), min(len(said), len(recorded))
    )
    start = max(0, at - 12)
    return said[start : at + 12], recorded[start : at + 12]
