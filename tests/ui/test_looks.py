"""Palette, words, rows of dimensions and settings."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest
from PySide6.QtCore import QByteArray, QSettings, Qt
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QPushButton
from sweeps import result, setup

from barfit import catalogue
from barfit.analysis import OddSlack, Sureness, Verdict
from barfit.model import ClipOn, FoundSlack
from barfit.ui.bar_rows import TERMS, bar_rows
from barfit.ui.icons import Worn, icon
from barfit.ui.marks import draw_mark
from barfit.ui.settings import RECENT, Settings
from barfit.ui.theme import DARK, LIGHT, Choice, Theme
from barfit.ui.words import (
    caution,
    diameter_text,
    kind_text,
    length_text,
    meaning,
    typeset,
)


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    """Contrast ratio as WCAG 2.2 defines it."""
    low, high = sorted((luminance(a), luminance(b)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_text_and_marks_stand_out_as_wcag_asks(colours):
    for ground in (colours.panel, colours.raised, colours.accent_wash, colours.message):
        assert contrast(colours.text, ground) >= 4.5
    for ground in (colours.panel, colours.raised):
        assert contrast(colours.muted, ground) >= 4.5
    assert contrast(colours.muted, colours.ground) >= 4.5  # a switch's other words
    assert contrast(colours.on_accent, colours.accent) >= 4.5
    for words in (colours.warn, colours.bad):  # figures that need minding
        assert contrast(words, colours.panel) >= 4.5
    for verdict in Verdict:
        assert contrast(colours.verdict(verdict), colours.panel) >= 3.0
        assert contrast(colours.verdict(verdict), colours.accent_wash) >= 3.0


def test_every_verdict_has_a_mark_of_its_own_shape(qapp):
    drawn = {}
    for verdict in Verdict:
        image = QImage(32, 32, QImage.Format.Format_RGB32)
        image.fill(Qt.GlobalColor.white)
        painter = QPainter(image)
        black, white = QColor("black"), QColor("white")
        draw_mark(painter, verdict, image.rect().toRectF(), black, white)
        painter.end()
        drawn[verdict] = image
    for a, b in combinations(Verdict, 2):
        different = sum(
            drawn[a].pixel(x, y) != drawn[b].pixel(x, y) for x in range(32) for y in range(32)
        )
        assert different > 40, (a, b)


def test_an_unknown_icon_is_refused(qapp):
    with pytest.raises(ValueError, match="'stop'"):
        icon("stop", "#000000")


def ink(name: str, colour: str) -> float:
    """How much of an icon is covered whole; fails where that is not in its colour (but for what
    smoothing rounds).
    """
    image = icon(name, colour).pixmap(48).toImage()
    points = [image.pixelColor(x, y) for x in range(image.width()) for y in range(image.height())]
    covered = [point for point in points if point.alpha() == 255]
    asked = QColor(colour)
    for point in covered:
        pairs = zip(point.getRgb(), asked.getRgb(), strict=True)
        assert max(abs(a - b) for a, b in pairs) <= 2, name
    return len(covered) / len(points)


def test_every_icon_is_drawn_in_the_colour_asked_for(qapp):
    names = sorted(path.stem for path in (catalogue.data_dir() / "icons").glob("*.svg"))
    assert len(names) > 20
    for name in names:
        assert 0.02 < ink(name, "#4fb896") < 0.4, name


def test_icons_follow_the_palette(qapp):
    theme = Theme(Choice.LIGHT)
    button = QPushButton()
    worn = Worn(button, "change", theme)
    keys = [button.icon().cacheKey()]
    for choice in (Choice.DARK, Choice.LIGHT):
        theme.choose(choice)
        keys.append(button.icon().cacheKey())
    worn.show("delete")
    keys.append(button.icon().cacheKey())
    assert len(set(keys)) == 4
    button.deleteLater()


class Hints:
    def __init__(self, scheme: Qt.ColorScheme) -> None:
        self.scheme = scheme

    def colorScheme(self) -> Qt.ColorScheme:
        return self.scheme


def test_the_theme_follows_the_system_unless_told_otherwise(qapp):
    theme = Theme(Choice.SYSTEM)
    heard = []
    theme.changed.connect(lambda: heard.append(theme.colours.dark))
    theme._hints = Hints(Qt.ColorScheme.Dark)
    theme._system_changed()
    theme._hints = Hints(Qt.ColorScheme.Light)
    theme._system_changed()
    theme._hints = Hints(Qt.ColorScheme.Unknown)
    assert theme.colours is LIGHT
    theme.choose(Choice.DARK)
    theme._system_changed()  # no longer listened to
    assert heard == [True, False, True]
    theme.choose(Choice.LIGHT)


# words


def test_lengths_have_a_true_minus():
    assert length_text(-12.2, "mm") == "−12 mm"
    assert length_text(12.2, "mm", signed=True, with_unit=False) == "+12"
    assert length_text(math.nan, "in") == "–"
    assert [diameter_text(mm, "mm") for mm in (5.5, 8.0, 10.0)] == ["5.5 mm", "8 mm", "10 mm"]
    assert diameter_text(6.35, "in") == "1/4 in"


@pytest.fixture
def finding():
    return result(setup()).findings[0]


def test_a_sentence_is_set_with_minus_signs_and_unbroken_bands():
    text = "moved by -1 mm, ± 9 mm at 12-15, or 4 3/16 in in 2 places"
    set_so = "moved by −1~mm, ±~9~mm at 12-15, or 4~3/16 in in 2 places"
    assert typeset(text) == set_so.replace("~", "\u00a0")


def test_a_kind_is_named_where_the_name_does_not_say_it():
    line = setup().lines[0]
    kind = catalogue.line_kinds()[line.kind]
    assert kind_text(line, kind, "mm") == "Throttle cable, pull, 5.5 mm outside"
    assert kind_text(replace(line, name=kind.label), kind, "mm") == "5.5 mm outside"


def test_an_uncertain_line_means_how_far_off_it_may_be(finding):
    kind = catalogue.line_kinds()["brake_hose"]
    doubt = replace(finding, verdict=Verdict.UNCERTAIN, sure=Sureness(sigma=7.0))
    line = setup().lines[0]
    assert "± 14 mm" in meaning(doubt, line, kind, "mm")
    assert "not known" in meaning(replace(doubt, sure=Sureness()), line, kind, "mm")


def test_slack_found_is_not_asked_for_where_it_was_given(finding):
    kind = catalogue.line_kinds()["brake_hose"]
    line = replace(setup().lines[0], found_slack=None)
    doubt = replace(finding, verdict=Verdict.UNCERTAIN, sure=Sureness(sigma=7.0))
    assert "give the slack found" in meaning(doubt, line, kind, "mm")
    given = replace(line, found_slack=FoundSlack(straight=40.0))
    assert "give the slack found" not in meaning(doubt, given, kind, "mm")
    assert "already counts" in meaning(doubt, given, kind, "mm")
    odd = replace(doubt, sure=Sureness(sigma=7.0, odd=(OddSlack(0.0, 40.0, 90.0, 9.0),)))
    assert meaning(odd, given, kind, "mm") == (
        "As long as that is so, its margin is only known to ± 64 mm. Check the slack found and "
        "what the file says of this line against each other."
    )


@pytest.mark.parametrize("verdict", Verdict)
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_every_verdict_means_something(finding, verdict, unit):
    kind = catalogue.line_kinds()["brake_hose"]
    text = meaning(replace(finding, verdict=verdict, why="it hangs"), setup().lines[0], kind, unit)
    assert text.endswith(".")
    if verdict not in (Verdict.NOT_KNOWN, Verdict.RUBS, Verdict.PINCHED):  # not about lengths
        assert f" {unit}" in text
        assert (" in " if unit == "mm" else " mm") not in text.replace("in the", "")


def test_what_a_life_hangs_on_has_a_word_of_care():
    careful = {name for name, kind in catalogue.line_kinds().items() if caution(kind)}
    assert careful == {
        "throttle_pull",
        "throttle_return",
        "throttle_single",
        "clutch_cable",
        "front_brake_cable",
        "brake_hose",
        "clutch_hose",
        "ride_by_wire_lead",
    }
    for name in careful:
        words = caution(catalogue.line_kinds()[name])
        assert "service manual" in words
        assert "local law" in words


# dimensions


def test_dimensions_are_compared_row_by_row():
    machine = setup()
    rows = {row.term: row for row in bar_rows(machine.stock, machine.new, "mm")}
    assert rows["Rise"].stock == f"{machine.stock.bar.rise:.0f}"
    assert rows["Rise"].difference == f"{machine.new.bar.rise - machine.stock.bar.rise:+.0f}"
    assert rows["Tube"].new == f"{machine.new.bar.tube_diameter:.1f}"
    assert "Roll" not in rows  # nought on both
    assert set(rows) <= set(TERMS)
    rolled = replace(machine.new, bar=replace(machine.new.bar, roll=math.radians(-3.5)))
    rows = {row.term: row for row in bar_rows(machine.stock, rolled, "in")}
    assert (rows["Roll"].stock, rows["Roll"].new, rows["Roll"].difference) == (
        "0°",
        "−3.5°",
        "−3.5°",
    )
    assert '"' not in rows["Rise"].new


def test_the_same_bars_have_no_differences():
    machine = setup()
    assert {row.difference for row in bar_rows(machine.stock, machine.stock, "mm")} == {""}


def test_clip_ons_have_dimensions_of_their_own():
    machine = setup()
    clip_on = ClipOn(
        name="low",
        height=-20.0,
        forward=5.0,
        outward=30.0,
        length=250.0,
        tube_diameter=22.2,
        grip_diameter=22.2,
        grip_length=120.0,
        sweep=math.radians(12),
        downsweep=math.radians(8),
    )
    swapped = replace(machine.new, bar=clip_on)
    rows = {row.term: row for row in bar_rows(machine.stock, swapped, "mm")}
    assert (rows["Clamp height"].stock, rows["Clamp height"].new) == ("–", "−20")
    assert rows["Width"].new == "–"
    assert rows["Width"].difference == ""
    assert set(rows) <= set(TERMS)


# settings


def test_settings_are_kept_and_nonsense_counts_as_not_set(settings, tmp_path):
    assert settings.unit is None
    assert settings.theme is Choice.SYSTEM
    assert settings.recent == []
    assert settings.load_bytes("window") is None
    settings.unit = "in"
    settings.theme = Choice.DARK
    settings.save_bytes("window", QByteArray(b"abc"))
    assert settings.unit == "in"
    assert settings.theme is Choice.DARK
    assert settings.load_bytes("window") == QByteArray(b"abc")
    store = QSettings(str(tmp_path / "odd.ini"), QSettings.Format.IniFormat)
    for name in ("unit", "theme", "recent", "window"):
        store.setValue(name, "nonsense")
    odd = Settings(store)
    assert odd.unit is None
    assert odd.theme is Choice.SYSTEM
    assert odd.recent == []
    assert odd.load_bytes("window") is None


def test_recent_files_are_newest_first_without_doubles_or_lost_ones(settings, tmp_path):
    files = [tmp_path / f"{number}.toml" for number in range(RECENT + 2)]
    for file in files:
        file.touch()
        settings.add_recent(file)
    settings.add_recent(files[5])
    assert settings.recent[:2] == [files[5], files[-1]]
    assert len(settings.recent) == RECENT
    assert len(set(settings.recent)) == RECENT
    files[5].unlink()
    assert settings.recent[0] == files[-1]


def test_one_recent_file_is_read_back(settings, tmp_path):
    file = tmp_path / "one.toml"
    file.touch()
    settings.add_recent(file)
    store = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
    store.sync()
    assert Settings(store).recent == [Path(file)]
