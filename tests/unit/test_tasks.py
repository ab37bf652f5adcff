"""The work, task by task: what triggers it, in which order, how long (hours invented)."""

from __future__ import annotations

from dataclasses import replace
from graphlib import TopologicalSorter

import pytest
from made_orders import bundled, remedies, remedy, splice_plan

from barfit.model import By, Fuelling, Riser, Setup
from barfit.remedies import Change, Means, Remedy
from barfit.report.work import task_texts
from barfit.workshop import LookUp, order
from barfit.workshop.high_spots import HighSpot
from barfit.workshop.line_items import stuck_plugs
from barfit.workshop.task_table import Hours, task_table
from barfit.workshop.tasks import Task, labour, line_hours, tasks
from barfit.workshop.traits import Trait


@pytest.fixture(scope="module")
def cruiser_bars() -> Setup:
    return bundled("tall-bar-cruiser")


def taken(*each: Remedy) -> dict[str, Remedy | None]:
    return {one.line: one for one in each}


def by_row(found: tuple[Task, ...]) -> dict[str, list[Task]]:
    rows: dict[str, list[Task]] = {}
    for task in found:
        rows.setdefault(task.row, []).append(task)
    return rows


def total(found: tuple[Task, ...]) -> Hours:
    return sum((task.hours for task in found), Hours())


def mid_rise(setup: Setup) -> dict[str, Remedy | None]:
    """Throttle pair, clutch cable, brake hose and an extension on each side."""
    return taken(
        remedy(setup, "throttle pull cable", Means.NEXT_SIZE, 100.0),
        remedy(setup, "throttle return cable", Means.NEXT_SIZE, 100.0),
        remedy(setup, "clutch cable", Means.NEXT_SIZE, 150.0),
        remedy(setup, "front brake hose", Means.NEXT_SIZE, 100.0),
        remedy(setup, "left switch harness", Means.EXTENSION, 100.0),
        remedy(setup, "right switch harness", Means.EXTENSION, 100.0),
    )


def risers_only(setup: Setup) -> Setup:
    return replace(setup, new=replace(setup.stock, riser=Riser("taller", 90.0)))


def test_every_task_of_the_table_knows_those_before_it() -> None:
    table = task_table()
    for row in table.values():
        assert {*row.after} <= {*table}, row.name
        assert row.hours.home[0] <= row.hours.home[1]
        assert row.hours.shop[1] <= row.hours.home[1]  # a workshop is no slower
    TopologicalSorter({row.name: row.after for row in table.values()}).prepare()
    assert [row.name for row in table.values() if row.gate] == ["lock_to_lock"]


@pytest.mark.parametrize("name", ["tall-bar-cruiser", "old-twin", "touring-hydraulic"])
def test_each_task_comes_after_those_it_waits_for(name: str) -> None:
    setup = bundled(name)
    done: set[str] = set()
    for task in tasks(setup, {}):
        assert done.issuperset(task.after)
        assert task.key not in done
        done.add(task.key)


def test_strip_down_is_there_once_and_says_for_whom(cruiser_bars: Setup) -> None:
    rows = by_row(tasks(cruiser_bars, mid_rise(cruiser_bars)))
    (tank,) = rows["tank_off"]
    assert tank.lines == (
        "throttle pull cable",
        "throttle return cable",
        "left switch harness",
        "right switch harness",
    )
    assert len(rows["throttle_cable"]) == 2


def test_nobody_is_told_of_what_is_not_there() -> None:
    """An old twin is all of cables; a touring machine has no throttle cable and keeps its tank."""
    twin = bundled("old-twin")
    cable = remedy(twin, "clutch cable", Means.NEXT_SIZE, 50.0)
    told = {one.row: f"{one.text} {one.manual}".lower() for one in tasks(twin, taken(cable))}
    for word in ("master cylinder", "hydraulic", "fluid", "joints", "fault", "pull and return"):
        assert not any(word in text for text in told.values()), word
    assert "snaps shut" in told["checks"]
    assert "free play" in told["baseline"]

    touring = bundled("touring-hydraulic")
    lead = remedy(touring, "left heated-grip lead", Means.EXTENSION, 100.0)
    told = {one.row: f"{one.text} {one.manual}".lower() for one in tasks(touring, taken(lead))}
    assert "tank_off" not in told
    for word in ("idle", "snaps", "cable", "fuel", "under the tank", "no fluid", "screen"):
        assert not any(word in text for text in told.values()), word
    assert "master cylinders stay upright" in told["controls_off"]
    assert "fault codes" in told["baseline"]

    naked = bundled("naked-standard")
    pair = remedy(naked, "throttle pull cable", Means.NEXT_SIZE, 50.0)
    told = {one.row: one.text for one in tasks(naked, taken(pair))}
    assert "Pull and return are not swapped." in told["throttle_cable"]


def test_what_a_text_is_said_for_is_known() -> None:
    known = {*Trait, *task_table()}
    for row in task_table().values():
        for piece in (*row.text, *row.manual):
            assert piece.when <= known, (row.name, piece)
        assert row.text


def test_a_task_says_how_and_where_air_stays(cruiser_bars: Setup) -> None:
    clip = remedy(cruiser_bars, "clutch cable", Means.REROUTE, change=Change.DROP, at="a guide")
    (work,) = by_row(tasks(cruiser_bars, taken(clip)))["reroute"]
    assert task_texts(work, "", "mm")[0].startswith("Leave out 'a guide'. Only as far")
    assert task_texts(work, "reroute", "mm")[0] == "Leave out 'a guide'."

    hose = remedy(cruiser_bars, "front brake hose", Means.NEXT_SIZE, 150.0)
    (bleed,) = by_row(tasks(cruiser_bars, taken(hose)))["bleed_brake"]
    high = replace(bleed, high_spots=(HighSpot("front brake hose", "master cylinder", 177.0),))
    assert (
        "Air stays at the high spots of the front brake hose 177 mm from 'master cylinder': tap "
        "the hose there while bleeding."
    ) in task_texts(high, "", "mm")[0]
    assert "Air stays" not in task_texts(bleed, "", "mm")[0]


def test_fuel_by_injection_takes_longer_and_nobody_said_takes_either(cruiser_bars: Setup) -> None:
    def hours(fuelling: Fuelling | None) -> tuple[float, float]:
        setup = replace(cruiser_bars, machine=replace(cruiser_bars.machine, fuelling=fuelling))
        (tank,) = by_row(tasks(setup, mid_rise(setup)))["tank_off"]
        return tank.hours.home

    least, most = hours(Fuelling.CARBURETTOR), hours(Fuelling.INJECTION)
    assert (sum(least) / 2, sum(most) / 2) == pytest.approx((0.8, 1.3))  # invented
    assert hours(None) == (least[0], most[1])


def test_nothing_comes_off_that_is_in_nobodys_way(cruiser_bars: Setup) -> None:
    rows = by_row(
        tasks(cruiser_bars, taken(remedy(cruiser_bars, "clutch cable", Means.NEXT_SIZE, 150.0)))
    )
    assert not {"tank_off", "covers_off", "lamp_off", "drain", "bleed_brake", "electrics"} & {*rows}
    assert rows["adjust"][0].lines == ("clutch cable",)


def test_only_an_opened_joint_is_bled(cruiser_bars: Setup) -> None:
    def rows(means: Means, longer: float = 0.0, change: Change = Change.ITEM) -> set[str]:
        one = remedy(cruiser_bars, "front brake hose", means, longer, change=change)
        return {*by_row(tasks(cruiser_bars, taken(one)))}

    assert not {"drain", "bleed_brake"} & rows(Means.MOVE_CLIP)
    assert {"drain", "bleed_brake"} <= rows(Means.NEXT_SIZE, 100.0)
    assert {"drain", "bleed_brake"} <= rows(Means.TURN_FITTING, change=Change.EYE)
    assert not {"drain", "bleed_brake"} & rows(Means.TURN_FITTING)  # on the bar, with its control


def test_nothing_is_filled_on_joints_that_are_only_finger_tight(cruiser_bars: Setup) -> None:
    hose = remedy(cruiser_bars, "front brake hose", Means.NEXT_SIZE, 100.0)
    found = tasks(cruiser_bars, taken(hose))
    order = [task.row for task in found]
    assert order.index("lock_to_lock") < order.index("bleed_brake")
    for row in ("bleed_brake", "bleed_clutch"):
        text = " ".join(str(one) for one in task_table()[row].text)
        assert text.index("manual's torque") < text.index("Then ")
    (bleed,) = by_row(found)["bleed_brake"]
    assert bleed.text.startswith("First every joint of the circuit to the manual's torque")


def test_what_is_done_as_controls_are_set_is_no_task_of_its_own(cruiser_bars: Setup) -> None:
    one = remedy(cruiser_bars, "clutch cable", Means.TURN_FITTING, by=0.2)
    rows = by_row(tasks(cruiser_bars, taken(one)))
    assert "turn_fitting" not in rows
    (fit,) = rows["bar_fit"]
    assert fit.reasons[-1].name == "clutch cable"
    assert fit.lines == ()


def test_an_anti_lock_unit_is_bled_only_where_its_own_joint_was_opened() -> None:
    setup = bundled("touring-hydraulic")
    at_unit = remedy(setup, "brake hose to the modulator", Means.MADE_UP, 60.0)
    below = remedy(setup, "left caliper hose", Means.MADE_UP, 60.0)
    assert "bleed_unit" in by_row(tasks(setup, taken(at_unit)))
    rows = by_row(tasks(setup, taken(below)))
    assert "bleed_brake" in rows
    assert "bleed_unit" not in rows


def test_plugs_in_a_fairing_ask_for_the_fairing_and_in_a_lamp_for_the_lamp() -> None:
    touring, twin = bundled("touring-hydraulic"), bundled("old-twin")
    one = remedy(touring, "left switch harness", Means.EXTENSION, 100.0)
    assert "fairing_off" in by_row(tasks(touring, taken(one)))
    one = remedy(
        twin, next(n.name for n in twin.lines if n.kind == "switch_harness"), Means.EXTENSION
    )
    rows = by_row(tasks(twin, taken(one)))
    assert "lamp_off" in rows
    assert "tank_off" not in rows


def test_the_dry_turn_comes_before_fluid_and_cuts_and_after_all_that_is_laid(
    cruiser_bars: Setup,
) -> None:
    wires = remedy(
        cruiser_bars,
        "left switch harness",
        Means.SPLICE,
        100.0,
        splice=splice_plan("left switch harness", ("0.5 mm²",) * 9, 100.0),
    )
    found = tasks(cruiser_bars, {**mid_rise(cruiser_bars), wires.line: wires})
    keys = [task.key for task in found]
    gate = keys.index("lock_to_lock")
    assert found[gate].gate
    for task in found:
        if task.row in (
            "throttle_cable",
            "clutch_cable",
            "brake_hose",
            "extend_harness",
            "bar_fit",
        ):
            assert keys.index(task.key) < gate
            assert task.key in found[gate].after
        if task.row in ("splice", "bleed_brake", "adjust", "electrics", "torque"):
            assert "lock_to_lock" in task.after


def test_what_is_too_short_is_off_the_bars_before_they_are_turned(cruiser_bars: Setup) -> None:
    every = mid_rise(cruiser_bars)
    same_bar = risers_only(cruiser_bars)
    for setup, row in ((cruiser_bars, "controls_off"), (same_bar, "lines_free")):
        found = tasks(setup, every)
        by_key, keys = {task.key: task for task in found}, [task.key for task in found]
        assert row in by_key["bar_fit"].after
        assert keys.index("drain: front brake") < keys.index(row) < keys.index("bar_fit")
        assert "drain: front brake" in by_key[row].after
        assert "turn lock to lock" in by_key["bar_fit"].text.lower()
        assert "too short" in by_key["bar_fit"].text
        for said in ("Cables: ", "Hoses: drained first", "Wires: plugs apart", "hang loose"):
            assert said in by_key[row].text
    assert {*by_key["lines_free"].lines} == {*every}


def test_nothing_is_freed_where_no_line_is_worked_on(cruiser_bars: Setup) -> None:
    for setup in (cruiser_bars, risers_only(cruiser_bars)):
        rows = by_row(tasks(setup, {}))
        assert "lines_free" not in rows
        assert not any("hang loose" in one.text for one in rows.get("controls_off", []))
        assert "too short" not in rows["bar_fit"][0].text


def test_fuel_pressure_is_let_off_before_the_battery_is_off(cruiser_bars: Setup) -> None:
    def stand(fuelling: Fuelling | None, **cures: object) -> str:
        setup = replace(cruiser_bars, machine=replace(cruiser_bars.machine, fuelling=fuelling))
        return by_row(tasks(setup, mid_rise(setup) if cures else {}))["stand"][0].text

    for fuelling in (Fuelling.INJECTION, None):
        told = stand(fuelling, with_tank_off=True)
        assert told.index("pressure is let off now") < told.index("battery is disconnected")
    assert "pressure" not in stand(Fuelling.CARBURETTOR, with_tank_off=True)
    assert "pressure" not in stand(Fuelling.INJECTION)


def test_every_wire_of_a_splice_takes_its_time(cruiser_bars: Setup) -> None:
    """8 to 16 wires take 2.5 to 4 h at home, 2 to 3 h in a workshop (invented)."""

    def hours(wires: int) -> Hours:
        plan = splice_plan("left switch harness", ("0.5 mm²",) * wires, 100.0)
        one = remedy(cruiser_bars, "left switch harness", Means.SPLICE, 100.0, splice=plan)
        return by_row(tasks(cruiser_bars, taken(one)))["splice"][0].hours

    assert hours(8).likely(By.HOME) == pytest.approx(2.5)
    assert hours(16).likely(By.HOME) == pytest.approx(4.1)
    assert 1.8 < hours(8).likely(By.SHOP) < 2.2
    assert 2.8 < hours(16).likely(By.SHOP) < 3.2


def test_wires_inside_the_bars_are_pulled_through_prepared_holes() -> None:
    setup = bundled("hidden-wires")
    rows = by_row(tasks(setup, {}))
    assert {task.about for task in rows["wires_through"]} == {
        "left switch harness",
        "right switch harness",
        "left heated-grip lead",
        "right heated-grip lead",
    }
    assert len(rows["bar_holes"]) == 1
    assert "electrics" in rows


def test_a_lower_bar_has_to_be_chosen_before_there_is_work(cruiser_bars: Setup) -> None:
    lower = remedy(cruiser_bars, "clutch cable", Means.LOWER_BAR, by=40.0)
    assert tasks(cruiser_bars, {**mid_rise(cruiser_bars), "clutch cable": lower}) == ()


@pytest.mark.parametrize(
    ("who", "risers", "some"),
    [(By.HOME, (2.5, 2.5), (9.0, 12.0)), (By.SHOP, (1.5, 1.5), (6.0, 7.5))],
)
def test_hours_in_all_are_about_as_usual(
    cruiser_bars: Setup, who: By, risers: tuple[float, float], some: tuple[float, float]
) -> None:
    """Invented totals that such jobs are put at: risers alone; a mid-rise bar with throttle,
    clutch, brake and extensions. The ranges have to meet.
    """

    def meets(found: tuple[Task, ...], usual: tuple[float, float]) -> bool:
        least, most = total(found).by(who)
        return least <= usual[1] and most >= usual[0]

    assert meets(tasks(risers_only(cruiser_bars), {}), risers)
    assert meets(tasks(cruiser_bars, mid_rise(cruiser_bars)), some)
    middle = total(tasks(cruiser_bars, mid_rise(cruiser_bars))).likely(who)
    assert some[0] * 0.9 <= middle <= some[1] * 1.1


def test_what_a_line_adds_is_what_falls_away_without_it(cruiser_bars: Setup) -> None:
    every = mid_rise(cruiser_bars)
    found = tasks(cruiser_bars, every)
    shares = line_hours(found)
    for name in ("clutch cable", "front brake hose", "left switch harness"):
        without = {line: one for line, one in every.items() if line != name}
        less = total(found).home[1] - total(tasks(cruiser_bars, without)).home[1]
        assert shares.adds(name).home[1] == pytest.approx(less)
    added = sum((one for _, one in shares.by_line), shares.shared)
    assert added.home == pytest.approx(total(found).home)
    bill = labour(found)
    assert sum(one.shop[0] for one in bill) == pytest.approx(total(found).shop[0])


def test_an_extension_at_a_plug_that_does_not_pass_its_hole_says_so() -> None:
    twin = bundled("old-twin")
    about = {name: remedy(twin, name, Means.EXTENSION, 100.0) for name in HARNESSES}
    told = {one.about: one for one in tasks(twin, taken(*about.values())) if one.stuck}
    stuck = {line.name for line in twin.lines if line.name in HARNESSES and stuck_plugs(line)}
    assert {*told} == stuck
    assert stuck
    for one in told.values():
        assert "does not pass its hole of 30.0 mm" in task_texts(one, "", "mm")[0]
    items = order(twin, remedies(*about.values()), ()).items
    assert {one.line for one in items if LookUp.HOLE in one.look_up} == stuck


HARNESSES = ("left switch harness", "right switch harness")
