"""Cautions in few words; and below a picture what the text says, not where it is drawn."""

from __future__ import annotations

import pytest
from made_findings import finding
from made_orders import bundled

from barfit.analysis import Verdict
from barfit.report.cautions import brief, caution_lines, cautions_count
from barfit.report.quantities import Quantity
from barfit.report.remarks import Remark, Topic
from barfit.report.sentences import sentence
from barfit.sheets import shots
from barfit.trade import Grade, Judged

TOURING = bundled("touring-hydraulic")


def remark(key: str, about: str, said: str, hint: str = "", **more: str | bool) -> Remark:
    grade = Grade.NOTE if more.pop("noted", False) else Grade.CAUTION
    return Remark(
        key=key,
        topic=Topic.HARNESS,
        about=about,
        term="Figure",
        judged=Judged(1.0, grade),
        quantity=Quantity.COUNT,
        sentence=said,
        hint=hint,
        caution=str(more.get("caution", "")),
        line=bool(more.get("line", True)),
    )


LEFT = remark("strain", "left lead", "Left lead: it flexes: 2 %; 1 % is allowed.", "Wider.")
RIGHT = remark("strain", "right lead", "Right lead: it flexes: 3 %; 1 % is allowed.", "Wider.")


def test_what_several_have_in_common_is_one_line() -> None:
    assert caution_lines([LEFT, RIGHT]) == ["Left lead: it flexes; likewise the right lead. Wider."]


def test_of_the_bars_two_ends_the_side_is_named() -> None:
    ends = [
        remark("straight", f"{side} controls and bar", f"The {side} end is short.", line=False)
        for side in ("left", "right")
    ]
    assert caution_lines(ends) == ["The left end is short; likewise on the right."]


def test_what_can_hurt_is_said_first_and_notes_are_not() -> None:
    hurts = remark("tilt", "master", "The lid tilts.", caution="Air gets in.")
    note = remark("note", "x", "Nothing much.", noted=True)
    assert caution_lines([note, LEFT, hurts]) == ["The lid tilts.", "Left lead: it flexes. Wider."]


def test_a_remark_without_a_sentence_is_named() -> None:
    assert brief(remark("a", "left lead", "")) == "Left lead: Figure"


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ([LEFT], None, "Cautions beyond length: 1."),
        ([LEFT, RIGHT], [LEFT], "Cautions beyond length: 2 as it is, 1 with all of this done."),
        ([LEFT], [], "Cautions beyond length: 1 as it is, none with all of this done."),
        ([], [], ""),
        ([], None, ""),
    ],
)
def test_cautions_are_counted_before_and_after(before, after, said) -> None:  # type: ignore[no-untyped-def]
    assert cautions_count(before, after) == said


def test_a_line_short_at_every_turn_is_not_short_where_it_is_drawn() -> None:
    line = TOURING.line("ride-by-wire lead")
    short = finding(Verdict.SHORT, line=line.name, slack=-17.0, excess=-16.5, worst_turn=-0.4887)
    assert "at every turn" in sentence(short, line, "mm", TOURING.machine)
    (shot,) = shots(TOURING, [short], (), "mm")
    assert shot.words == "Short at every turn; drawn at 28° right"


def test_below_a_picture_of_what_is_refused_stands_why() -> None:
    line = TOURING.line("clutch hose").name
    judged = Judged(0.0, Grade.REJECT, turn=TOURING.machine.lock_left, travel=0.0)
    hits = Remark("gap", Topic.HOSE, line, "Gap", judged, Quantity.LENGTH, "", line=True)
    for said, words in (
        ("Clutch hose is too near; 5 mm are.", "too near; drawn at full left lock"),
        ("Clutch hose touches at full left lock: stop.", "touches at full left lock"),
    ):
        refused = Remark(**{**vars(hits), "sentence": said})
        (shot,) = shots(TOURING, (), [refused], "mm")
        assert shot.words == f"Not acceptable: {words}"
