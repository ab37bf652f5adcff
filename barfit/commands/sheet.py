"""`barfit sheet`: job sheet and quote, on paper or as a page."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from barfit import scenario
from barfit.analysis import LineFinding, Sweep, corrected
from barfit.commands.plan import Planned, blocked, comes_of_it, planned_of
from barfit.commands.shared import (
    FITS,
    UNUSABLE,
    Files,
    Unusable,
    load_setup,
    progress_bar,
    say,
    scenario_files,
    writable,
)
from barfit.model import By
from barfit.sheets import Case, Kind, Paper, Picture, SheetError, Shot, html, pdf, shots
from barfit.workshop.money import money
from barfit.workshop.tasks import labour

_ENDINGS = (".pdf", ".html")


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
    everything in it and needs no network.

    The exit status is 0 when every sheet was written, 2 when a file cannot be used.
    """
    paths = scenario_files(files)
    kind = Kind.QUOTE if quote else Kind.JOB
    targets = _targets(paths, out, as_html)
    status = FITS
    for number, (file, target) in enumerate(zip(paths, targets, strict=True), 1):
        label = f"{Path(file).name}, {number} of {len(paths)}" if len(paths) > 1 else ""
        try:
            setup = load_setup(file)
        except scenario.ScenarioError as error:
            if len(paths) == 1:
                raise
            say(str(error))
            status = UNUSABLE
            continue
        who = By.SHOP if quote else by
        planned = planned_of(file, setup, not quote, who, date.today(), label)
        _write(target, planned, kind, paper)
        print(f"Wrote {target}: {'quote' if quote else 'job sheet'}, {setup.machine.name}.")
    return status


def _targets(paths: Sequence[str], out: str | None, as_html: bool) -> list[Path]:
    """Where each sheet goes. Refuses places where none can be, before anything is computed."""
    ending = ".html" if as_html else ".pdf"
    names = [f"{Path(path).stem}{ending}" for path in paths]
    folder = None if out is None else Path(out)
    if folder is None or folder.is_dir():
        if len(set(names)) < len(names):
            raise Unusable("Two of the files have the same name; write their sheets one by one.")
        targets = [(folder or Path()) / name for name in names]
    elif folder.suffix.lower() not in _ENDINGS:
        raise Unusable(f"{out}: a sheet is written as PDF or HTML; end its name in .pdf or .html.")
    elif len(paths) > 1:
        raise Unusable(f"{out} is one file for {len(paths)} sheets; name a folder that is there.")
    else:
        targets = [folder]
    for target in targets:
        writable(target, "the sheet")
    return targets


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
        blocked=blocked(planned),
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
        raise Unusable(f"{target} cannot be written: {error.strerror or error}.") from None


def _drawn(shot: Shot, swept: Sweep, found: Sequence[LineFinding], wide: bool) -> Picture:
    from barfit.scene import PictureError, picture

    size, enlarged = ((1800, 850), 1.9) if wide else ((1200, 800), 2.0)
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
