"""Orders, money and sets in words, as CSV and as plain values."""

from __future__ import annotations

import csv
import io
import json
import math
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from made_findings import finding
from made_orders import bundled, remedies, remedy, splice_plan

from barfit.analysis import Verdict
from barfit.analysis.inputs import STIFFNESS
from barfit.analysis.uncertainty import Cause
from barfit.model import By, Job, Price, Range, SellersSet, SetPart, Setup
from barfit.remedies import Means
from barfit.report.calendar import entries
from barfit.report.money import (
    BARS_FIRST,
    amount_text,
    days_text,
    drives_sentence,
    hours_text,
    money_rows,
    money_sentences,
    money_values,
    sum_text,
)
from barfit.report.orders import (
    COLUMNS,
    clash_sentences,
    count_text,
    done_sentences,
    done_text,
    item_name,
    length_text,
    look_up_sentences,
    measure_sentence,
    nothing_sentence,
    open_sentences,
    order_csv,
    order_text,
    order_values,
    slowest_sentence,
    specification,
    why_text,
)
from barfit.report.plan import gate_sentence
from barfit.report.sets import set_sentences, set_values
from barfit.workshop import Order, OrderItem, order
from barfit.workshop.line_items import line_items
from barfit.workshop.money import Labour, money
from barfit.workshop.orders import taken
from barfit.workshop.schedule import schedule
from barfit.workshop.sets import compare_sets
from barfit.workshop.tasks import tasks
from barfit.workshop.together import Together

TWIN = bundled("old-twin")
STOCK = replace(TWIN, new=TWIN.stock, job=Job())
TOURING = bundled("touring-hydraulic")
PLAN = splice_plan("left switch harness", ("0.75 mm²", "0.75 mm²", "1.5 mm²"), 150.0)
FOUND = order(
    replace(TWIN, job=Job(prices=(Price("clutch_cable", (48.0, 52.5)),))),
    remedies(
        remedy(TWIN, "clutch cable", Means.NEXT_SIZE, 100.0),
        remedy(TWIN, "choke cable", Means.MADE_UP, 42.0),
        remedy(TWIN, "throttle cable", Means.SHORTER, -50.0),
        remedy(TWIN, "left switch harness", Means.SPLICE, 150.0, splice=PLAN),
        remedy(TWIN, "right switch harness", Means.EXTENSION, 100.0),
    ),
    (),
)


def named(name: str) -> OrderItem:
    (one,) = [one for one in FOUND.items if item_name(one) == name]
    return one


def test_names_of_what_is_ordered() -> None:
    assert [item_name(one) for one in FOUND.items] == [
        "Handlebar: pulled back",
        "Throttle cable, a shorter size sold",
        "Choke cable, made up to length",
        "Clutch cable, next size sold",
        "Wire 0.75 mm², for the left switch harness",
        "Wire 1.5 mm², for the left switch harness",
        "Crimp barrel or solder for one joint, for the left switch harness",
        "Adhesive-lined heat-shrink for one joint, for the left switch harness",
        "Braided or corrugated sleeve, for the left switch harness",
        "Right switch harness, plug-in extension",
        "Tie with a wide back",
        "Grips",
    ]


def test_a_cable_is_specified_by_sheath_and_inner() -> None:
    length = TWIN.line("clutch cable").length + 100.0
    one = named("Clutch cable, next size sold")
    assert specification(one, "mm") == (
        f"sheath {length:.0f} mm, 100 mm longer than the one on the machine; "
        "free inner 100 mm longer as well"
    )
    assert length_text(one, "mm") == f"{length:.0f} mm (+100)"
    assert "3 15/16 in longer" in specification(one, "in")


def test_a_shorter_one_is_said_to_be_shorter() -> None:
    one = named("Throttle cable, a shorter size sold")
    assert "50 mm shorter than" in specification(one, "mm")
    assert length_text(one, "mm").endswith("(−50)")


def test_a_hose_is_specified_from_eye_to_eye_with_its_ends() -> None:
    setup = replace(TOURING, new=TOURING.stock)
    found = order(setup, remedies(remedy(setup, "clutch hose", Means.NEXT_SIZE, 50.0)), ())
    text = specification(found.items[0], "mm")
    length = setup.line("clutch hose").length + 50.0
    assert text.startswith(f"{length:.0f} mm eye centre to eye centre, 50 mm longer than")
    assert "banjo straight at the clutch master cylinder" in text
    assert "turned" not in text  # how far is not known without having it laid out


def test_clocking_is_told_of_a_hose_that_was_laid_out_at_about_that_length() -> None:
    from barfit.analysis import findings, sweep
    from barfit.trade import trade

    line = TOURING.line("clutch hose")
    one = replace(TOURING, lines=(line,))
    swept, stock = sweep(one, step=math.radians(12.0)), sweep(one, stock=True)
    hydraulics = trade(swept, stock, findings(swept)).hydraulics
    (figures,) = hydraulics.hoses
    assert figures.twists.clocking is not None
    longer = figures.length.value - line.length
    near = remedy(one, line.name, Means.MADE_UP, longer)
    (item,) = [i for i in line_items(one, {line.name: near}, (), hydraulics) if i.hose]
    assert item.hose is not None
    assert item.hose.clocking == figures.twists.clocking.value
    assert "turned" in specification(item, "mm")
    far = remedy(one, line.name, Means.MADE_UP, longer + 100.0)
    (item,) = line_items(one, {line.name: far}, (), hydraulics)
    assert item.hose is not None
    assert math.isnan(item.hose.clocking)


def test_what_is_to_be_looked_up_is_told_once_with_all_that_it_is_about() -> None:
    texts = look_up_sentences(FOUND)
    assert sum("inner" in text for text in texts) == 1
    (inner,) = [text for text in texts if "inner" in text]
    assert inner.endswith("(throttle cable, choke cable, clutch cable).")


def test_how_many() -> None:
    assert count_text(named("Wire 0.75 mm², for the left switch harness")) == "0.5 m"
    assert count_text(named("Grips")) == "1 pair"
    assert count_text(replace(named("Grips"), quantity=2.0)) == "2 pairs"
    assert count_text(replace(named("Grips"), quantity=math.nan)) == "by count"


@pytest.mark.parametrize(
    ("given", "told"),
    [((2.0, 7.0), "2–7 days"), ((0.0, 3.0), "up to 3 days"), ((1.0, 1.0), "1 day"),
     ((0.0, 0.0), "at once")],
)  # fmt: skip
def test_days(given: Range, told: str) -> None:
    assert days_text(given) == told


@pytest.mark.parametrize(
    ("given", "told"),
    [((48.0, 52.5), "USD 48–52"), ((0.8, 2.0), "USD 0.80–2"), ((1234.0, 1234.0), "USD 1,234"),
     (None, "not known")],
)  # fmt: skip
def test_amounts(given: Range | None, told: str) -> None:
    assert amount_text(given, "USD") == told


def test_the_slowest_is_named() -> None:
    assert slowest_sentence(FOUND).startswith("Slowest to come: the choke cable (7–15 days).")
    assert slowest_sentence(Order()) == ""


def test_what_nothing_helps_and_what_lower_bars_mean_is_said() -> None:
    assert open_sentences(Order(open_lines=("clutch cable", "choke cable")), "mm") == [
        "Nothing that was tried is enough for the clutch cable and the choke cable: nothing is "
        "ordered for them. Take other bars or another way."
    ]
    (text,) = open_sentences(Order(lower_by=35.0), "mm")
    assert text == (
        "Bars at least 35 mm lower are chosen. Put such a bar in as the new bars first ('Try it' "
        "in the window does so): order, price and days of it are not known yet. Every line is then "
        "looked at again; what was chosen for the others is kept."
    )
    for none, told in ((Order(), "Nothing has to be ordered."), (Order(lower_by=35.0), "")):
        assert nothing_sentence(none) == told
    costs = money(Order(lower_by=35.0), (), Job())
    assert [row[1:] for row in money_rows(costs)] == [("not known", "not known")] * 2
    assert money_sentences(costs, By.HOME) == [BARS_FIRST]


def test_what_is_done_says_how_sure_it_is() -> None:
    one = remedy(STOCK, "clutch cable", Means.MADE_UP, 60.0)
    plain = done_text(one, "mm")
    assert plain == f"Made up to {one.length:.0f} mm"
    for verdict, margin, told in (
        (Verdict.UNCERTAIN, 3.0, ": an estimate, not to be ordered before it is measured again"),
        (Verdict.UNCERTAIN, -3.0, ", not enough"),
        (Verdict.RUBS, 3.0, ", with a sleeve where it rubs"),
        (Verdict.SHORT, -30.0, ", not enough"),
    ):
        text = done_text(replace(one, verdict=verdict, margin=margin), "mm")
        assert text == f"{plain}{told}"
    rolled = remedy(STOCK, "clutch cable", Means.ROLL_BAR)  # nothing of it is ordered
    doubted = replace(rolled, verdict=Verdict.UNCERTAIN, margin=3.0)
    assert done_text(doubted, "mm").endswith(", not surely enough")
    assert done_text(None, "mm") == "Nothing found that is enough"


def test_what_is_not_surely_enough_is_measured_again_before_it_is_ordered() -> None:
    unsure = remedy(TWIN, "choke cable", Means.MADE_UP, 42.0)
    unsure = replace(unsure, verdict=Verdict.UNCERTAIN)
    sure = remedy(TWIN, "clutch cable", Means.NEXT_SIZE, 100.0)
    causes = tuple(Cause(thing, thing, 5.0) for thing in (STIFFNESS, "new bar", "clutch perch"))
    doubted = finding(Verdict.SHORT, line="choke cable")
    doubted = replace(doubted, sure=replace(doubted.sure, causes=causes))
    asked = order(TWIN, remedies(unsure, sure), (doubted,))
    assert [one.line for one in asked.items if one.unsure] == ["choke cable"]
    assert measure_sentence(asked.items) == (
        "Before ordering the choke cable measure again: the new bar and the clutch perch. Then "
        "look again: until then its length is an estimate."
    )
    told = "not to be ordered before it is measured again"
    assert [told in why_text(one) for one in asked.items] == [one.unsure for one in asked.items]
    assert order_text(TWIN, asked).count(told) == 1
    assert [one["line"] for one in _rows(TWIN, asked) if one["measure_first"]] == ["choke cable"]
    work = tasks(TWIN, taken(TWIN, remedies(unsure, sure)), items=asked.items)
    plan = schedule(Job(), work, asked.items, date(2026, 11, 28))
    assert gate_sentence(plan).startswith(measure_sentence(asked.items))
    first, second = entries(plan, work, "machine")[:2]
    assert (first.key, second.key) == ("measure", "order")
    assert first.last <= second.first
    assert first.text.startswith(measure_sentence(asked.items))
    assert second.text.count(told) == 1
    certain = order(TWIN, remedies(sure), ())
    assert measure_sentence(certain.items) == ""
    assert not any(one.unsure for one in certain.items)


def _rows(setup: Setup, asked: Order) -> list[dict[str, Any]]:
    values = order_values(setup, asked)["items"]
    return [{**one, "line": ", ".join(one["lines"])} for one in values]


def test_what_comes_of_everything_is_told_verdict_by_verdict() -> None:
    def said(*verdicts: Verdict) -> list[str]:
        found = [finding(verdict, line=f"line {k}") for k, verdict in enumerate(verdicts)]
        return done_sentences(found)

    assert said(Verdict.REACHES) == ["With all of this done every line fits."]
    assert said(Verdict.REACHES, Verdict.UNCERTAIN, Verdict.RUBS) == [
        "With all of this done every other line is long enough; whether the line 1 fits is not "
        "sure: measure again before ordering.",
        "Then the line 2 still rubs: sleeve it there.",
    ]
    assert said(Verdict.SHORT, Verdict.SHORT, Verdict.TOO_LONG) == [
        "With all of this done every line fits but the line 0 and the line 1 (short) and "
        "the line 2 (too long)."
    ]


def test_what_cannot_be_done_together_is_told() -> None:
    assert clash_sentences(Together(TWIN)) == []
    one, other = clash_sentences(Together(TWIN, ("clutch cable",), ("The clip is too far.",)))
    assert one.startswith("What is done about the clutch cable contradicts")
    assert other.startswith("All of it together cannot be done: The clip is too far.")


def test_one_longer_than_is_sensible_is_named() -> None:
    outside = replace(named("Clutch cable, next size sold"), outside_window=True)
    (text,) = open_sentences(Order((outside,)), "mm")
    assert text.endswith("the clutch cable.")


# --- CSV, text, plain values ---------------------------------------------------------------------


def test_the_table_reads_back_as_it_was() -> None:
    """RFC 4180, read by the standard library's own reader."""
    odd = replace(TWIN, title='He said "long", then\nleft', job=Job(here=("grips",)))
    comma = replace(FOUND.items[1], lines=('a, "quoted"\nline',))
    found = replace(FOUND, items=(comma, *FOUND.items[2:]))
    text = order_csv([("a,b.toml", odd, found)])
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert tuple(rows[0]) == COLUMNS
    assert len(rows) == len(found.items)
    assert rows[0]["for"] == 'a, "quoted"\nline'
    assert {row["file"] for row in rows} == {"a,b.toml"}
    for row, item in zip(rows, found.items, strict=True):
        assert row["key"] == item.key
        assert (float(row["price_least"]), float(row["price_most"])) == pytest.approx(item.price)
        assert float(row["quantity"]) == item.quantity
        if row["length_mm"]:
            assert float(row["length_mm"]) == item.length
    assert [row["here"] for row in rows].count("yes") == 1
    assert [row["own_price"] for row in rows].count("yes") == 1
    assert text.count("\r\n") == len(rows) + 1
    assert text.endswith("\r\n")


def test_what_is_not_known_is_empty_in_the_table() -> None:
    unknown = replace(FOUND.items[4], quantity=math.nan, price=None)
    rows = list(csv.DictReader(io.StringIO(order_csv([("x", TWIN, Order((unknown,)))]))))
    assert [rows[0][key] for key in ("quantity", "price_least", "price_most")] == ["", "", ""]


def test_the_text_for_a_letter_has_everything_in_it() -> None:
    text = order_text(TWIN, FOUND)
    for item in FOUND.items:
        assert item_name(item) in text
    assert "Look up before ordering" in text
    assert "invented" in text
    assert sum_text(FOUND.price, "USD") in text


def test_plain_values_are_json() -> None:
    values = order_values(TWIN, FOUND)
    text = json.dumps(values, allow_nan=False)
    again = json.loads(text)
    assert [one["key"] for one in again["items"]] == [one.key for one in FOUND.items]
    assert again["price"] == pytest.approx(FOUND.price)


# --- money and sets ------------------------------------------------------------------------------

WORK = (Labour("strip", (1.0, 1.5), (0.5, 0.8)), Labour("fit", (4.0, 6.0), (2.5, 3.2)))


def test_home_and_shop_side_by_side() -> None:
    cable = remedies(remedy(STOCK, "clutch cable", Means.NEXT_SIZE, 100.0))
    found = money(order(STOCK, cable, ()), WORK, STOCK.job)
    assert money_rows(found) == [
        ("Parts", "USD 35–90", "USD 35–90"),
        ("Hours", "5.0–7.5 h", "3.0–4.0 h"),
        ("Work", "your own", "USD 270–560, USD 90–140 an hour"),
        ("Together", "USD 35–90", "USD 305–650"),  # 35 + 270 and 90 + 560
    ]
    assert drives_sentence(found.shop) == "In a shop most of it is the work (87 %)."
    assert money_values(found)["shop"]["together"] == [305.0, 650.0]  # type: ignore[index]
    assert [hours_text(one) for one in ((2.0, 2.0), (0.2, 0.3), (5.4, 10.1))] == [
        "2.0 h",
        "0.2–0.3 h",
        "5.4–10.1 h",
    ]


def test_what_is_not_in_the_sum_is_said() -> None:
    setup = replace(STOCK, job=Job(currency="EUR"))
    cable = remedies(remedy(setup, "clutch cable", Means.NEXT_SIZE, 100.0))
    said = money_sentences(money(order(setup, cable, ()), WORK, setup.job), By.SHOP)
    assert any("no price is known: the clutch cable" in text for text in said)
    assert any("nothing is converted unasked" in text for text in said)


def test_a_sum_that_lacks_prices_is_told_as_the_least_it_can_be() -> None:
    own = (Price("clutch_cable", (48.0, 50.0)),)
    setup = replace(STOCK, job=Job(currency="EUR", shop_rate=(80.0, 80.0), prices=own))
    cables = remedies(
        remedy(setup, "clutch cable", Means.NEXT_SIZE, 100.0),
        remedy(setup, "choke cable", Means.NEXT_SIZE, 100.0),
    )
    found = money(order(setup, cables, ()), WORK, setup.job)
    rows = {term: (home, shop) for term, home, shop in money_rows(found)}
    assert rows["Parts"] == ("at least EUR 48", "at least EUR 48")
    shop = 48.0 + 80.0 * found.shop.hours[0]
    assert rows["Together"] == ("at least EUR 48", f"at least EUR {shop:.0f}")
    assert "Prices and rates that were put in are taken as EUR." in money_sentences(found, By.HOME)
    nothing = money(order(replace(setup, job=Job(currency="EUR")), cables, ()), (), Job())
    assert money_rows(nothing)[0] == ("Parts", "not known", "not known")


def test_a_set_in_words() -> None:
    parts = (
        SetPart("clutch_cable", longer=80.0),
        SetPart("choke_cable", longer=50.0),
        SetPart("speedometer_cable", longer=50.0, quantity=2),
    )
    job = Job(sets=(SellersSet("cables", (30.0, 30.0), parts),))
    setup = replace(STOCK, job=job)
    taken = remedies(
        remedy(setup, "clutch cable", Means.NEXT_SIZE, 100.0),
        remedy(setup, "choke cable", Means.NEXT_SIZE, 50.0),
        remedy(setup, "throttle cable", Means.NEXT_SIZE, 50.0),
    )
    (fit,) = compare_sets(setup, taken, (), order(setup, taken, ()))
    clutch = setup.line("clutch cable").length + 80.0
    assert set_sentences(fit, "USD", "mm") == [
        "'cables' covers 1 of 3 lines that need another: the choke cable.",
        f"Clutch cable: 20 mm short with it ({clutch:.0f} mm).",
        "It lacks the throttle cable.",
        "Left over: 2 × speedometer cable +50 mm (its line needs no other).",
        "At USD 30 it is within the range of buying the same singly, USD 20–50, "
        "or USD 40–90 with cables and hoses made up.",
        "With what has still to be bought singly it comes to USD 90–180.",
    ]
    assert json.dumps(set_values(fit), allow_nan=False)


def test_no_word_of_the_order_names_a_bundle_by_its_trade_word() -> None:
    texts = [order_text(TWIN, FOUND), *COLUMNS, *look_up_sentences(FOUND)]
    assert not [text for text in texts if " kit" in text.lower()]
