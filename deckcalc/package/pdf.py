"""Make the PDF of a package: tagged, archival, without what readers stumble over, and small."""

from __future__ import annotations

import datetime
import io
import json
import warnings
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pikepdf
import typst

from deckcalc.base.errors import PackageError


def compiled(
    source: Path, facts: Mapping[str, object], moment: datetime.datetime, standards: Sequence[Any] = ("a-3a", "ua-1")
) -> bytes:
    """Return the PDF of a document of Typst; the same arguments give the same bytes.

    Parameters
    ----------
    source : Path
        The document; it reads no file outside its folder.
    facts : Mapping[str, object]
        What the document finds in ``sys.inputs.facts``.
    moment : datetime.datetime
        The only date in the file.
    standards : sequence of str
        What it keeps to: that it is archived with its attachments, and read aloud.

    Raises
    ------
    PackageError
        If the document cannot be set, or does not keep to them.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            pdf = typst.compile(
                source,
                root=source.parent,
                ignore_system_fonts=True,
                sys_inputs={"facts": json.dumps(facts)},
                pdf_standards=[*standards],
                timestamp=moment,
            )
    except RuntimeError as error:
        message = getattr(error, "message", str(error))
        raise PackageError(f"The package could not be made: {message}") from None
    return finished(pdf)


def finished(pdf: bytes) -> bytes:
    """Return the document with what it says unchanged, in about half the bytes.

    ``/Suspects false`` is what its absence says; Typst writes it and poppler takes it for an error ("Suspects object
    is wrong type").
    """
    written = io.BytesIO()
    with pikepdf.open(io.BytesIO(pdf)) as document:
        if pikepdf.Name.Suspects in document.Root.get(pikepdf.Name.MarkInfo, {}):
            del document.Root.MarkInfo[pikepdf.Name.Suspects]
        document.save(
            written,
            deterministic_id=True,
            fix_metadata_version=False,
            object_stream_mode=pikepdf.ObjectStreamMode.generate,
        )
    return written.getvalue()
