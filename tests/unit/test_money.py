"""Money: sums made by hand, and what is usual in the trade."""

from __future__ import annotations

from dataclasses import replace

import pytest
from made_orders import bundled, remedies, remedy

from barfit.catalogue import line_kinds, price_table
from barfit.model import By, Job, Price, Range, Setup
from barfit.remedies import Means
from barfit.report.money import beside_sentence, drivers, money_rows
from barfit.workshop import Group, order, prices
from barfit.workshop.money import LABOUR, Labour, biggest, money, rounded

TWIN = bundled("old-twin")
TOURING = bundled("touring-hydraulic")
STOCK = replace(TWIN, new=TWIN.stock)
WORK = (Labour("strip", (1.0, 1.5), (0.5, 0.8)), Labour("fit", (4.0, 6.0), (2.5, 3.2)))


def every_line(setup: Setup, kinds: tuple[str, ...] = ()) -> tuple[object, ...]:
    """The next size of every line, or of those kinds."""
    found = []
    for line in setup.lines:
        if kinds and line.kind not in kinds:
            continue
        whole = line_kinds()[line.kind].family in ("cable", "hose")
        found.append(remedy(setup, line.name, Means.NEXT_SIZE if whole else Means.EXTENSION, 100.0))
    return remedies(*found)


def middle(given: Range) -> float:
    return 0.5 * sum(given)


def test_home_and_shop_by_hand() -> None:
    cables = remedies(
        remedy(STOCK, "clutch cable", Means.NEXT_SIZE, 100.0),  # 35 to 90
        remedy(STOCK, "throttle cable", Means.NEXT_SIZE, 100.0),  # 25 to 60
    )
    found = money(order(STOCK, cables, ()), WORK, Job())
    assert found.home.parts == found.shop.parts == (60.0, 150.0)
    assert found.home.hours == (5.0, 7.5)
    assert found.home.total == (60.0, 150.0)
    assert found.shop.hours == (3.0, 4.0)
    assert found.shop.labour == (3.0 * 90.0, 4.0 * 140.0)
    assert found.shop.total == (330.0, 710.0)
    assert found.bill(By.SHOP) is found.shop


def test_home_beside_shop_and_what_drives_both() -> None:
    """By the numbers above: of 60 to 150 (105 in the middle) the clutch cable is 62.5 in the middle
    and the throttle cable 42.5; the shop's work, 270 to 560, is 415 of 520.
    """
    cables = remedies(
        remedy(STOCK, "clutch cable", Means.NEXT_SIZE, 100.0),
        remedy(STOCK, "throttle cable", Means.NEXT_SIZE, 100.0),
    )
    found = money(order(STOCK, cables, ()), WORK, Job())
    assert beside_sentence(found) == (
        "In a shop it costs USD 270–560 more, for 3.0–4.0 h of work; at home it takes 5.0–7.5 h of "
        "yours."
    )
    work, clutch, throttle = drivers(found)
    assert (work.name, work.price, work.home) == ("Work", "USD 270–560", 0.0)
    assert work.shop == pytest.approx(415.0 / 520.0)
    assert (clutch.name, clutch.price) == ("Clutch cable", "USD 35–90")
    assert clutch.home == pytest.approx(62.5 / 105.0)
    assert throttle.shop == pytest.approx(42.5 / 520.0)
    both = drivers(found, most=2)
    assert [one.name for one in both] == ["Work", "2 other things"]
    assert both[1].price == "USD 60–150"
    assert both[1].home == pytest.approx(1.0)


def test_while_something_is_missing_the_least_is_told() -> None:
    found = money(order(STOCK, (), ()), WORK, Job())
    hours, work = (row for row in money_rows(found, so_far=True) if row[0] in ("Hours", "Work"))
    assert hours == ("Hours", "at least 5.0 h", "at least 3.0 h")
    assert work[2].startswith("at least USD 270, ")


def test_the_shops_own_rate_counts() -> None:
    found = money(order(STOCK, (), ()), WORK, Job(shop_rate=(80.0, 80.0)))
    assert found.shop.total == (240.0, 320.0)


def test_without_a_rate_of_exchange_the_shops_sum_is_not_known() -> None:
    job = Job(currency="EUR")
    setup = replace(STOCK, job=job)
    cable = remedies(remedy(setup, "clutch cable", Means.NEXT_SIZE, 100.0))
    found = money(order(setup, cable, ()), WORK, job)
    assert found.shop.total is None
    assert found.rate is None
    assert found.unpriced == ("clutch cable",)
    assert found.converted == ""


def test_with_a_rate_of_exchange_it_is_said_that_prices_were_converted() -> None:
    job = Job(currency="EUR", table_rate=0.9)
    setup = replace(STOCK, job=job)
    cable = remedies(remedy(setup, "clutch cable", Means.NEXT_SIZE, 100.0))
    found = money(order(setup, cable, ()), WORK, job)
    assert found.home.total == pytest.approx((31.5, 81.0))
    assert found.converted == "USD"
    own = replace(job, shop_rate=(80.0, 90.0), prices=(Price("clutch_cable", (48.0, 50.0)),))
    setup = replace(setup, job=own)
    assert money(order(setup, cable, ()), WORK, own).converted == ""


def test_what_drives_a_price_is_named_dearest_first() -> None:
    cables = remedies(
        remedy(STOCK, "clutch cable", Means.NEXT_SIZE, 100.0),
        remedy(STOCK, "choke cable", Means.NEXT_SIZE, 50.0),
    )
    found = money(order(STOCK, cables, ()), WORK, Job())
    assert [one.name for one in found.shop.drives] == [LABOUR, "clutch cable", "choke cable"]
    assert [one.name for one in found.home.drives] == ["clutch cable", "choke cable"]
    # by hand: (270 + 560) / 2 of (270 + 55 + 560 + 140) / 2
    assert found.shop.drives[0].share == pytest.approx(415.0 / 512.5)
    assert sum(one.share for one in found.shop.drives) == pytest.approx(1.0)
    assert [one.name for one in biggest(found.shop.drives)] == [LABOUR]


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ((58.2, 77.4), (58.0, 78.0)),
        ((303.1, 467.0), (303.0, 467.0)),
        ((628.8, 1663.1), (628.0, 1664.0)),
        ((0.1 + 0.2 + 0.7, 2.3 + 2.3 + 2.4), (1.0, 7.0)),  # what is left by adding up is no rest
        ((48.5, 48.5), (48.5, 48.5)),
        ((0.0, 0.0), (0.0, 0.0)),
    ],
)
def test_a_sum_is_rounded_outwards_to_whole_numbers(given: Range, told: Range) -> None:
    assert rounded(given) == told


def test_what_is_rounded_covers_what_it_was() -> None:
    for tenths in range(1, 40_000, 77):
        given = (0.05 * tenths, 0.13 * tenths)
        least, most = rounded(given)
        assert least <= given[0]
        assert most >= given[1]
        assert most - given[1] < 1.0
        assert given[0] - least < 1.0


@pytest.mark.parametrize(
    ("rate", "parts", "work", "together"),
    [
        # EUR 0.90 to the dollar: parts 60 x 0.9 = 54 and 150 x 0.9 = 135; work 3.0 h x 81 = 243 and
        # 4.0 h x 126 = 504; together 54 + 243 = 297 and 135 + 504 = 639
        (0.9, "EUR 54–135", "EUR 243–504", "EUR 297–639"),
        # 0.871: parts 60 x 0.871 = 52.26, 150 x 0.871 = 130.65; an hour 90 x 0.871 = 78.39 and
        # 140 x 0.871 = 121.94, work 3 x 78.39 = 235.17 and 4 x 121.94 = 487.76; together
        # 52.26 + 235.17 = 287.43 and 130.65 + 487.76 = 618.41, outwards 287 and 619
        (0.871, "EUR 52.26–130.65", "EUR 235.17–487.76", "EUR 287–619"),
    ],
)
def test_only_what_it_comes_to_together_is_rounded(
    rate: float, parts: str, work: str, together: str
) -> None:
    job = Job(currency="EUR", table_rate=rate)
    setup = replace(STOCK, job=job)
    cables = remedies(
        remedy(setup, "clutch cable", Means.NEXT_SIZE, 100.0),  # USD 35 to 90
        remedy(setup, "throttle cable", Means.NEXT_SIZE, 100.0),  # USD 25 to 60
    )
    found = money(order(setup, cables, ()), WORK, job)
    rows = {term: (home, shop) for term, home, shop in money_rows(found)}
    assert rows["Parts"] == (parts, parts)
    assert rows["Work"][1].split(", ")[0] == work
    assert rows["Together"][1] == together


# --- what is usual (USD, common practice) ---------------------------------------------------------


def test_bars_cost_about_100_to_500() -> None:
    for item in ("bar", "tall_bar", "drilled_bar"):
        least, most = price_table().items[item].price
        assert 100.0 <= least < most <= 500.0


def test_a_set_of_lines_all_cables_costs_about_200() -> None:
    kinds = ("throttle_single", "choke_cable", "clutch_cable", "front_brake_cable")
    found = order(STOCK, every_line(STOCK, kinds), ())  # type: ignore[arg-type]
    lines = prices.together([one.price for one in found.of(Group.LINES) if one.price])
    assert lines[0] < 200.0 < lines[1]
    assert middle(lines) == pytest.approx(200.0, rel=0.15)


def test_lines_with_electronics_mixed_in_cost_400_and_more() -> None:
    crossing = tuple(kind for kind in line_kinds() if kind != "brake_hose")
    setup = replace(TOURING, new=TOURING.stock)
    found = order(setup, every_line(setup, crossing), ())  # type: ignore[arg-type]
    lines = [one.price for one in found.of(Group.LINES) if one.price]
    hose = order(
        setup,
        remedies(remedy(setup, "brake hose to the modulator", Means.NEXT_SIZE, 100.0)),
        (),
    )
    lines += [one.price for one in hose.of(Group.LINES) if one.price]
    assert middle(prices.together(lines)) >= 400.0


def test_a_shops_total_can_approach_1000() -> None:
    """Mid-rise with throttle, clutch, brake and extensions: 6 to 7.5 h in a shop."""
    work = (Labour("all of it", (9.0, 12.0), (6.0, 7.5)),)
    setup = bundled("tall-bar-cruiser")
    found = order(setup, every_line(setup), ())  # type: ignore[arg-type]
    without_bar = replace(
        found, items=tuple(one for one in found.items if one.group is not Group.BARS)
    )
    total = money(without_bar, work, Job()).shop.total
    assert total is not None
    assert total[0] < 1000.0 < total[1]
