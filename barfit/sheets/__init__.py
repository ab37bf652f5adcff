"""Sheets on paper: the job sheet for the bench and the quote for the customer.

One set of templates (``assets/sheets``) makes both, as HTML that needs nothing beside it; the PDF
is that page laid out on paper. Pictures come in as PNG files, so nothing here draws.
"""

from __future__ import annotations

from barfit.sheets.content import Case, Picture
from barfit.sheets.render import Kind, Paper, SheetError, html, pdf
from barfit.sheets.shots import Shot, shots

__all__ = ["Case", "Kind", "Paper", "Picture", "SheetError", "Shot", "html", "pdf", "shots"]
