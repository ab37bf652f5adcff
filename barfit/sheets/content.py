"""What a sheet says, as plain words in rows and lists: nothing here knows how it will look."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from barfit.analysis import LineFinding, Verdict
from barfit.model import Setup, changed_since_signed
from barfit.remedies import Remedy
from barfit.report.cautions import caution_lines, cautions_count
from barfit.report.checklist import (
    RULES,
    SLACK_AND_MARGIN,
    SLACK_HOW,
    brake_caution,
    why_text,
)
from barfit.report.checklist_rows import CheckRow, check_rows
from barfit.report.dates import day_text
from barfit.report.headline import headline
from barfit.report.money import (
    INVENTED,
    amount_text,
    days_text,
    exact_text,
    hours_text,
    money_rows,
    money_sentences,
    sum_text,
    total_text,
    who_words,
)
from barfit.report.orders import (
    HEADINGS,
    count_text,
    done_text,
    item_name,
    length_text,
    look_up_sentences,
    nothing_sentence,
    open_sentences,
    slowest_sentence,
    specification,
)
from barfit.report.orders import why_text as order_why
from barfit.report.phrases import capital
from barfit.report.plan import gate_sentence, schedule_sentences, time_words
from barfit.report.remarks import Remark, grave, still_rejects
from barfit.report.sentences import CAUTION, sentence
from barfit.report.signing import count_words, released, signed_text
from barfit.report.slides import bars_words
from barfit.report.table import margin_text, number_text, window_text
from barfit.report.work import HOURS_INVENTED, about_text, listed_things, task_texts, task_title
from barfit.sheets.shots import Shot
from barfit.trade import Grade
from barfit.workshop import Group, Order, OrderItem
from barfit.workshop.check import Answer, Check, Topic
from barfit.workshop.money import Money
from barfit.workshop.schedule import Schedule
from barfit.workshop.task_table import Hours
from barfit.workshop.tasks import Task

_SLACK_AT = ("right lock", "straight ahead", "left lock")
_TONES = {Verdict.REACHES: "good", Verdict.RUBS: "mind", Verdict.UNCERTAIN: "mind"}


@dataclass(frozen=True)
class Picture:
    """A drawn shot, as the bytes of a PNG."""

    shot: Shot
    png: bytes


@dataclass(frozen=True)
class Case:
    """All that is known of one job.

    ``findings`` and ``remarks`` are of the new bars with the lines as they are; ``after`` and
    ``after_remarks`` with everything done that is to be done, None where nothing is, or where a
    lower bar is taken; ``comes_of_it`` says it in sentences. ``taken`` is what is done about each
    line that needs something; ``blocked``: something has to be mended before any work. ``made`` is
    the day on the sheet.
    """

    setup: Setup
    findings: Sequence[LineFinding]
    remarks: Sequence[Remark]
    taken: Mapping[str, Remedy | None]
    order: Order
    money: Money
    tasks: Sequence[Task]
    schedule: Schedule
    made: date
    checks: Sequence[Check] = ()
    after: Sequence[LineFinding] | None = None
    after_remarks: Sequence[Remark] | None = None
    comes_of_it: Sequence[str] = ()
    blocked: bool = False


def content(case: Case) -> dict[str, Any]:
    """Everything the templates ask for. Lengths in the setup's unit."""
    setup, unit = case.setup, case.setup.unit
    job = setup.job
    by = None if case.blocked or changed_since_signed(setup) else job.signed
    return {
        "title": setup.title,
        "machine": setup.machine.name,
        "bars": bars_words(setup),
        "date": day_text(case.made),
        "summary": headline(case.findings, case.remarks, setup).words,
        "fits": all(one.fits for one in case.findings),
        "stops": _stops(case),
        "outcome": [] if case.blocked and not _rejected(case) else list(case.comes_of_it),
        "glance": _glance(case),
        "unit": unit,
        "lines": [_line(one, case) for one in case.findings],
        "sentences": [
            sentence(one, setup.line(one.line), unit, setup.machine)
            for one in case.findings
            if not one.fits
        ],
        "changes": [_change(case, name) for name in case.taken],
        "remarks": [remark.words() for remark in _cautions(case)],
        "minded": caution_lines(_then(case)),
        "minded_count": cautions_count(case.remarks, case.after_remarks),
        "order": [
            {"heading": HEADINGS[group], "items": [_item(one, case) for one in items]}
            for group in Group
            if (items := case.order.of(group))
        ],
        "look_up": look_up_sentences(case.order),
        "nothing": nothing_sentence(case.order) or " ".join(open_sentences(case.order, unit)),
        "slowest": slowest_sentence(case.order),
        "order_sum": sum_text(case.order.price, case.order.currency, bool(case.order.unpriced)),
        "prices": _prices(case),
        "money": money_rows(case.money),
        "money_said": money_sentences(case.money, job.by),
        "tasks": _tasks(case.tasks, unit),
        "hours": _total(case.tasks),
        "tools": listed_things(one for task in case.tasks for one in task.tools),
        "materials": listed_things(one for task in case.tasks for one in task.materials),
        "gate": gate_sentence(case.schedule, case.blocked),
        "when": schedule_sentences(case.schedule, job, case.blocked),
        "time": time_words(job),
        "checks": _checks(case),
        "slacks": _slacks(case),
        "rules": f"{RULES} {SLACK_AND_MARGIN}",
        "signed": by.name if by else "",
        "signed_on": day_text(by.on) if by and by.on else "",
        "signing": _signing(case),
        "count": count_words(setup, case.checks),
        "brakes": brake_caution(setup),
        "caution": CAUTION,
        "invented": INVENTED,
        "hours_invented": HOURS_INVENTED,
        "by": who_words(job.by),
    }


def _signing(case: Case) -> str:
    """What keeps a signature that is there from counting; "" for nothing."""
    if case.setup.job.signed is None or released(case.setup, case.checks, case.blocked):
        return ""
    return signed_text(case.setup, case.checks, case.blocked)


def _stops(case: Case) -> list[str]:
    """What has to be mended before any work."""
    return (_rejected(case) or list(case.comes_of_it)) if case.blocked else []


def _rejected(case: Case) -> list[str]:
    """What makes the bars unacceptable with everything done that is to be done."""
    return [one.words() for one in still_rejects(case.remarks, case.after_remarks)]


def _then(case: Case) -> Sequence[Remark]:
    """What is said with everything done that is to be done."""
    return case.remarks if case.after_remarks is None else case.after_remarks


def _cautions(case: Case) -> list[Remark]:
    """What else is to be minded; what is not acceptable is told apart."""
    return [one for one in grave(_then(case)) if one.judged.grade is not Grade.REJECT]


def _glance(case: Case) -> list[tuple[str, str]]:
    """The few figures that somebody asks for first: a term and its value."""
    bad = sum(not one.fits for one in case.findings)
    bill = case.money.bill(case.setup.job.by)
    told = [
        ("Lines to see to", f"{bad} of {len(case.findings)}"),
        ("To order", _count(case.order)),
        (f"Cost {who_words(bill.by)}", total_text(bill, case.money.currency)),
    ]
    if case.tasks:
        told.append((f"Work {who_words(bill.by)}", about_text(case.schedule.all_likely)))
    if case.schedule.all_here is not None and not case.blocked:
        last = case.schedule.all_here[1]
        told.append(("All parts here by", day_text(last, case.schedule.ordered)))
    return told


def _count(order: Order) -> str:
    """How many things there are to order."""
    count = len(order.items)
    if not count:
        return "not known yet" if order.waits else "nothing"
    return f"{count} thing{'s' * (count != 1)}"


def _line(finding: LineFinding, case: Case) -> dict[str, str]:
    unit = case.setup.unit
    remedy = case.taken.get(finding.line)
    sizes = [one for one in case.order.items if _is_line(one, finding.line)]
    after = {one.line: one for one in case.after or ()}.get(finding.line)
    changed = finding.line in case.taken
    return {
        "name": capital(finding.line),
        "verdict": str(finding.verdict),
        "tone": _TONES.get(finding.verdict, "bad"),
        "installed": number_text(finding.installed, unit),
        "window": window_text(finding, unit) if math.isfinite(finding.needed) else "–",
        "margin": _minus(margin_text(finding, unit)),
        "order": ", ".join(length_text(one, unit) for one in sizes),
        "done": done_text(remedy, unit) if changed else "",
        "after": _minus(margin_text(after, unit)) if changed and after is not None else "",
        "after_verdict": str(after.verdict) if changed and after is not None else "",
    }


def _is_line(item: OrderItem, line: str) -> bool:
    return item.group is Group.LINES and item.line == line and not math.isnan(item.length)


def _minus(text: str) -> str:
    return text.replace("-", "−")


def _change(case: Case, name: str) -> dict[str, str]:
    """One thing that must change, and why, for a customer."""
    setup, unit = case.setup, case.setup.unit
    finding = next(one for one in case.findings if one.line == name)
    items = [one for one in case.order.of(Group.LINES) if name in one.lines]
    return {
        "name": capital(name),
        "done": done_text(case.taken[name], unit),
        "why": sentence(finding, setup.line(name), unit, setup.machine),
        "price": _price_of(items, case) if items else "no parts",
    }


def _price_of(items: Sequence[OrderItem], case: Case) -> str:
    """What some of the things cost together, to the last digit: it has to add up with others."""
    known = [one.price for one in items if one.price is not None]
    if not known:
        return "not known"
    least, most = (sum(ends) for ends in zip(*known, strict=True))
    told = exact_text((least, most), case.order.currency)
    return f"{told} and more" if len(known) < len(items) else told


def _prices(case: Case) -> list[tuple[str, str, str]]:
    """What all parts are made of: of what, how many, low to high for all of these. What each line
    takes is told beside it, and here once together; small things of one kind are one row.
    """
    rows = []
    for group in Group:
        items = case.order.of(group)
        if group is Group.LINES and items:
            rows.append(("Parts for the lines, as above", "", _price_of(items, case)))
            continue
        alike: dict[tuple[str, str], list[OrderItem]] = {}
        for one in items:
            name = one.item if group is Group.ACCESSORIES else one.key
            alike.setdefault((name, one.each), []).append(one)
        for some in alike.values():
            name = item_name(some[0]) if len(some) == 1 else capital(some[0].what)
            together = replace(some[0], quantity=sum(one.quantity for one in some))
            rows.append((name, count_text(together), _price_of(some, case)))
    return [*rows, ("All parts", "", _price_of(case.order.items, case))] if rows else []


def _item(item: OrderItem, case: Case) -> dict[str, Any]:
    return {
        "name": item_name(item),
        "length": length_text(item, case.setup.unit),
        "count": count_text(item),
        "days": days_text(item.days),
        "price": amount_text(item.price, "").strip(),
        "own": item.own_price,
        "why": order_why(item),
        "text": specification(item, case.setup.unit),
        "here": item.key in case.setup.job.here,
    }


def _tasks(tasks: Sequence[Task], unit: str) -> list[dict[str, Any]]:
    found, row = [], ""
    for number, task in enumerate(tasks, 1):
        text = " ".join(task_texts(task, row, unit))
        row = task.row
        found.append(
            {
                "number": str(number),
                "title": task_title(task),
                "text": text,
                "home": hours_text(task.hours.home),
                "shop": hours_text(task.hours.shop),
                "gate": task.gate,
            }
        )
    return found


def _total(tasks: Sequence[Task]) -> dict[str, str]:
    total = sum((task.hours for task in tasks), Hours())
    return {"home": hours_text(total.home), "shop": hours_text(total.shop)}


def _checks(case: Case) -> list[dict[str, Any]]:
    """The check list, topic by topic; slack is a table of its own."""
    unit = case.setup.unit
    return [
        {
            "heading": capital(topic),
            "rows": [
                {
                    "title": row.title,
                    "texts": row.texts,
                    "places": row.places,
                    "note": row.tick.note,
                    "number": row.check.answer is Answer.NUMBER,
                    "text": row.check.answer is Answer.TEXT,
                    **_answer(row, unit),
                    "expected": _beside(row),
                }
                for row in rows
            ],
        }
        for topic, rows in check_rows(case.checks, case.setup, unit)
        if topic is not Topic.SLACK
    ]


def _slacks(case: Case) -> dict[str, Any] | None:
    """Slack to be found: a row for each line, a column for each place of the bars."""
    unit = case.setup.unit
    mine = dict(check_rows(case.checks, case.setup, unit)).get(Topic.SLACK)
    if not mine:
        return None
    found = dict.fromkeys(row.check.at for row in mine)
    places = [place for place in _SLACK_AT if place in found]
    places += [place for place in found if place not in _SLACK_AT]
    rows: dict[str, dict[str, dict[str, Any]]] = {}
    for row in mine:
        # the heading says that it is a prediction, so that a row is a line
        answer = _answer(row, unit)
        answer["expected"] = answer["expected"].removeprefix("predicted ")
        rows.setdefault(row.check.about, {})[row.check.at] = answer
    return {
        "heading": capital(Topic.SLACK),
        "places": [capital(place) for place in places],
        "how": " ".join(filter(None, (SLACK_HOW, why_text(mine[0].check), _noted(mine)))),
        "rows": [
            {"name": capital(name), "cells": [cells.get(place) for place in places]}
            for name, cells in rows.items()
        ],
    }


def _beside(row: CheckRow) -> str:
    """What stands beside a number: what it is expected to be, and what was noted."""
    noted = f"Note: {row.tick.note}" if row.tick.note else ""
    return "; ".join(filter(None, (row.expected, noted)))


def _noted(rows: Sequence[CheckRow]) -> str:
    """What was written beside checks whose cells have no room for it."""
    noted = [
        f"{capital(row.check.about)}, {row.check.at}: {row.tick.note}"
        for row in rows
        if row.tick.note
    ]
    return f"Noted: {'; '.join(noted)}." if noted else ""


def _answer(row: CheckRow, unit: str) -> dict[str, Any]:
    """What a check asks for and has."""
    return {
        "done": row.tick.done,
        "unit": unit if row.check.unit == "mm" else row.check.unit,
        "found": row.found,
        "expected": row.expected,
        "odd": row.odd,
    }
