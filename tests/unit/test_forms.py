"""Forms show every key of the file, read what is typed as the file does, and change only that."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barfit import edits, forms, scenario
from barfit.forms import Field
from barfit.forms.terms import term
from barfit.model import By, Price, Setup
from barfit.scenario import refusals, schema
from barfit.scenario.hoses import HoseEndTable, HoseTable, MasterTable
from barfit.scenario.wires import CircuitTable, ConnectorTable, WiresTable

MACHINE = ("machine", "fork", "head_tube", "wheel", "risers")


def fields(setup: Setup) -> Iterator[Field]:
    """Every field of every form of a setup."""
    groups = [*forms.machine_form(setup), *forms.sureness_form(setup), *forms.rider_form(setup)]
    groups += forms.limits_form(setup, "mm")
    groups += [*about_job(setup), *forms.set_groups(setup)]
    groups += [*forms.bars_form(setup, True), *forms.bars_form(setup, False)]
    for control in setup.controls:
        groups += forms.control_form(setup, control.name)
    for line in setup.lines:
        groups += forms.line_form(setup, line.name, "mm")
        for index in range(len(line.stations)):
            groups += forms.station_form(setup, line.name, index)
    for solid in setup.machine.solids:
        groups += forms.solid_form(setup, solid.name)
    for group in groups:
        yield from group.fields


def about_job(setup: Setup) -> tuple[forms.Group, ...]:
    """What counts at home, and of the workshop's time."""
    shop = replace(setup, job=replace(setup.job, by=By.SHOP))
    return (forms.time_group(setup), forms.money_group(setup), forms.time_group(shop))


def field(setup: Setup, groups: tuple[forms.Group, ...], key: str) -> Field:
    return next(one for group in groups for one in group.fields if one.key == key)


@pytest.fixture(scope="module")
def naked() -> Setup:
    return scenario.load(next(p for p in scenario.bundled() if p.stem == "naked-standard"))


@pytest.mark.parametrize("path", scenario.bundled(), ids=lambda path: path.stem)
def test_what_a_field_shows_changes_nothing_when_it_is_entered(path: Path) -> None:
    setup = scenario.load(path)
    for one in fields(setup):
        for unit in ("mm", "in"):
            assert one.typed(one.text(unit), unit) is None, one.label
        assert one.label[:1].isupper()
        assert one.tip.endswith(".")


@pytest.mark.parametrize(
    ("typed", "mm"), [("12 1/2 in", 317.5), ('12.5"', 317.5), ("318 mm", 318.0), ("318", 318.0)]
)
def test_a_length_is_typed_as_people_write_it(naked: Setup, typed: str, mm: float) -> None:
    rise = field(naked, forms.bars_form(naked, False), "rise")
    changed = rise.typed(typed, "mm")
    assert changed is not None
    assert changed.new.bar.rise == mm  # type: ignore[union-attr]
    assert edits.change_bar(changed, False, rise=naked.new.bar.rise) == naked  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("key", "typed", "told"),
    [
        ("rake", "95", "95° is outside 0° to 60°"),
        ("rake", "steep", "steep"),
        ("rake", "", "Rake is needed"),
        ("offset", "4 m", "4 m is outside -200 mm to 300 mm"),
        ("rake", "12 mm", "12 mm"),
        ("name", "", "name"),
    ],
)
def test_nonsense_is_refused_with_the_reason(naked: Setup, key: str, typed: str, told: str) -> None:
    with pytest.raises(ValueError, match=r"\w") as error:
        field(naked, forms.machine_form(naked), key).typed(typed, "mm")
    assert told in str(error.value)


def test_what_may_be_left_out_is_left_to_the_kind(naked: Setup) -> None:
    hose = forms.line_form(naked, "left caliper hose", "mm")
    radius = field(naked, hose, "min_radius")
    changed = radius.typed("", "mm")
    assert changed is not None
    assert changed.line("left caliper hose").min_radius is None
    again = field(changed, forms.line_form(changed, "left caliper hose", "mm"), "min_radius")
    assert again.text("mm") == ""
    assert again.fallback == "45 mm, as its kind"


def test_the_inside_of_a_cable_is_typed_where_a_wire_slides(naked: Setup) -> None:
    form = forms.line_form(naked, "clutch cable", "mm")
    changed = field(naked, form, "pull").typed("180,5", "mm")
    assert changed is not None
    cable = changed.line("clutch cable").cable
    assert cable is not None
    assert cable.pull == 180.5
    with pytest.raises(ValueError, match="0 N is outside"):
        field(naked, form, "pull").typed("0", "mm")
    for key in ("wire", "bore", "lining", "free_play", "pull"):
        changed = field(changed, forms.line_form(changed, "clutch cable", "mm"), key).typed(
            "", "mm"
        )
        assert changed is not None
    assert changed.line("clutch cable").cable is None
    hose_now = field(naked, form, "kind").typed("clutch_hose", "mm")
    assert hose_now is not None
    assert hose_now.line("clutch cable").cable is None
    hose = forms.line_form(naked, "left caliper hose", "mm")
    assert "wire" not in {one.key for group in hose for one in group.fields}


def test_the_other_unit_is_told(naked: Setup) -> None:
    rise = field(naked, forms.bars_form(naked, False), "rise")
    assert rise.other_unit("mm") == "5.12 in"
    assert rise.other_unit("in") == "130.0 mm"


def test_the_place_and_size_of_a_solid_are_three_fields_each(naked: Setup) -> None:
    setup: Setup | None = naked
    for axis, typed in (("forward", "56"), ("left", "-60 mm"), ("up", "-5 in")):
        assert setup is not None
        setup = field(setup, forms.solid_form(setup, "seat"), f"centre_{axis}").typed(typed, "mm")
    assert setup is not None
    seat = next(one for one in setup.machine.solids if one.name == "seat")
    assert seat.shape.centre == (56, -60, -127)  # type: ignore[union-attr]
    size = field(naked, forms.solid_form(naked, "seat"), "size_left")
    assert size.label == "Size, left"
    with pytest.raises(ValueError, match="outside 1 mm to 4000 mm"):
        size.typed("0", "mm")
    with pytest.raises(ValueError, match="three"):
        size.typed("three", "mm")


def test_an_outlet_and_where_it_points_are_three_fields_each(naked: Setup) -> None:
    name = "clutch perch"
    before = edits.names.find(naked.controls, name).outlets[0]
    form = forms.control_form(naked, name)
    moved = field(naked, form, "offset_outward").typed("-2 in", "mm")
    assert moved is not None
    outlet = edits.names.find(moved.controls, name).outlets[0]
    assert outlet.offset == (-50.8, *before.offset[1:])
    turned = field(naked, form, "exit_forward").typed("0,5", "mm")
    assert turned is not None
    outlet = edits.names.find(turned.controls, name).outlets[0]
    assert outlet.exit == (before.exit[0], 0.5, before.exit[2])
    for axis in ("outward", "up"):
        there = field(turned, forms.control_form(turned, name), f"exit_{axis}").typed("0", "mm")
        assert there is not None
        turned = there
    last = field(turned, forms.control_form(turned, name), "exit_forward")
    with pytest.raises(ValueError, match="points nowhere"):
        last.typed("0", "mm")


def test_the_place_of_a_station_is_three_fields(naked: Setup) -> None:
    groups = forms.station_form(naked, "clutch cable", 2)
    before = naked.line("clutch cable").stations[2].place.position  # type: ignore[union-attr]
    changed = field(naked, groups, "position_left").typed("-2 in", "mm")
    assert changed is not None
    after = changed.line("clutch cable").stations[2].place.position  # type: ignore[union-attr]
    assert after == (before[0], -50.8, before[2])


def test_what_is_inside_a_line_goes_with_its_kind(naked: Setup) -> None:
    hose = next(line.name for line in naked.lines if line.hose is not None)
    kind = field(naked, forms.line_form(naked, hose, "mm"), "kind")
    changed = kind.typed("switch_harness", "mm")
    assert changed is not None
    assert changed.line(hose).hose is None
    assert refusals(changed) == []


def test_limits_are_shown_in_the_unit_that_is_shown(naked: Setup) -> None:
    assert field(naked, forms.limits_form(naked, "mm"), "hose_wheel_gap").fallback.endswith(" mm")
    assert field(naked, forms.limits_form(naked, "in"), "hose_wheel_gap").fallback.endswith(" in")
    assert len(forms.limits_form(naked, "mm")) == 6


@given(degrees=st.floats(0.0, 60.0))
def test_any_angle_inside_the_limits_is_taken(degrees: float) -> None:
    setup = scenario.load(scenario.bundled()[0])
    changed = field(setup, forms.machine_form(setup), "rake").typed(f"{degrees:.3f}°", "mm")
    rake = setup.machine.rake if changed is None else changed.machine.rake
    assert rake == pytest.approx(math.radians(degrees), abs=1e-5)


def test_every_key_of_machine_bars_controls_and_lines_has_a_term() -> None:
    parts = {
        "fork": schema.ForkTable,
        "head_tube": schema.HeadTubeTable,
        "wheel": schema.WheelTable,
        "risers": schema.RisersTable,
        "bar": schema.BarTable,
        "shoulder": schema.ShoulderTable,
        "clip_ons": schema.ClipOnTable,
        "riser": schema.RiserTable,
        "through_bar": schema.ThroughBarTable,
        "control": schema.ControlTable,
        "control_size": schema.ControlSizeTable,
        "rider": schema.RiderTable,
        "place_limits": schema.PlaceLimitsTable,
        "outlet": schema.OutletTable,
        "line": schema.LineTable,
        "cable": schema.CableTable,
        "station": schema.StationTable,
        "solid": schema.SolidTable,
        "shape": schema.MeshTable,
        "uncertainty": schema.UncertaintyTable,
        "hose": HoseTable,
        "hose_end": HoseEndTable,
        "master": MasterTable,
        "wires": WiresTable,
        "circuit": CircuitTable,
        "plug": ConnectorTable,
    }
    for form, table in parts.items():
        for key in table.model_fields:
            assert all(term(key, form)), f"{form}.{key}"


def test_values_that_contradict_each_other_are_refused_before_they_are_saved(naked: Setup) -> None:
    assert refusals(naked) == []
    found = refusals(edits.change_machine(naked, sag=200.0))
    assert [one.place for one in found] == ["machine.fork.sag"]
    assert "200 mm is more than the whole travel" in found[0].message


def test_holes_and_the_way_through_them_can_be_changed() -> None:
    path = next(p for p in scenario.bundled() if p.stem == "hidden-wires")
    hidden = scenario.load(path)
    name = "left switch harness"
    place = field(hidden, forms.bars_form(hidden, False)[2:], "from_end")
    moved = place.typed("180 mm", "mm")
    assert moved is not None
    assert moved.new.bar.holes[0].distance == 180.0
    assert moved.new.bar.holes[1:] == hidden.new.bar.holes[1:]
    way_in = field(hidden, forms.line_form(hidden, name, "mm"), "entry")
    assert "behind the left grip" in way_in.choices
    changed = way_in.typed("behind the left grip", "mm")
    assert changed is not None
    through = changed.line(name).through_bar
    assert through is not None
    assert (through.entry, through.exit) == ("behind the left grip", "left foot of the bar")


def test_a_size_left_empty_again_is_as_its_kind(naked: Setup) -> None:
    def width(setup: Setup) -> Field:
        groups = forms.control_form(setup, "left switches")
        return field(setup, tuple(g for g in groups if g.heading == "Room it takes"), "width")

    wider = width(naked).typed("50 mm", "mm")
    assert wider is not None
    size = next(one.size for one in wider.controls if one.name == "left switches")
    assert size is not None
    assert size.width == 50.0
    assert width(wider).typed("", "mm") == naked


def test_what_the_place_allows_is_typed_and_left_out_again(naked: Setup) -> None:
    limit = field(naked, forms.rider_form(naked), "over_seat").typed("15 in", "mm")
    assert limit is not None
    assert limit.place_limits.over_seat == 381.0
    back = field(limit, forms.rider_form(limit), "over_seat").typed("", "mm")
    assert back == naked


def test_a_price_is_typed_as_a_range_and_left_out_again(naked: Setup) -> None:
    own = forms.price_field(naked, "bar", "handlebar")
    assert own.text("mm") == ""
    for typed, said in (
        ("-5", "-5 is outside 0 to 10 000 000"),
        (
            "cheap",
            "'cheap' is not a number; give a plain number, or the least and the most, like 60",
        ),
        ("90 to 60", "[90, 60] is the wrong way round; give the least and the most, like 60"),
    ):
        with pytest.raises(ValueError, match=rf"^{re.escape(f'{own.label}: {said}')}"):
            own.typed(typed, "mm")
    assert own.read("60-90", "mm") == own.read("60 – 90", "mm") == (60.0, 90.0)
    changed = own.typed("60 to 90", "mm")
    assert changed is not None
    assert changed.job.prices == (Price("bar", (60.0, 90.0)),)
    again = forms.price_field(changed, "bar", "handlebar")
    assert again.text("mm") == "60 to 90"
    assert again.typed("60–90", "mm") is None
    assert again.typed("", "mm") == naked
    with pytest.raises(ValueError, match="wrong way round"):
        own.typed("90 to 60", "mm")
    with pytest.raises(ValueError, match="not a"):
        own.typed("cheap", "mm")


@pytest.mark.parametrize(
    ("key", "typed", "value"),
    [
        ("days", "saturday, Sunday and Monday", (0, 5, 6)),
        ("start", "2027-03-14", date(2027, 3, 14)),
        ("start", "", None),
        ("currency", "eur", "EUR"),
        ("shop_rate", "85", (85.0, 85.0)),
        ("hours", "6,5", 6.5),
        ("shop_days", "tuesday, Friday", (1, 4)),
        (
            "closed",
            "2027-12-27 to 2028-01-02, 2027-12-24",
            ((date(2027, 12, 24),) * 2, (date(2027, 12, 27), date(2028, 1, 2))),
        ),
    ],
)
def test_what_is_typed_about_the_job(naked: Setup, key: str, typed: str, value: object) -> None:
    setup = replace(naked, job=replace(naked.job, start=date(2027, 1, 1)))
    changed = field(setup, about_job(setup), key).typed(typed, "mm")
    assert changed is not None
    assert getattr(changed.job, key) == value


def test_a_place_that_may_be_left_out_is_three_fields_that_count_together(naked: Setup) -> None:
    def lever(setup: Setup, axis: str) -> Field:
        return field(setup, forms.control_form(setup, "clutch perch"), f"lever_tip_{axis}")

    first = lever(naked, "outward")
    assert first.text("mm") == ""
    assert first.fallback == "as its kind"
    with pytest.raises(ValueError, match="all three"):
        first.typed("5 in", "mm")
    assert first.triple is not None
    assert first.triple.keys == ("lever_tip_outward", "lever_tip_forward", "lever_tip_up")
    given = first.triple.put((127.0, 78.0, -9.0))
    assert lever(given, "forward").text("mm") == "78 mm"
    moved = lever(given, "up").typed("-1/2 in", "mm")
    assert moved is not None
    size = next(one.size for one in moved.controls if one.name == "clutch perch")
    assert size is not None
    assert size.lever_tip == (127.0, 78.0, -12.7)
    with pytest.raises(ValueError, match="all three"):
        lever(given, "up").typed("", "mm")
    triple = lever(given, "up").triple
    assert triple is not None
    assert triple.put(None) == naked
