"""`barfit sheet`: job sheet and quote, on paper or as a page."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from barfit.analysis import LineFinding, Sweep, corrected
from barfit.commands.many import for_each, scenario_files, targets
from barfit.commands.plan import Planned, comes_of_it, in_the_way, planned_of
from barfit.commands.shared import Files, Unusable, progress_bar
from barfit.model import By, Setup
from barfit.report.files import not_written
from barfit.sheets import Case, Kind, Paper, Picture, SheetError, Shot, html, pdf, shots
from barfit.workshop.money import money
from barfit.workshop.tasks import labour


def sheet(
    files: Files,
    out: Annotated[
        str | None,
        typer.Option(
            "--out",
            "-o",
            metavar="SHEET",
            help="A .pdf or .html; of several files a folder. Default: FILE.pdf here.",
        ),
    ] = None,
    quote: Annotated[
        bool, typer.Option("--quote", help="The quote for a customer, not the job sheet.")
    ] = False,
    paper: Annotated[Paper, typer.Option(help="Size of the paper.")] = Paper.A4,
    as_html: Annotated[
        bool, typer.Option("--html", help="A page for a browser, where --out does not say.")
    ] = False,
    by: Annotated[
        By | None,
        typer.Option("--by", help="Who does the work, for this time. Default: as the file says."),
    ] = None,
) -> int:
    """Write the job sheet: pictures, lengths, orders, cost, work and the check list before riding.

    With --quote a simpler one for a customer: what must change and why, what it costs in a shop,
    when, and a place to sign. Both are a prediction, not a release, and say so. A page (.html) has
    everything in it and needs no network. Of several files, or a folder, one sheet each; what is
    wrong with one keeps none of the others back.

    \b
    Examples:
      barfit sheet my-bike.toml
      barfit sheet my-bike.toml --quote --paper letter -o quote.pdf
      barfit sheet garage/ --html -o sheets/

    \b
    Exit status:
      0  every sheet was written
      2  a file or an option cannot be used, or nothing can be written there
    """
    paths = scenario_files(files)
    kind = Kind.QUOTE if quote else Kind.JOB
    endings = (".html", ".pdf") if as_html else (".pdf", ".html")
    places = targets(paths, out, endings, "sheet")

    def made(number: int, setup: Setup, label: str) -> None:
        who = By.SHOP if quote else by
        planned = planned_of(paths[number], setup, not quote, who, date.today(), label)
        _write(places[number], planned, kind, paper)
        what = "quote" if quote else "job sheet"
        print(f"Wrote {places[number]}: {what}, {setup.machine.name}.", flush=True)

    return for_each(paths, made)


def case_of(planned: Planned) -> Case:
    """All that a sheet tells of what was worked out and planned."""
    worked, done = planned.worked, planned.worked.done
    return Case(
        setup=planned.setup,
        findings=worked.checked.findings,
        remarks=worked.checked.remarks,
        taken=worked.taken,
        order=planned.order,
        money=money(planned.order, labour(planned.tasks), planned.setup.job),
        tasks=planned.tasks,
        schedule=planned.schedule,
        made=planned.schedule.ordered,
        checks=planned.checks or (),
        after=done.checked.findings if done else None,
        after_remarks=done.checked.remarks if done else None,
        comes_of_it=comes_of_it(planned),
        blocked=in_the_way(planned),
    )


def _write(target: Path, planned: Planned, kind: Kind, paper: Paper) -> None:
    case, setup, as_is = case_of(planned), planned.setup, planned.worked.as_is
    found = as_is.checked.findings
    swept = corrected(as_is.swept, {one.line: one.sure.slack_by for one in found})
    most = 4 if kind is Kind.JOB else 1
    wanted = shots(setup, case.findings, case.remarks, setup.unit, most)
    with progress_bar("Drawing") as tell:
        pictures = []
        for done, shot in enumerate(wanted, 1):
            pictures.append(_drawn(shot, swept, found, wide=len(wanted) == 1))
            tell(0.8 * done / len(wanted))
        try:
            page = html(case, pictures, kind, paper)
            content = pdf(page) if target.suffix.lower() == ".pdf" else page.encode()
        except SheetError as error:
            raise Unusable(f"{error}.") from None
    try:
        target.write_bytes(content)
    except OSError as error:
        raise Unusable(not_written(target, error)) from None


def _drawn(shot: Shot, swept: Sweep, found: Sequence[LineFinding], wide: bool) -> Picture:
    from barfit.scene import PictureError, picture

    size, enlarged = ((1800, 850), 3.2) if wide else ((1200, 800), 3.2)
    try:
        png = picture(
            swept,
            found,
            shot.turn,
            travel=shot.travel,
            line=shot.line or None,
            plain=True,
            unit=swept.setup.unit,
            size=size,
            enlarged=enlarged,
        )
    except PictureError as error:
        raise Unusable(f"{error}.") from None
    return Picture(shot, png)
