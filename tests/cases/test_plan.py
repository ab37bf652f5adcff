"""`barfit plan`, from the words typed to what is printed, written and the exit status."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
import vobject

from barfit import cli
from barfit.edits import arrived, signed, ticked
from barfit.model import Choice, Job, Setup
from barfit.scenario import load, save

pytestmark = pytest.mark.usefixtures("once")

HOSE_SLACK = "slack front brake hose, straight ahead"


@pytest.fixture(scope="module")
def small(cruiser: Setup, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A machine with two lines; neither reaches with the new bars."""
    # a hose that may bend as it does once it is made up, or nothing would be done about it
    hose = replace(cruiser.line("front brake hose"), min_radius=20.0)
    lines = (cruiser.line("throttle pull cable"), hose)
    made_up = Choice("front brake hose", "made_up")
    begun = Job(start=date(2027, 1, 9), choices=(made_up,))
    job = ticked(begun, HOSE_SLACK, done=True, note="cold", found=400.0)
    path = tmp_path_factory.mktemp("files") / "small.toml"
    save(signed(replace(cruiser, lines=lines, job=job), "A. Fitter", date(2027, 1, 10)), path)
    return path


@pytest.fixture(autouse=True)
def _plain(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("COLUMNS", "NO_COLOR", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)


def run(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    """Exit status, standard output and standard error of a command."""
    status = cli.run([str(word) for word in words])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return status, out, err


def test_all_of_one_file(capsys: pytest.CaptureFixture[str], small: Path) -> None:
    status, out, err = run(capsys, "plan", small, "--checks", "--ordered", "2026-11-28")
    assert (status, err) == (1, "")
    plain = " ".join(out.split())
    for said in (
        "Not to be begun as it stands; mend this first: The bar is 31.75 mm thick",
        "HOLD POINT: Turn lock to lock by hand, dry",
        "Because the bars are changed",
        "For a competent person",
        "Tools: ",
        "Nothing is begun before every part is here",
        "No day is named before what is in the way is mended.",
        "Time there is: Saturdays and Sundays, 7 h each.",
        "Check list before riding",
        " mm to the tank",  # the nearest of hand or lever
        "from level, predicted",
        "from lock to lock",
        "400 mm (predicted ",
        "Note: cold",
        "Front brake hose, straight ahead: 400 mm was found,",
        "Signed by A. Fitter on Sunday 10 January 2027, but this is not acceptable as it stands",
        "Hours are invented",
        "A prediction, not a release",
    ):
        assert said in plain, said
    assert out.count("Hydraulics are for a competent person") == 1
    assert "To begin on" not in plain
    assert "To start before" not in plain


def test_nothing_goes_into_a_calendar_while_something_is_in_the_way(
    capsys: pytest.CaptureFixture[str], small: Path, tmp_path: Path
) -> None:
    target = tmp_path / "days.ics"
    status, _, err = run(capsys, "plan", small, "--ics", target)
    assert status == 2
    assert err.count("There is nothing to put into a calendar. No day is named before") == 1
    assert not target.exists()


def test_bars_that_are_acceptable_get_their_days(
    capsys: pytest.CaptureFixture[str], small: Path, tmp_path: Path
) -> None:
    setup = load(small)
    riser = replace(setup.new.riser, bore=setup.new.bar.tube_diameter)
    mended, target = tmp_path / "mended.toml", tmp_path / "days.ics"
    lines, job = (setup.line("throttle pull cable"),), Job(start=date(2027, 1, 9))
    save(replace(setup, new=replace(setup.new, riser=riser), lines=lines, job=job), mended)
    status, out, err = run(capsys, "plan", mended, "--ordered", "2026-11-28", "--ics", target)
    assert status == 1
    assert err.startswith(f"Wrote {target}: ")
    plain = " ".join(out.split())
    assert "To start before everything is here wins nothing" in plain
    assert "To begin on Saturday 9 January 2027 with everything here, order by" in plain
    events = vobject.readOne(target.read_bytes().decode("utf-8")).vevent_list
    assert events[0].dtstart.value == date(2026, 11, 28)


def test_json_holds_the_same(
    capsys: pytest.CaptureFixture[str], small: Path, tmp_path: Path
) -> None:
    status, out, err = run(capsys, "plan", small, "--json", "--checks", "--ordered", "2026-11-28")
    assert (status, err) == (1, "")
    values = json.loads(out)
    assert values["ready"] is False
    assert values["blocked"] is True  # the risers do not take the bar
    keys = [one["key"] for one in values["tasks"]]
    assert keys.index("lock_to_lock") < keys.index("bleed_brake: front brake")
    assert values["critical_path"]["path"][0] == "baseline"
    slack = next(one for one in values["checks"] if one["key"] == HOSE_SLACK)
    assert (slack["found"], slack["done"]) == (400.0, True)
    assert abs(slack["predicted"]) < 200.0
    # every part ticked as here, as another program would do it
    setup = load(small)
    job = setup.job
    for part in values["parts"]:
        job = arrived(job, part["key"])
    there = tmp_path / "there.toml"
    save(replace(setup, job=job), there)
    status, out, err = run(capsys, "plan", there, "--json", "--ordered", "2026-11-28")
    here = json.loads(out)
    assert here["ready"] is True
    assert here["all_here"] is None
    assert here["days"] == []
    assert here["recheck"] is None
    assert "checks" not in here


def test_a_line_for_each_of_several(
    capsys: pytest.CaptureFixture[str], small: Path, tmp_path: Path
) -> None:
    broken = tmp_path / "broken.toml"
    broken.write_text("format = 1", encoding="utf-8")
    status, out, err = run(capsys, "plan", small, broken, "--by", "shop")
    assert status == 2
    first, second = out.splitlines()
    assert first.startswith(f"{small}: ")
    assert "not to be begun as it stands; " in first
    assert first.endswith(" h in a shop")
    assert second == f"{broken}: cannot be used"
    assert "broken.toml" in err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--ordered", "tomorrow"), "--ordered tomorrow: is not a date; write year, month and day"),
        (("--ics", "/nowhere/at/all.ics"), "there is no folder /nowhere/at"),
        (("--ics", "."), "is a folder; name a file for the calendar"),
        (("second.toml", "--ics", "a.ics"), "--ics is a calendar of one job; name one file."),
    ],
)
def test_what_cannot_be_is_told_before_anything_is_computed(
    capsys: pytest.CaptureFixture[str], small: Path, words: tuple[str, ...], said: str
) -> None:
    status, out, err = run(capsys, "plan", small, *words)
    assert (status, out) == (2, "")
    assert said in err


def test_help_says_what_it_is_for(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, "plan", "--help")
    assert status == 0
    for said in ("List the work in its order", "--ics", "--checks", "--ordered", "Exit status"):
        assert said in out
