"""Sheets: what is on them, read back from PDF by another library and from HTML by a parser."""

from __future__ import annotations

import io
import math
import os
import re
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser

import pypdf
import pytest
from made_orders import bundled, remedies, remedy
from PIL import Image
from weasyprint.urls import FatalURLFetchingError

from barfit import analysis, cli
from barfit.analysis import Verdict
from barfit.commands import plan
from barfit.commands import sheet as command
from barfit.commands.plan import Planned
from barfit.commands.shared import Judged, Worked
from barfit.model import EXACT, Job, Signature, Tick
from barfit.remedies import Means
from barfit.report.results import Checked
from barfit.report.sentences import CAUTION
from barfit.report.trade import remarks
from barfit.scenario import save
from barfit.sheets import Kind, Paper, Picture, Shot, html, pdf, render, shots
from barfit.sheets.content import content
from barfit.trade import trade
from barfit.units import format_length
from barfit.workshop.check import Topic
from barfit.workshop.orders import Group, taken
from barfit.workshop.together import Together

LINES = ("throttle pull cable", "front brake hose")
MADE = date(2027, 3, 14)
MM = 72.0 / 25.4  # points


@pytest.fixture(scope="module")
def worked() -> Worked:
    """Two lines that are too short; what is done about each is chosen by hand."""
    whole = bundled("tall-bar-cruiser")
    setup = replace(
        whole,
        lines=tuple(whole.line(name) for name in LINES),
        uncertainty=EXACT,
        job=Job(
            ticks=(Tick("idle steady", done=True, note="hot"),),
            signed=Signature("A. Reader", MADE),
        ),
    )
    step = math.radians(20.0)
    swept, stock = (analysis.sweep(setup, stock=one, step=step) for one in (False, True))
    found = analysis.findings(swept)
    figures = trade(swept, stock, found)
    cures = remedies(
        remedy(setup, LINES[0], Means.NEXT_SIZE, 150.0),
        remedy(setup, LINES[1], Means.MADE_UP, 165.0),
    )
    checked = Checked(False, found, remarks(figures, setup, setup.unit))
    return Worked(
        setup=setup,
        as_is=Judged(swept, checked, figures),
        remedies=cures,
        taken=taken(setup, cures),
        together=Together(setup),
        done=None,
    )


@pytest.fixture(scope="module")
def planned(worked) -> Planned:
    """As the plan has it, with what was worked out put in."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plan, "work_out", lambda setup, label: worked)
        return plan.planned_of("two.toml", worked.setup, True, None, MADE, "")


@pytest.fixture(scope="module")
def case(planned):
    return command.case_of(planned)


@pytest.fixture(scope="module")
def pictures(case):
    made = []
    for number, shot in enumerate(shots(case.setup, case.findings, case.remarks, "mm")):
        png = io.BytesIO()
        Image.new("RGB", (120, 80), (40 * number, 120, 160)).save(png, "PNG")
        made.append(Picture(shot, png.getvalue()))
    return made


def read(content: bytes) -> tuple[list[str], pypdf.PdfReader]:
    """The words of each page, with single spaces."""
    reader = pypdf.PdfReader(io.BytesIO(content))
    return [" ".join(page.extract_text().split()) for page in reader.pages], reader


@pytest.fixture(scope="module")
def job(case, pictures):
    return read(pdf(html(case, pictures)))


def test_a_job_sheet_has_every_line_with_its_lengths(case, job):
    told = " ".join(job[0])
    for finding in case.findings:
        assert finding.line in told.lower()
        for mm in (finding.installed, finding.needed):
            assert format_length(mm, "mm", with_unit=False) in told
        margin = format_length(finding.margin, "mm", with_unit=False).replace("-", "\u2212")
        assert margin in told
    for item in case.order.of(Group.LINES):
        assert f"{format_length(item.length, 'mm')} (+" in told
    assert "Next size sold, 150 mm longer" in told


def test_a_job_sheet_says_what_to_mind(case, job):
    pages, _ = job
    assert CAUTION in pages[0]
    assert CAUTION in pages[-1]
    assert "service manual" in " ".join(pages)
    for number, page in enumerate(pages, 1):
        assert f"Page {number} of {len(pages)}" in page
        assert "a prediction, not a release" in page


def test_a_job_sheet_has_orders_cost_work_and_checks(case, job):
    told = " ".join(job[0])
    for item in case.order.items:
        assert item.what.lower() in told.lower() or item.line in told
    for term in ("At home", "In a shop", "Together", "USD", "HOLD POINT", "Check list before"):
        assert term in told
    for task in case.tasks:
        assert " ".join(task.label.split()) in told
    for check in ("Idle steady", "Free lock to lock", "Clamp torque"):
        assert check in told
    assert "from the service manual" in told
    assert "hot" in told
    assert "A. Reader" in told


def test_a_note_beside_any_check_is_on_the_sheet(case):
    ticks = tuple(
        Tick(one.key, done=True, note=f"seen {number}") for number, one in enumerate(case.checks)
    )
    setup = replace(case.setup, job=replace(case.setup.job, ticks=ticks))
    page = html(replace(case, setup=setup), [])
    for number, one in enumerate(case.checks):
        assert re.search(rf"\bseen {number}\b", page), one.key


def test_beside_the_signature_stands_what_is_open(case):
    able = replace(case, blocked=False)
    left = len(case.checks) - 1  # one is ticked
    page = " ".join(html(able, []).split())
    assert f"As printed: {left} of {len(case.checks)} checks are open" in page
    assert "that signature does not count until they have their answers" in page
    ticks = tuple(
        Tick(one.key, done=True, note="DOT 4", found=1.0)
        for one in case.checks
        if one.topic is not Topic.LATER
    )
    job = replace(case.setup.job, ticks=ticks)
    whole = replace(able, setup=replace(case.setup, job=job))
    page = " ".join(html(whole, []).split())
    later = len(case.checks) - len(ticks)
    assert f"As printed: {later} of {len(case.checks)} checks are open" in page
    assert "does not count" not in page
    assert '<span class="line">A. Reader</span>' in page
    page = " ".join(html(replace(whole, blocked=True), []).split())
    assert "that signature does not count" in page
    assert "Checked by" not in page
    assert "Not to be signed before" in page


def test_a_quote_says_what_changes_why_and_for_how_much(case, pictures):
    pages, _ = read(pdf(html(replace(case, blocked=False), pictures[:1], Kind.QUOTE)))
    told = " ".join(pages)
    for text in ("What must change, and why", "Made up to", "mm more", "USD", CAUTION):
        assert text in told
    assert "Check list" not in told


def test_prices_of_a_quote_stand_beside_each_line_and_add_up(case, pictures):
    told = content(case)

    def ends(text: str) -> tuple[float, float]:
        least, _, most = text.removeprefix("USD ").replace(",", "").partition("\u2013")
        return float(least), float(most or least)

    *parts, whole = [ends(price) for _, _, price in told["prices"]]
    assert whole == pytest.approx(tuple(map(sum, zip(*parts, strict=True))))
    assert whole == pytest.approx(case.order.price)
    (lines,) = [ends(price) for what, _, price in told["prices"] if what.startswith("Parts for")]
    beside = [ends(one["price"]) for one in told["changes"]]
    assert lines == pytest.approx(tuple(map(sum, zip(*beside, strict=True))))
    counts = {what: count for what, count, _ in told["prices"]}
    assert counts["Pair of risers: stock height, bored for 1 1/4 in"] == "1 pair"
    page = html(replace(case, blocked=False), pictures[:1], Kind.QUOTE)
    assert page.count("Price of these together") == 1
    assert "Mind." not in page


@pytest.mark.parametrize("blocked", [False, True])
def test_a_quote_is_agreed_to_only_where_nothing_has_to_be_mended_first(case, pictures, blocked):
    page = html(replace(case, blocked=blocked), pictures[:1], Kind.QUOTE)
    for place in ("Agreed", "Customer", "Workshop", "When"):
        assert (f">{place}<" in page) is not blocked


def test_a_quote_names_no_price_for_what_is_not_to_be_begun(case, pictures):
    page = html(replace(case, blocked=True), pictures[:1], Kind.QUOTE)
    assert ">No quote yet<" in page
    assert "No price and no day is named" in page
    words = re.sub(r"<style>.*?</style>|<[^>]*>", " ", page, flags=re.DOTALL)
    assert "What must change" in words
    for priced in (case.order.currency, "Parts for it", "What it costs", "Together"):
        assert priced not in words


@pytest.mark.parametrize("kind", list(Kind))
def test_every_page_tells_what_it_is_of_and_when_it_was_made(case, pictures, kind):
    pages, _ = read(pdf(html(case, pictures, kind)))
    assert len(pages) > 1
    for number, page in enumerate(pages, 1):
        assert case.setup.machine.name in page
        assert "14 March 2027" in page
        assert "a prediction, not a release" in page
        assert f"Page {number} of {len(pages)}" in page


def test_a_line_is_drawn_once_in_a_pose(case):
    found = shots(case.setup, case.findings, case.remarks, "mm", most=20)
    poses = [(shot.line or shot.heading, shot.turn, shot.travel) for shot in found]
    assert len(set(poses)) == len(poses)


@pytest.mark.parametrize("kind", list(Kind))
def test_every_picture_is_told_in_words_and_every_figure_on_a_narrow_screen_too(
    case, pictures, kind
):
    page = html(case, pictures, kind)
    told = re.findall(r'<img [^>]*alt="([^"]+)"', page)
    assert len(told) == len(pictures)
    for picture, words in zip(pictures, told, strict=True):
        assert picture.shot.heading in words
    if kind is Kind.JOB:  # where the table's head is not shown its figures have their own
        assert page.count('data-head="Margin then"') == len(case.findings)
        assert page.count('data-head="At home"') == len(case.tasks) + 1


@pytest.mark.parametrize(
    # ISO 216: A4 is 210 mm by 297 mm; US Letter is 8 1/2 in by 11 in
    ("paper", "size"),
    [(Paper.A4, (210 * MM, 297 * MM)), (Paper.LETTER, (612.0, 792.0))],
)
def test_paper_has_its_size(case, pictures, paper, size):
    for kind in Kind:
        _, reader = read(pdf(html(case, pictures, kind, paper)))
        for page in reader.pages:
            box = page.mediabox
            assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.1)


def test_pictures_are_in_the_pdf_once_each(case, pictures, job):
    _, reader = job
    assert sum(len(page.images) for page in reader.pages[:1]) == len(pictures)
    assert {picture.shot.line for picture in pictures} >= set(LINES)


class Addresses(HTMLParser):
    """Gathers whatever a page would fetch."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.tags: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.found += [value for name, value in attrs if name in ("src", "href", "srcset", "data")]


@pytest.mark.parametrize("kind", list(Kind))
def test_a_page_needs_nothing_beside_it(case, pictures, kind):
    page = html(case, pictures, kind)
    parser = Addresses()
    parser.feed(page)
    assert len(parser.found) == len(pictures)
    assert all(address.startswith("data:image/png;base64,") for address in parser.found)
    assert not {"script", "link", "iframe", "object"} & set(parser.tags)
    assert not re.search(r"url\(|@import", page)


def test_names_are_words_and_never_markup(case, pictures):
    named = "<img src=http://example.invalid/a.png> & 'b'"
    setup = replace(case.setup, machine=replace(case.setup.machine, name=named))
    page = html(replace(case, setup=setup), pictures)
    parser = Addresses()
    parser.feed(page)
    assert all(address.startswith("data:") for address in parser.found)
    assert "&lt;img src=http" in page


def test_nothing_is_fetched_from_anywhere():
    for address in ("http://127.0.0.1:9/a.png", "file:///etc/hostname"):
        with pytest.raises(FatalURLFetchingError):
            pdf(f"<p>words<img src='{address}'></p>")


def test_numbers_have_true_minus_signs():
    assert render._typeset("is -98 mm, 2027-03-14, lock-to-lock, 10-15") == (
        "is \u221298\u00a0mm, 2027-03-14, lock-to-lock, 10-15"
    )


def test_where_nothing_is_wrong_the_bars_are_shown(case):
    fits = [replace(one, verdict=Verdict.REACHES) for one in case.findings]
    assert shots(case.setup, fits, (), "mm") == (Shot("The new bars", "Straight ahead", 0.0, 0.0),)


def test_with_inches_lengths_are_in_inches(case, pictures):
    inches = replace(case, setup=replace(case.setup, unit="in"))
    told = " ".join(read(pdf(html(inches, pictures)))[0])
    assert format_length(case.findings[0].installed, "in", with_unit=False) in told


# --- the command -------------------------------------------------------------------------------


@pytest.mark.gl
@pytest.mark.parametrize("name", ["out.html", "out.pdf"])
def test_the_command_writes_a_sheet_with_pictures(capsys, monkeypatch, tmp_path, worked, name):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(plan, "work_out", lambda setup, label: worked)
    save(worked.setup, tmp_path / "two.toml")
    assert cli.run(["sheet", "two.toml", "-o", name, "--quote", "--paper", "letter"]) == 0
    assert capsys.readouterr().out == f"Wrote {name}: quote, {worked.setup.machine.name}.\n"
    content = (tmp_path / name).read_bytes()
    assert len(content) > 50_000  # a real picture is in it
    assert content.startswith(b"%PDF" if name.endswith("pdf") else b"<!doctype html>")


def test_a_folder_is_written_sheet_by_sheet_and_a_bad_file_keeps_none_back(
    capsys, monkeypatch, tmp_path, worked
):
    monkeypatch.chdir(tmp_path)
    os.mkdir("in")
    os.mkdir("out")
    save(worked.setup, tmp_path / "in" / "b.toml")
    (tmp_path / "in" / "a.toml").write_text("format = \n")
    monkeypatch.setattr(plan, "work_out", lambda setup, label: worked)
    monkeypatch.setattr(command, "_drawn", lambda shot, swept, found, wide: Picture(shot, b"PNG"))
    assert cli.run(["sheet", "in", "-o", "out", "--html"]) == 2
    out, err = capsys.readouterr()
    assert (
        out == f"Wrote {os.path.join('out', 'b.html')}: job sheet, {worked.setup.machine.name}.\n"
    )
    assert "not TOML" in err
    assert err.endswith(f"1 of 2 files could not be used: {os.path.join('in', 'a.toml')}.\n")
    assert os.listdir("out") == ["b.html"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["two.toml", "-o", "a.doc"], "a.doc: a sheet is written as PDF or HTML; end its name in"),
        (["two.toml", "two.toml", "-o", "no/a.pdf"], "there is no folder no."),
        (["two.toml", "x/two.toml"], "Two of the files have the same name"),
        (["two.toml", "one.toml", "-o", "a.pdf"], "a.pdf is one file for 2 sheets; name a folder"),
        (["two.toml", "--paper", "a5"], "a5"),
    ],
)
def test_sheets_that_cannot_be(capsys, monkeypatch, tmp_path, worked, words, said):
    monkeypatch.chdir(tmp_path)
    save(worked.setup, tmp_path / "two.toml")
    assert cli.run(["sheet", *words]) == 2
    assert said in capsys.readouterr().err
    assert os.listdir(tmp_path) == ["two.toml"]
