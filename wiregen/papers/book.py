"""A workbook as bytes that do not depend on the clock: for the folder and for from-to tables."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from openpyxl import Workbook

FIXED = (2000, 1, 1, 0, 0, 0)


def book_bytes(book: Workbook) -> bytes:
    """The workbook without the clock: openpyxl writes the time into the properties and into the archive."""
    book.properties.created = book.properties.modified = datetime(2000, 1, 1)
    first, out = io.BytesIO(), io.BytesIO()
    book.save(first)
    with zipfile.ZipFile(first) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for item in source.infolist():
            data = source.read(item.filename)
            if item.filename == "docProps/core.xml":
                data = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>2000-01-01T00:00:00Z", data)
            fixed = zipfile.ZipInfo(item.filename, FIXED)
            fixed.compress_type = zipfile.ZIP_DEFLATED
            target.writestr(fixed, data)
    return out.getvalue()
