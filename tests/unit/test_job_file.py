"""What is kept of the job in a scenario file: read, written, and every mistake told."""

from __future__ import annotations

import difflib
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from barfit.edits.lines import delete_line, rename_line
from barfit.model import (
    By,
    Choice,
    Job,
    Price,
    SellersSet,
    SetPart,
    Setup,
    Signature,
    Tick,
)
from barfit.scenario import ScenarioError, dumps, load, loads

TEXT = (Path(__file__).parent.parent / "data" / "cruiser.toml").read_text(encoding="utf-8")
FULL = Job(
    currency="EUR",
    table_rate=0.9,
    by=By.SHOP,
    shop_rate=(85.0, 110.0),
    start=date(2027, 3, 13),
    days=(0, 5),
    hours=6.5,
    choices=(Choice("clutch cable", "made_up"), Choice("front brake hose", "move_clip:lower")),
    prices=(Price("clutch_cable", (48.0, 55.5)), Price("washer", (1.2, 1.2))),
    sets=(
        SellersSet(
            "set, 100 longer",
            (190.0, 220.0),
            (
                SetPart("clutch_cable", longer=101.6),
                SetPart("switch_harness", "left switch harness", longer=100.0, quantity=2),
                SetPart("brake_hose", length=1200.0),
            ),
            note="as offered",
        ),
        SellersSet("empty", (10.0, 10.0)),
    ),
    here=("clutch cable: 1310 mm", "washer"),
    ticks=(
        Tick("slack clutch cable", True, "both locks", 18.5),
        Tick("horn"),
        Tick("lever", note="soft"),
    ),
    signed=Signature("A. Builder", date(2027, 3, 14), "0123456789ab"),
    shop_days=(1, 2, 5),
    shop_hours=6.5,
    closed=((date(2027, 3, 26), date(2027, 3, 26)), (date(2027, 12, 24), date(2028, 1, 2))),
)


@pytest.fixture(scope="module")
def setup() -> Setup:
    return loads(TEXT)


def problems(job: str) -> list[str]:
    with pytest.raises(ScenarioError) as caught:
        loads(f"{TEXT}\n[job]\n{job}")
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_a_whole_job_is_read_back_as_it_was(setup: Setup, unit: str) -> None:
    wanted = replace(setup, job=FULL, unit=unit, source="")
    assert loads(dumps(wanted)) == wanted


def test_a_job_is_added_to_a_file_without_touching_the_rest(setup: Setup) -> None:
    text = dumps(replace(setup, job=FULL))
    assert text.startswith(TEXT.rstrip("\n"))
    assert loads(text).job == FULL


def test_comments_survive_ticks_prices_and_parts_that_come_and_go() -> None:
    # the comments a person would write; each has to be there after every change
    job = """
# ours
[job]
by = "shop"  # they have the bench
here = ["a", "b"]  # in the box

# what we asked for
[job.prices]
clutch_cable = 50  # on the phone
washer = [1, 2]

[job.checks]
# first things
horn = { done = true }  # loud
lamp = { done = false }

[job.sets.one]
price = [100, 120]  # with post
parts = [
  { kind = "clutch_cable", longer = 100 },  # black
  { kind = "brake_hose", length = 1200 },
]
"""
    setup = loads(f"{TEXT}{job}")
    now = replace(
        setup.job,
        here=("a", "b", "c"),
        prices=(Price("clutch_cable", (55.0, 60.0)), Price("washer", (1.0, 2.0))),
        ticks=(Tick("horn", True, "quiet", 3.0), Tick("lamp", True), Tick("lever", True)),
        sets=(
            replace(
                setup.job.sets[0],
                parts=(*setup.job.sets[0].parts, SetPart("throttle_pull", longer=50.0)),
            ),
        ),
    )
    text = dumps(replace(setup, job=now))
    assert loads(text).job == now
    for comment in ("# ours", "# they have", "# in the box", "# what we asked", "# on the phone"):
        assert comment in text
    for comment in ("# first things", "# loud", "# with post", "# black"):
        assert comment in text
    lines = difflib.ndiff(f"{TEXT}{job}".splitlines(), text.splitlines())
    gone = [line for line in lines if line.startswith("- ")]
    assert len(gone) == 4  # here, the price, two ticks: nothing else was rewritten
    fewer = replace(now, ticks=(), sets=(replace(now.sets[0], parts=now.sets[0].parts[1:]),))
    again = dumps(replace(loads(text), job=fewer))
    assert loads(again).job == fewer
    assert "# what we asked" in again
    assert "# with post" in again


def test_every_mistake_is_told_with_place_and_hint() -> None:
    told = problems(
        """
currency = "euro"
by = "friend"
shop_rate = [140, 90]
start = "next week"
days = ["Saturday", "Sonday"]
hours = 30
closed = [2027-03-26, "2028-01-02 to 2027-12-24"]
here = ["a", "a", 3]
signed = { on = 2027-03-14 }
colour = "red"
[job.choices]
"clutch wire" = "made_up"
[job.prices]
clutch_cabel = 50
washer = -1
tie = "cheap"
[job.checks]
horn = { done = "yes", found = "loud" }
[job.sets.one]
note = "no price"
parts = [
  { kind = "clutch", longer = 100 },
  { kind = "clutch_cable" },
  { kind = "clutch_cable", longer = 100, length = 1200 },
  { kind = "brake_hose", line = "clutch cable", longer = 100 },
  { kind = "brake_hose", line = "rear brake hose", longer = 100 },
  { kind = "brake_hose", longer = 100, quantity = 0 },
]
[job.sets.two]
price = [1, 2, 3]
parts = 4
"""
    )
    assert told == [
        "job.currency: 'euro' is not a currency; write its three letters, like 'USD' or 'EUR'",
        "job.by: 'friend' is not one of the words known here; known: home, shop",
        "job.shop_rate: [140, 90] is the wrong way round; give [least, most]",
        "job.start: 'next week' is not a date; write year, month and day, like 2027-03-14",
        "job.days: 'Sonday' is not a day; did you mean 'Monday' or 'Sunday'?",
        "job.hours: 30 is outside 0.5 to 24",
        "job.closed: '2028-01-02 to 2027-12-24' ends before it begins; write the earlier day first",
        "job: unknown key 'colour'; known: currency, table_rate, by, shop_rate, start, days,"
        " hours, shop_days, shop_hours, closed, choices, prices, sets, here, checks, signed",
        "job.choices: 'clutch wire' is not a line of this file; did you mean 'clutch cable'?",
        "job.signed: 'name' is missing",
        "job.prices: unknown key 'clutch_cabel'; did you mean 'clutch_cable'?",
        "job.prices.washer: -1 is outside 0 to 10 000 000",
        "job.prices.tie: 'cheap' is not a number; give a plain number, or [least, most]",
        "job.sets.one: 'price' is missing",
        "job.sets.one.parts[1].kind: 'clutch' is not a kind of line; did you mean"
        " 'clutch_hose' or 'clutch_cable'?",
        "job.sets.one.parts[2]: needs one length; give 'length', or 'longer' for so much over"
        " the stock line's",
        "job.sets.one.parts[3]: needs one length; give 'length', or 'longer' for so much over"
        " the stock line's",
        "job.sets.one.parts[4].line: 'clutch cable' is 'clutch_cable', not 'brake_hose'",
        "job.sets.one.parts[5].line: 'rear brake hose' is not a line of this file; did you mean"
        " 'front brake hose'?",
        "job.sets.one.parts[6].quantity: 0 is outside 1 to 100",
        "job.sets.two.price: [1, 2, 3] is not a price; give a number, or [least, most]",
        "job.sets.two.parts: 4 is not a list of rows",
        "job.here[2]: 'a' is there twice",
        "job.here[3]: 3 is not a text; put it between double quotes",
        "job.checks.horn.done: 'yes' is neither true nor false; write one of them, bare",
        "job.checks.horn.found: 'loud' is not a number; give a plain number",
    ]


@pytest.mark.parametrize("key", ["choices", "prices", "sets", "checks"])
def test_a_table_that_is_none_is_told(key: str) -> None:
    (told,) = problems(f"{key} = 3\n")
    assert told == f"job.{key}: 3 is not a table of keys"


def test_a_job_that_is_no_table_is_told() -> None:
    with pytest.raises(ScenarioError, match="job: 3 is not a table of keys"):
        loads(TEXT.replace("format = 1", "format = 1\njob = 3", 1))


def test_a_renamed_line_keeps_what_was_decided_about_it(setup: Setup) -> None:
    known = replace(setup, job=FULL)
    renamed = rename_line(known, "clutch cable", "long clutch cable")
    assert renamed.job.choices[0] == Choice("long clutch cable", "made_up")
    again = rename_line(renamed, "left switch harness", "left loom")
    assert again.job.sets[0].parts[1].line == "left loom"
    assert loads(dumps(again)) == again


def test_a_deleted_line_leaves_nothing_that_names_it(setup: Setup) -> None:
    known = replace(setup, job=FULL)
    without = delete_line(delete_line(known, "clutch cable"), "left switch harness")
    assert [one.line for one in without.job.choices] == ["front brake hose"]
    assert without.job.sets[0].parts[1].line == ""
    assert loads(dumps(without)) == without


def test_dates_may_be_written_as_text(setup: Setup) -> None:
    assert loads(f'{TEXT}\n[job]\nstart = "2027-03-13"\n').job.start == date(2027, 3, 13)


def test_bundled_scenarios_are_saved_as_they_are() -> None:
    for path in sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml")):
        setup = load(path)
        assert dumps(setup) == path.read_text(encoding="utf-8")
