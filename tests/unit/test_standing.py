"""How figures beyond length are counted ."""

from __future__ import annotations

import pytest

from barfit.report.quantities import Quantity
from barfit.report.remark_facts import ALL_BARS, part_sections, remark_sections
from barfit.report.remarks import Remark, Topic
from barfit.report.standing import (
    standing,
    standing_of_lines,
    standing_of_topics,
    topic_lead,
)
from barfit.trade import Grade, Judged


def remark(
    grade: Grade, about: str = "", topic: Topic = Topic.ON_BAR, key: str = "x", line: bool = False
) -> Remark:
    judged = Judged(5.0, grade, limit=10.0, stock=8.0)
    words = "Mind it." if grade in (Grade.CAUTION, Grade.REJECT) else ""
    return Remark(key, topic, about, "Gap", judged, Quantity.LENGTH, words, line=line)


@pytest.mark.parametrize(
    ("grades", "worst", "words"),
    [
        ([Grade.NOTE], Grade.NOTE, "for information"),
        ([Grade.FINE, Grade.NOTE], Grade.FINE, "fine"),
        ([Grade.FINE, Grade.NOT_KNOWN], Grade.NOT_KNOWN, "not known"),
        ([Grade.FINE, Grade.CAUTION], Grade.CAUTION, "1 caution"),
        ([Grade.CAUTION] * 2, Grade.CAUTION, "2 cautions"),
        ([Grade.CAUTION, Grade.REJECT], Grade.REJECT, "1 not acceptable, 1 caution"),
    ],
)
def test_remarks_are_counted_the_gravest_first(grades, worst, words):
    stands = standing(remark(grade) for grade in grades)
    assert stands.worst is worst
    assert stands.words() == words
    assert stands.grave == (worst in (Grade.CAUTION, Grade.REJECT))
    assert topic_lead(stands)


def test_nothing_does_not_stand_in_any_way():
    with pytest.raises(ValueError, match="empty"):
        standing([])


def test_lines_and_topics_are_told_apart():
    said = [
        remark(Grade.CAUTION, "clutch cable", Topic.CABLE, line=True),
        remark(Grade.FINE, topic=Topic.RIDER),
        remark(Grade.REJECT, "left hand"),
        remark(Grade.FINE, "harness", Topic.THROUGH_BAR, line=True),
    ]
    lines, topics = standing_of_lines(said), standing_of_topics(said)
    assert list(lines) == ["clutch cable", "harness"]
    assert lines["clutch cable"].cautions == 1
    assert list(topics) == [Topic.RIDER, Topic.ON_BAR]
    assert topics[Topic.ON_BAR].rejected == 1


def test_parts_that_need_minding_come_first():
    said = [remark(Grade.FINE), remark(Grade.FINE, "left hand"), remark(Grade.REJECT, "right hand")]
    sections = part_sections(said, "mm")
    assert [section.heading for section in sections] == ["Right hand", ALL_BARS, "Left hand"]
    assert [section.grave for section in sections] == [True, False, False]
    assert sections[0].notes == ("Mind it.",)


def test_stock_bars_are_not_held_against_themselves():
    said = [remark(Grade.FINE, "clutch cable", Topic.CABLE, line=True)]
    (new,), (stock,) = remark_sections(said, "mm"), remark_sections(said, "mm", stock=True)
    assert new.facts[0].beside == "stock 8.0 mm, limit 10 mm"
    assert stock.facts[0].beside == "limit 10 mm"
