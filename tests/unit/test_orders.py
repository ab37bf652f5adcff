"""What is ordered follows from what is done about each line: no more and no less."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from made_orders import bundled, remedies, remedy, splice_plan

from barfit.analysis import Verdict
from barfit.catalogue import line_kinds, price_table
from barfit.model import By, Choice, Fluid, Job, Price, Setup
from barfit.remedies import Change, Means, Remedies
from barfit.report.choices import choice_sentences
from barfit.workshop import Group, LookUp, Order, OrderItem, Why, order, sizes
from barfit.workshop.orders import at_odds, taken

TWIN = bundled("old-twin")
NAKED = bundled("naked-standard")
TOURING = bundled("touring-hydraulic")
HIDDEN = bundled("hidden-wires")


def made(setup: Setup, *each: object) -> Order:
    return order(setup, remedies(*each), ())  # type: ignore[arg-type]


def one_of(found: Order, item: str) -> OrderItem:
    (one,) = [one for one in found.items if one.item == item]
    return one


def stock_only(setup: Setup) -> Setup:
    """The setup with its stock bars put on again: nothing to order for the bars."""
    return replace(setup, new=replace(setup.stock))


# --- sizes ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "longer", "size"),
    [
        ("clutch_cable", 1.0, 50.0),  # steps of 50 mm, common practice
        ("clutch_cable", 50.0, 50.0),
        ("clutch_cable", 50.1, 100.0),
        ("brake_hose", 51.0, 75.0),  # steps of 25 mm
        ("clutch_cable", 400.0, 400.0),
        ("clutch_cable", 401.0, math.inf),  # not sold ready
        ("clutch_cable", -60.0, -50.0),
    ],
)
def test_the_next_size_sold(kind: str, longer: float, size: float) -> None:
    assert sizes.next_size(kind, longer) == size


def test_what_is_made_up_is_quoted_to_5_mm_upwards() -> None:
    assert [sizes.quoted(mm) for mm in (1001.0, 1005.0, 1005.2)] == [1005.0, 1005.0, 1010.0]


def test_extensions_are_those_sold() -> None:
    # 100 to 450 mm (4 to 18 in): common practice
    assert [sizes.extension(mm) for mm in (20.0, 100.0, 101.0, 420.0)] == [100, 100, 150, 450]
    assert math.isinf(sizes.extension(451.0))


def test_the_nearest_eye_is_taken() -> None:
    found = [math.degrees(sizes.eye(math.radians(angle))) for angle in (8.0, -24.0, 60.0, 80.0)]
    assert found == pytest.approx([0.0, 20.0, 45.0, 90.0])


# --- lines ---------------------------------------------------------------------------------------


def test_nothing_is_ordered_where_nothing_is_needed() -> None:
    assert order(stock_only(TWIN), (), ()).items == ()
    assert order(stock_only(TWIN), [Remedies("clutch cable")], ()).items == ()


def test_what_only_moves_is_not_ordered() -> None:
    setup = stock_only(TWIN)
    moved = remedy(setup, "clutch cable", Means.ROLL_BAR, by=0.1)
    assert made(setup, moved).items == ()


def test_a_cable_of_the_next_size_grows_in_sheath_and_inner_alike() -> None:
    setup = stock_only(TWIN)
    (one,) = made(setup, remedy(setup, "clutch cable", Means.NEXT_SIZE, 62.0)).items
    assert (one.item, one.longer, one.made_up) == ("clutch_cable", 100.0, False)
    assert one.length == setup.line("clutch cable").length + 100.0
    assert one.look_up == (LookUp.INNER, LookUp.ENDS)
    assert one.why is Why.TOO_SHORT
    assert one.price == price_table().items["clutch_cable"].price
    assert one.days == price_table().items["clutch_cable"].days
    assert one.line == "clutch cable"


def test_a_cable_longer_than_any_sold_is_made_up() -> None:
    setup = stock_only(TWIN)
    (one,) = made(setup, remedy(setup, "clutch cable", Means.NEXT_SIZE, 430.0)).items
    assert one.item == "clutch_cable_made_up"
    assert one.made_up
    assert one.length % 5.0 == pytest.approx(0.0)


def test_a_made_up_cable_is_as_long_as_asked_and_quoted_to_5_mm() -> None:
    setup = stock_only(TWIN)
    asked = setup.line("clutch cable").length + 62.3
    (one,) = made(setup, remedy(setup, "clutch cable", Means.MADE_UP, 62.3)).items
    assert 0.0 <= one.length - asked < 5.0
    assert one.item == "clutch_cable_made_up"


def test_a_shorter_line_is_ready_where_such_a_size_is_sold() -> None:
    setup = stock_only(TWIN)
    sold = made(setup, remedy(setup, "clutch cable", Means.SHORTER, -50.0)).items[0]
    exact = made(setup, remedy(setup, "clutch cable", Means.SHORTER, -63.0)).items[0]
    assert (sold.made_up, sold.why) == (False, Why.TOO_LONG)
    assert exact.made_up


def test_a_throttle_pair_is_replaced_together_by_as_much() -> None:
    setup = stock_only(NAKED)
    found = made(setup, remedy(setup, "throttle pull cable", Means.NEXT_SIZE, 88.0)).items
    assert [one.line for one in found] == ["throttle pull cable", "throttle return cable"]
    assert [one.longer for one in found] == [100.0, 100.0]
    assert [one.why for one in found] == [Why.TOO_SHORT, Why.PAIR]


def test_a_made_up_pair_grows_by_as_much_to_the_millimetre() -> None:
    setup = stock_only(NAKED)
    pull = remedy(setup, "throttle pull cable", Means.MADE_UP, 63.0)
    back = remedy(setup, "throttle return cable", Means.MADE_UP, 63.6)
    found = made(setup, pull, back).items
    assert [one.longer for one in found] == [64.0, 64.0]
    assert all(one.made_up for one in found)


def test_of_a_pair_the_greater_growth_counts() -> None:
    setup = stock_only(NAKED)
    pull = remedy(setup, "throttle pull cable", Means.NEXT_SIZE, 50.0)
    back = remedy(setup, "throttle return cable", Means.NEXT_SIZE, 120.0)
    assert [one.longer for one in made(setup, pull, back).items] == [150.0, 150.0]


PULL, BACK = "throttle pull cable", "throttle return cable"


def both_ways(setup: Setup) -> list[Remedies]:
    """A pair with a size sold, and made up, for each of the two, the other with it."""
    return [
        Remedies(
            one,
            (
                remedy(setup, one, Means.MADE_UP, exact, together=(other,)),
                remedy(setup, one, Means.NEXT_SIZE, 50.0, together=(other,)),
                remedy(setup, one, Means.REROUTE),
            ),
        )
        for one, other, exact in ((PULL, BACK, 63.0), (BACK, PULL, 64.0))
    ]


def choosing(setup: Setup, *each: tuple[str, str]) -> Setup:
    return replace(setup, job=Job(choices=tuple(Choice(*one) for one in each)))


@pytest.mark.parametrize("line", [PULL, BACK])
def test_what_is_chosen_for_one_of_a_pair_is_done_to_both(line: str) -> None:
    setup = choosing(stock_only(NAKED), (line, "next_size"))
    about = both_ways(setup)
    decided = taken(setup, about)
    assert [one.key for one in decided.values() if one] == ["next_size", "next_size"]
    assert [one.longer for one in order(setup, about, ()).items] == [50.0, 50.0]
    assert at_odds(setup, about) == ()


def test_of_two_choices_for_a_pair_the_last_counts_and_that_is_said() -> None:
    setup = choosing(stock_only(NAKED), (BACK, "made_up"), (PULL, "next_size"))
    about = both_ways(setup)
    assert [one.longer for one in order(setup, about, ()).items] == [50.0, 50.0]
    assert choice_sentences(setup, about) == [
        "For the throttle return cable 'made up to length' was chosen, but it is only replaced "
        "together with the throttle pull cable, for which 'next size sold' was: both are replaced "
        "so. Choose one thing for both."
    ]
    assert choice_sentences(setup, about, [PULL]) == []


@pytest.mark.parametrize(("line", "mate"), [(PULL, BACK), (BACK, PULL)])
def test_a_lower_bar_chosen_for_one_of_a_pair_is_there_for_the_other_too(
    line: str, mate: str
) -> None:
    setup = choosing(stock_only(NAKED), (line, "lower_bar"))
    about = [
        replace(one, ranked=(*one.ranked, remedy(setup, one.line, Means.LOWER_BAR)))
        for one in both_ways(setup)
    ]
    decided = taken(setup, about)
    assert {one.key for one in decided.values() if one} == {"lower_bar"}
    assert choice_sentences(setup, about) == []
    # a cable that was asked for is a choice of its own: that the pair is then replaced is said
    asked = choosing(setup, (line, "lower_bar"), (mate, "next_size"))
    assert len(choice_sentences(asked, about)) == 1


@pytest.mark.parametrize("last", [PULL, BACK])
def test_what_is_chosen_besides_its_pair_being_replaced_is_said(last: str) -> None:
    chosen = {PULL: "reroute", BACK: "next_size"}
    first = BACK if last == PULL else PULL
    setup = choosing(stock_only(NAKED), *((one, chosen[one]) for one in (first, last)))
    (odd,) = at_odds(setup, both_ways(setup))
    assert (odd.line, odd.chosen, odd.other) == (PULL, "reroute", BACK)
    assert [one.longer for one in order(setup, both_ways(setup), ()).items] == [50.0, 50.0]


def test_a_pair_nobody_chose_for_is_decided_as_one() -> None:
    setup = stock_only(NAKED)
    about = both_ways(setup)
    about[0] = Remedies(PULL, tuple(reversed(about[0].ranked)))  # for it alone: another way to go
    decided = taken(setup, about)
    assert [one.key for one in decided.values() if one] == ["made_up", "made_up"]


def test_the_choice_of_the_job_counts_over_the_best() -> None:
    setup = stock_only(TWIN)
    size = remedy(setup, "clutch cable", Means.NEXT_SIZE, 100.0)
    exact = remedy(setup, "clutch cable", Means.MADE_UP, 72.0)
    both = [Remedies("clutch cable", (size, exact))]
    assert order(setup, both, ()).items[0].item == "clutch_cable"
    chosen = replace(setup, job=Job(choices=(Choice("clutch cable", exact.key),)))
    assert order(chosen, both, ()).items[0].item == "clutch_cable_made_up"


def test_a_line_that_nothing_helps_is_left_open_and_not_ordered() -> None:
    setup = stock_only(TWIN)
    none = remedy(setup, "clutch cable", Means.NEXT_SIZE, 100.0, why_not="too long at one lock")
    found = made(setup, none)
    assert found.items == ()
    assert found.open_lines == ("clutch cable",)


def test_where_a_lower_bar_is_needed_nothing_is_ordered() -> None:
    taken = remedy(TWIN, "clutch cable", Means.LOWER_BAR, by=35.0)
    other = remedy(TWIN, "throttle cable", Means.NEXT_SIZE, 100.0)
    found = made(TWIN, taken, other)
    assert found.items == ()
    assert found.lower_by == 35.0


def test_keys_tell_everything_apart_and_change_with_what_is_needed() -> None:
    def found(longer: float) -> list[str]:
        each = [remedy(TOURING, line.name, _means(line.kind), longer) for line in TOURING.lines]
        return [one.key for one in made(TOURING, *each).items]

    keys = found(100.0)
    assert len(set(keys)) == len(keys)
    assert found(100.0) == keys
    bought = {key for key in keys if key.startswith("clutch hose")}
    assert bought
    assert not bought & set(found(150.0))


def _means(kind: str) -> Means:
    ready = line_kinds()[kind].family in ("cable", "hose")
    return Means.NEXT_SIZE if ready else Means.EXTENSION


# --- wires ---------------------------------------------------------------------------------------


def test_an_extension_is_one_that_is_sold() -> None:
    setup = stock_only(TWIN)
    found = made(setup, remedy(setup, "left switch harness", Means.EXTENSION, 120.0))
    one = one_of(found, "switch_harness_extension")
    # its plug does not pass the hole in the lamp shell, which is looked at before ordering
    assert (one.length, one.look_up) == (150.0, (LookUp.PLUG, LookUp.HOLE))


def test_splices_take_wire_by_gauge_and_two_joints_a_wire() -> None:
    setup = stock_only(TWIN)
    plan = splice_plan("left switch harness", ("0.75 mm²",) * 5 + ("1.5 mm²",), 150.0)
    spliced = remedy(setup, "left switch harness", Means.SPLICE, 150.0, splice=plan)
    found = made(setup, spliced)
    wires = {one.detail: one.quantity for one in found.items if one.item == "wire"}
    # by hand: 5 pieces of 150 mm and 40 mm to work with are 0.95 m, one is 0.19 m; up to 0.5 m
    assert wires == {"0.75 mm²": 1.0, "1.5 mm²": 0.5}
    assert one_of(found, "joint").quantity == 12.0
    assert one_of(found, "shrink").quantity == 12.0
    # by hand: from 100 - 11 to 250 + 150 + 11 mm are 322 mm
    assert one_of(found, "sleeve").quantity == 0.5
    assert one_of(found, "joint").price == pytest.approx((2.4, 7.2))  # 12 at 0.2 to 0.6


def test_where_the_wires_are_not_known_their_number_is_left_open() -> None:
    setup = stock_only(TWIN)
    found = made(setup, remedy(setup, "left switch harness", Means.SPLICE, 150.0))
    wire = one_of(found, "wire")
    assert math.isnan(wire.quantity)
    assert wire.price is None
    assert wire.look_up == (LookUp.WIRES,)
    assert wire in found.unpriced


# --- hydraulics ----------------------------------------------------------------------------------


def test_a_hose_brings_its_washers_and_fluid_and_its_ends() -> None:
    setup = stock_only(TOURING)
    found = made(setup, remedy(setup, "clutch hose", Means.NEXT_SIZE, 100.0))
    hose, washers, fluid = found.items
    assert hose.hose is not None
    assert (hose.hose.first.part, hose.hose.second.part) == (
        "clutch master cylinder",
        "slave cylinder",
    )
    assert LookUp.CLOCKING in hose.look_up
    assert washers.quantity == 4.0  # two to a banjo, common practice
    assert (fluid.item, fluid.detail) == ("fluid_mineral", "mineral oil")
    assert [one.group for one in found.items] == [
        Group.LINES,
        Group.ACCESSORIES,
        Group.ACCESSORIES,
    ]


def test_stacked_banjos_take_three_washers() -> None:
    """Common practice: two to a banjo, three where two share a bolt."""
    setup = stock_only(NAKED)
    names = ("left caliper hose", "right caliper hose")
    lines = []
    for line in setup.lines:
        if line.name in names:
            assert line.hose is not None
            start = replace(line.hose.start, part="splitter", double=True, banjo=True)
            line = replace(line, hose=replace(line.hose, start=start))
        lines.append(line)
    setup = replace(setup, lines=tuple(lines))
    found = made(setup, remedy(setup, "left caliper hose", Means.NEXT_SIZE, 25.0))
    assert one_of(found, "washer").quantity == 5.0  # three at the splitter, two at the caliper


def test_turning_one_banjo_opens_that_joint_alone() -> None:
    setup = stock_only(TOURING)
    turned = remedy(
        setup, "clutch hose", Means.TURN_FITTING, at="slave cylinder", by=0.2, change=Change.EYE
    )
    found = made(setup, turned)
    assert [one.item for one in found.items] == ["washer", "fluid_mineral"]
    assert found.items[0].quantity == 2.0


def test_turning_a_fitting_nobody_names_opens_both() -> None:
    setup = stock_only(TOURING)
    turned = remedy(setup, "clutch hose", Means.TURN_FITTING, by=0.2, change=Change.EYE)
    assert made(setup, turned).items[0].quantity == 4.0


def test_a_control_turned_on_the_bar_opens_no_joint() -> None:
    setup = stock_only(TOURING)
    turned = remedy(setup, "clutch hose", Means.TURN_FITTING, at="clutch master cylinder", by=0.2)
    assert made(setup, turned).items == ()


def test_fluid_that_is_not_known_is_left_to_the_manual() -> None:
    setup = stock_only(TOURING)
    lines = tuple(
        replace(line, hose=replace(line.hose, fluid=None)) if line.hose else line
        for line in setup.lines
    )
    setup = replace(setup, lines=lines)
    found = made(setup, remedy(setup, "clutch hose", Means.NEXT_SIZE, 100.0))
    fluid = one_of(found, "fluid")
    assert (fluid.detail, fluid.look_up) == ("clutch", (LookUp.FLUID,))


def test_fluids_that_disagree_are_left_to_the_manual() -> None:
    setup = stock_only(NAKED)
    first = next(line for line in setup.lines if line.hose)
    assert first.hose is not None
    odd = replace(first, hose=replace(first.hose, fluid=Fluid.DOT_5))
    setup = replace(
        setup, lines=tuple(odd if line.name == odd.name else line for line in setup.lines)
    )
    found = made(setup, remedy(setup, first.name, Means.NEXT_SIZE, 100.0))
    assert one_of(found, "fluid").look_up == (LookUp.FLUID,)


def test_an_anti_lock_unit_has_a_hose_of_its_own_price() -> None:
    found = made(TOURING, remedy(TOURING, "brake hose to the modulator", Means.NEXT_SIZE, 100.0))
    assert one_of(found, "modulator_hose").line == "brake hose to the modulator"


# --- bars and what goes with them ----------------------------------------------------------------


def test_new_bars_bring_ties_and_grips() -> None:
    found = order(TWIN, (), ())
    assert [one.item for one in found.of(Group.BARS)] == ["bar"]
    assert one_of(found, "grips").why is Why.GRIPS_OFF
    # two on the bar for each of two harnesses
    assert one_of(found, "tie").quantity == 4.0


def test_what_rubs_is_sleeved() -> None:
    setup = stock_only(TWIN)
    rubs = replace(remedy(setup, "clutch cable", Means.NEXT_SIZE, 100.0), verdict=Verdict.RUBS)
    one = one_of(made(setup, rubs), "guard")
    assert (one.quantity, one.each, one.line) == (0.5, "m", "clutch cable")


def test_heated_grips_are_moved_over_not_bought() -> None:
    found = order(TOURING, (), ())
    assert "grips" not in [one.item for one in found.items]


def test_the_same_bar_rolled_is_not_bought_again() -> None:
    bar = replace(TWIN.stock.bar, roll=0.1)  # type: ignore[type-var]
    assert order(replace(TWIN, new=replace(TWIN.stock, bar=bar)), (), ()).items == ()


def test_every_hole_of_wires_inside_the_bar_is_lined() -> None:
    found = order(HIDDEN, (), ())
    holes = {
        hole
        for line in HIDDEN.lines
        if line.through_bar
        for hole in (line.through_bar.entry, line.through_bar.exit)
    }
    assert one_of(found, "grommet").quantity == len(holes)
    assert one_of(found, "drilled_bar").group is Group.BARS


# --- prices and dates ----------------------------------------------------------------------------


def test_a_price_of_ones_own_replaces_the_tables() -> None:
    job = Job(by=By.SHOP, prices=(Price("clutch_cable", (48.0, 52.0)),))
    setup = replace(stock_only(TWIN), job=job)
    (one,) = made(setup, remedy(setup, "clutch cable", Means.NEXT_SIZE, 100.0)).items
    assert (one.price, one.own_price) == ((48.0, 52.0), True)


def test_without_a_rate_nothing_is_converted() -> None:
    setup = replace(
        stock_only(TWIN), job=Job(currency="EUR", prices=(Price("clutch_cable", (48.0, 52.0)),))
    )
    found = made(
        setup,
        remedy(setup, "clutch cable", Means.NEXT_SIZE, 100.0),
        remedy(setup, "choke cable", Means.NEXT_SIZE, 50.0),
    )
    assert found.currency == "EUR"
    assert found.price == (48.0, 52.0)
    assert [one.line for one in found.unpriced] == ["choke cable"]


def test_with_a_rate_the_tables_prices_are_converted_and_ones_own_are_not() -> None:
    job = Job(currency="EUR", table_rate=0.5, prices=(Price("clutch_cable", (48.0, 52.0)),))
    setup = replace(stock_only(TWIN), job=job)
    found = made(
        setup,
        remedy(setup, "clutch cable", Means.NEXT_SIZE, 100.0),
        remedy(setup, "choke cable", Means.NEXT_SIZE, 50.0),
    )
    # by hand: 48 + 20 / 2, 52 + 50 / 2
    assert found.price == (58.0, 77.0)


def test_what_is_here_is_not_missing_and_the_slowest_is_named() -> None:
    setup = stock_only(TWIN)
    found = made(
        setup,
        remedy(setup, "clutch cable", Means.MADE_UP, 62.0),
        remedy(setup, "choke cable", Means.NEXT_SIZE, 50.0),
    )
    slow, quick = found.items[1], found.items[0]
    assert slow.line == "clutch cable"
    assert found.slowest == (slow,)
    assert found.missing([quick.key]) == (slow,)


def test_everything_that_can_be_ordered_has_a_price_in_the_table() -> None:
    table = price_table().items
    for kind, row in line_kinds().items():
        assert f"{kind}_made_up" in table
        wanted = kind if row.family in ("cable", "hose") else f"{kind}_extension"
        assert wanted in table


@pytest.mark.parametrize("item", price_table().items.values(), ids=lambda one: one.name)
def test_prices_say_that_they_are_invented(item: object) -> None:
    row = price_table().items[item.name]  # type: ignore[attr-defined]
    assert row.source.startswith("invented")
    assert 0.0 <= row.price[0] <= row.price[1]
    assert 0.0 <= row.days[0] <= row.days[1]
