"""A seller's complete set against what is needed: every difference is found, in mm and in money."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from made_orders import bundled, remedies, remedy

from barfit.analysis import Verdict
from barfit.forms import add_set, set_groups
from barfit.model import Job, Price, SellersSet, SetPart, Setup
from barfit.remedies import Means, Remedies
from barfit.report.sets import set_sentences
from barfit.workshop import order
from barfit.workshop.sets import Covers, SetFit, Spare, Want, compare_set, compare_sets

TWIN = bundled("old-twin")
SETUP = replace(TWIN, new=TWIN.stock)
LINES = ("throttle cable", "clutch cable", "left switch harness", "right switch harness")


def needed() -> tuple[Remedies, ...]:
    return remedies(
        remedy(SETUP, "throttle cable", Means.NEXT_SIZE, 100.0),
        remedy(SETUP, "clutch cable", Means.NEXT_SIZE, 150.0),
        remedy(SETUP, "left switch harness", Means.EXTENSION, 100.0),
        remedy(SETUP, "right switch harness", Means.EXTENSION, 100.0),
    )


def fit(*parts: SetPart, price: float = 150.0, job: Job | None = None) -> SetFit:
    one = SellersSet("set", (price, price), parts)
    setup = replace(SETUP, job=replace(job or Job(), sets=(one,)))
    found = order(setup, needed(), ())
    (compared,) = compare_sets(setup, needed(), (), found)
    return compared


def kinds(found: SetFit) -> dict[str, Covers]:
    return {one.line: one.covers for one in found.lines}


def test_a_set_that_covers_everything() -> None:
    found = fit(
        SetPart("throttle_single", longer=100.0),
        SetPart("clutch_cable", longer=150.0),
        SetPart("switch_harness", longer=100.0, quantity=2),
    )
    assert found.complete
    assert found.left_over == ()
    assert found.besides == (0.0, 0.0)
    # by hand: 25 to 60, 35 to 90, twice 30 to 90
    assert found.covered == (120.0, 330.0)
    # made up 45 to 100 and 70 to 140; the extensions stay as they are
    assert found.made_up == (175.0, 420.0)


def test_that_a_length_is_an_estimate_is_said_of_a_set_too() -> None:
    ways = remedies(
        replace(remedy(SETUP, "throttle cable", Means.NEXT_SIZE, 100.0), verdict=Verdict.UNCERTAIN),
        remedy(SETUP, "clutch cable", Means.NEXT_SIZE, 150.0),
    )
    both = (SetPart("throttle_single", longer=100.0), SetPart("clutch_cable", longer=150.0))
    for parts, said in ((both, True), (both[1:], False)):
        one = SellersSet("set", (150.0, 150.0), parts)
        setup = replace(SETUP, job=replace(Job(), sets=(one,)))
        (found,) = compare_sets(setup, ways, (), order(setup, ways, ()))
        told = set_sentences(found, "USD", "mm")
        estimate = (
            "Of the throttle cable the length it needs is an estimate: measure again before buying "
            "the set."
        )
        assert (estimate in told) is said, told


def test_extensions_of_harnesses_count_against_no_set_of_cables() -> None:
    found = fit(SetPart("throttle_single", longer=100.0), SetPart("clutch_cable", longer=150.0))
    assert kinds(found) == {
        "throttle cable": Covers.FITS,
        "clutch cable": Covers.FITS,
        "left switch harness": Covers.APART,
        "right switch harness": Covers.APART,
    }
    assert found.complete
    assert found.besides == (60.0, 180.0)  # twice 30 to 90 by hand: they cost all the same
    told = set_sentences(found, "USD", "mm")
    assert told[:2] == [
        "'set' covers all 2 lines that need another and can come in such a set.",
        "No set of this kind holds anything for the left switch harness and the right switch "
        "harness: bought apart.",
    ]
    lacking = set_sentences(fit(SetPart("clutch_cable", longer=150.0)), "USD", "mm")
    assert lacking[0] == (
        "'set' covers 1 of 2 lines that need another and can come in such a set: the clutch cable."
    )


def test_what_is_short_long_lacking_and_left_over() -> None:
    found = fit(
        SetPart("throttle_single", longer=80.0),
        SetPart("clutch_cable", length=SETUP.line("clutch cable").length + 150.0),
        SetPart("switch_harness", "left switch harness", longer=100.0),
        SetPart("choke_cable", longer=100.0),
        SetPart("brake_hose", longer=100.0),
    )
    assert kinds(found) == {
        "throttle cable": Covers.SHORT,
        "clutch cable": Covers.FITS,
        "left switch harness": Covers.FITS,
        "right switch harness": Covers.LACKS,
    }
    assert found.of(Covers.SHORT)[0].off == 20.0
    assert [(one.part.kind, one.why) for one in found.left_over] == [
        ("choke_cable", Spare.NOT_NEEDED),
        ("brake_hose", Spare.NO_LINE),
    ]
    # by hand: the throttle cable and one extension have still to be bought
    assert found.besides == (25.0 + 30.0, 60.0 + 90.0)
    assert found.all_in == (150.0 + 55.0, 150.0 + 150.0)


def test_a_part_outside_the_window_is_too_long() -> None:
    line = SETUP.line("clutch cable")
    want = Want(line, line.length + 60.0, line.length + 130.0)
    found = order(SETUP, needed(), ())
    one = SellersSet("set", (1.0, 1.0), (SetPart("clutch_cable", longer=150.0),))
    compared = compare_set(SETUP, one, [want], found)
    assert compared.lines[0].covers is Covers.LONG
    assert compared.lines[0].off == pytest.approx(20.0)


def test_where_it_is_not_known_how_long_a_line_must_be_nothing_is_claimed() -> None:
    line = SETUP.line("clutch cable")
    found = order(SETUP, needed(), ())
    one = SellersSet("set", (1.0, 1.0), (SetPart("clutch_cable", longer=150.0),))
    compared = compare_set(SETUP, one, [Want(line, math.nan, math.inf)], found)
    assert compared.lines[0].covers is Covers.NOT_KNOWN
    assert not compared.complete


def test_more_than_needed_is_left_over() -> None:
    found = fit(
        SetPart("clutch_cable", longer=150.0, quantity=2),
        SetPart("switch_harness", "left switch harness", longer=100.0, quantity=3),
    )
    assert [(one.part.kind, one.quantity, one.why) for one in found.left_over] == [
        ("switch_harness", 2, Spare.TOO_MANY),
        ("clutch_cable", 1, Spare.TOO_MANY),
    ]


def test_parts_of_one_kind_go_where_most_of_them_fit() -> None:
    """Against every way of giving out the parts, tried one by one."""
    wants = [
        Want(SETUP.line("left switch harness"), 488.0, 600.0),
        Want(SETUP.line("right switch harness"), 520.0, 540.0),
    ]
    found = order(SETUP, needed(), ())
    lengths = (530.0, 590.0, 400.0)
    parts = tuple(SetPart("switch_harness", length=mm) for mm in lengths)
    compared = compare_set(SETUP, SellersSet("set", (1.0, 1.0), parts), wants, found)
    best = max(
        sum(want.least <= mm <= want.longest for want, mm in zip(wants, way, strict=True))
        for way in itertools.permutations(lengths, 2)
    )
    assert best == 2
    assert len(compared.of(Covers.FITS)) == best
    assert compared.left_over[0].part.length == 400.0


@pytest.mark.parametrize(("price", "than"), [(100.0, -1), (200.0, 0), (400.0, 1)])
def test_cheaper_only_where_that_is_sure(price: float, than: int) -> None:
    found = fit(
        SetPart("throttle_single", longer=100.0),
        SetPart("clutch_cable", longer=150.0),
        SetPart("switch_harness", longer=100.0, quantity=2),
        price=price,
    )
    assert found.against(found.covered) == than  # 120 to 330


def test_ones_own_prices_count() -> None:
    job = Job(prices=(Price("clutch_cable", (50.0, 50.0)),))
    found = fit(SetPart("clutch_cable", longer=150.0), job=job)
    assert found.covered == (50.0, 50.0)


def test_what_has_no_price_is_not_summed_up() -> None:
    job = Job(currency="EUR", prices=(Price("throttle_single", (30.0, 30.0)),))
    found = fit(SetPart("clutch_cable", longer=150.0), job=job)
    assert found.covered is None
    assert found.against(found.covered) == 0
    assert found.besides == (30.0, 30.0)
    assert found.unpriced == ("left switch harness", "right switch harness")


def test_the_window_of_a_throttle_pair_is_that_of_both() -> None:
    setup = bundled("naked-standard")
    setup = replace(setup, new=setup.stock)
    pull = remedy(setup, "throttle pull cable", Means.NEXT_SIZE, 100.0)
    parts = (SetPart("throttle_pull", longer=100.0), SetPart("throttle_return", longer=100.0))
    setup: Setup = replace(setup, job=Job(sets=(SellersSet("pair", (60.0, 60.0), parts),)))
    found = order(setup, remedies(pull), ())
    (compared,) = compare_sets(setup, remedies(pull), (), found)
    assert compared.complete


def test_a_set_without_a_price_is_compared_with_nothing() -> None:
    found = fit(SetPart("clutch_cable", longer=150.0), price=0.0)
    *_, last = set_sentences(found, "USD", "mm")
    assert last == "What it costs is not known: type in its price."
    assert "USD" not in " ".join(set_sentences(found, "USD", "mm"))


def test_the_next_line_of_a_set_is_of_a_kind_that_it_lacks() -> None:
    setup = add_set(replace(SETUP, job=Job()))
    for _ in range(2):
        first = set_groups(setup)[0]
        setup = first.actions[0].change()
    kinds_in = [part.kind for part in setup.job.sets[0].parts]
    assert kinds_in == list(dict.fromkeys(line.kind for line in SETUP.lines))[:3]
    assert {part.longer for part in setup.job.sets[0].parts} == {100.0}
