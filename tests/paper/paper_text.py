"""Reads a printed PDF back."""

import io

from pypdf import PdfReader


def reader_of(pdf: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(pdf))


def pages_of(pdf: bytes) -> list[str]:
    """The text of every page, with runs of white space as one blank."""
    return [" ".join(page.extract_text().split()) for page in reader_of(pdf).pages]


def text_of(pdf: bytes) -> str:
    return " ".join(pages_of(pdf))
