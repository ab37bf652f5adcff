"""Sheets as HTML that needs nothing beside it, and as PDF."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Sequence
from enum import StrEnum
from functools import cache

import jinja2
from markupsafe import Markup

from barfit.catalogue import data_dir
from barfit.sheets.content import Case, Picture, content


class Kind(StrEnum):
    """Whom a sheet is for."""

    JOB = "job"
    QUOTE = "quote"


class Paper(StrEnum):
    """The sizes of paper: ISO 216 A4, and the Letter of ASME Y14.1."""

    A4 = "a4"
    LETTER = "letter"

    @property
    def size(self) -> tuple[float, float]:
        """Width and height, mm."""
        return {Paper.A4: (210.0, 297.0), Paper.LETTER: (215.9, 279.4)}[self]


class SheetError(RuntimeError):
    """A sheet that cannot be made here; the message says what is missing."""


def html(
    case: Case, pictures: Sequence[Picture], kind: Kind = Kind.JOB, paper: Paper = Paper.A4
) -> str:
    """The sheet as one page of HTML with everything in it, pictures too. Printed by a browser it
    has the size of the ``paper``.
    """
    page = _templates().get_template(f"{kind}.html")
    width, height = paper.size
    return page.render(
        **content(case),
        pictures=[
            {
                "heading": one.shot.heading,
                "words": one.shot.words,
                "source": f"data:image/png;base64,{b64encode(one.png).decode('ascii')}",
            }
            for one in pictures
        ],
        paper=f"{width:g}mm {height:g}mm",
    )


def pdf(page: str) -> bytes:
    """A page of `html` laid out on paper. Raises SheetError where the library that sets type
    (Pango) is not installed.
    """
    try:
        from weasyprint import HTML, URLFetcher
    except OSError as error:  # the library it calls; the import itself looks for it
        raise SheetError(
            "cannot write a PDF: the Pango library is not installed (Debian: apt-get install "
            "libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0; macOS: brew install pango; "
            "Windows: with MSYS2). Write .html instead and print it from a browser"
        ) from error

    # a sheet has everything in it: nothing is fetched, whatever a name in a scenario says
    inside = URLFetcher(allowed_protocols={"data"}, fail_on_errors=True)
    return bytes(HTML(string=page, url_fetcher=inside).write_pdf())


def _typeset(value: object) -> object:
    """Text with true minus signs before its numbers, which stay on one line with their units."""
    if not isinstance(value, str) or isinstance(value, Markup):
        return value
    signed = re.sub(r"(?<![\w\-])-(?=\d)", "\u2212", value)
    return re.sub(r"(?<=\d) (?=(?:mm|in|h|m|V|%|N·m|km)\b|%)", "\u00a0", signed)


@cache
def _templates() -> jinja2.Environment:
    folder = data_dir() / "sheets"
    env = jinja2.Environment(
        loader=jinja2.FileSystemLoader(folder),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=_typeset,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.globals["style"] = Markup((folder / "sheet.css").read_text(encoding="utf-8"))
    return env
