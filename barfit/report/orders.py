"""An order in words: for the screen, the clipboard, a table for spreadsheets, other programs."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable
from typing import Any

from barfit.analysis import LineFinding, Verdict
from barfit.catalogue import line_kinds
from barfit.model import Setup
from barfit.remedies import Remedy
from barfit.report.money import BARS_FIRST, INVENTED, amount_text, days_text, range_values, sum_text
from barfit.report.phrases import capital, listed
from barfit.report.plain import degrees, known
from barfit.report.remedy_labels import label
from barfit.units import format_angle, format_length
from barfit.workshop import Group, LookUp, Order, OrderItem, Why
from barfit.workshop.orders import HoseEnd
from barfit.workshop.together import Together

ORDER_FORMAT = 1
HEADINGS = {
    Group.BARS: "Bars",
    Group.LINES: "Lines",
    Group.ACCESSORIES: "With them, in no set of lines",
}
COLUMNS = (  # of the table for spreadsheets
    *("file", "group", "what", "for", "quantity", "each", "length_mm", "longer_mm"),
    *("specification", "why", "look_up", "days_least", "days_most"),
    *("price_least", "price_most", "currency", "own_price", "here", "key"),
)

NOT_YET = "an estimate, not to be ordered before it is measured again"
_LOOK_UP = {
    LookUp.FLUID: (
        "Kind of fluid: from the manual, or off the reservoir's cap; never mix silicone with glycol"
    ),
    LookUp.WASHERS: (
        "Size of the washers: from the manual, or off the bolts; old ones are never used again"
    ),
    LookUp.INNER: (
        "Free length of the inner: measured on the old one, adjusters in the middle of their "
        "travel; both numbers are ordered"
    ),
    LookUp.ENDS: "Ends, elbows and nipples: as on the old one",
    LookUp.EYES: "Angle of the eyes: off the old hose",
    LookUp.CLOCKING: "Clocking of the eyes: marked on the machine, with the hose in place",
    LookUp.WIRES: "Gauge and colour of every wire: as in the loom",
    LookUp.PLUG: (
        "Plug and pins: as on the machine, with seals where that is sealed; take a picture of the "
        "pins first"
    ),
    LookUp.HOLE: (
        "Plug and hole: its own plug does not pass the hole it goes through, an added one may not "
        "either; measure both, or have the pins come loose, to be put in behind the hole"
    ),
    LookUp.CLAMP: "Clamp diameter: not given for the risers; measure bar and risers",
}


def item_name(item: OrderItem) -> str:
    """What a thing is, to begin a row with: "Clutch cable, next size sold"."""
    if item.group is Group.BARS:
        return f"{capital(item.what)}: {item.detail}"
    if item.why is Why.SPLICED:
        of = f" {item.detail}" if item.detail else ""
        return f"{capital(item.what)}{of}, for the {item.line}"
    if item.group is Group.LINES:
        sold = _sold(item)
        return f"{capital(item.line)}{', ' if sold else ''}{sold}"
    of = "" if item.detail in item.what else item.detail
    if item.why is Why.RUBS:
        of = ", ".join(item.lines)
    return f"{capital(item.what)}{f', {of}' if of else ''}"


def _sold(item: OrderItem) -> str:
    """How a line is sold, after its name."""
    if item.item.endswith("_extension"):
        return "plug-in extension"
    if LookUp.WIRES in item.look_up:
        whole = item.item.endswith("_lead_made_up")  # a branch of a harness is pinned anew
        return "a longer one with its own plug" if whole else "a longer one with new terminals"
    if item.made_up:
        return "made up to length"
    return "next size sold" if item.longer > 0.0 else "a shorter size sold"


def count_text(item: OrderItem) -> str:
    """How many: "2", "1.5 m", "as many as there are" where it cannot be told."""
    if math.isnan(item.quantity):
        return "by count"
    number = f"{item.quantity:g}"
    if item.each == "each":
        return number
    plural = "s" if item.each in ("pair", "bottle") and item.quantity != 1.0 else ""
    return f"{number} {item.each}{plural}"


def length_text(item: OrderItem, unit: str) -> str:
    """How long it is and how much longer than the one on the machine: "960 mm (+35)"; "" for
    what has no length.
    """
    if math.isnan(item.length):
        return ""
    if item.item.endswith("_extension"):
        return format_length(item.length, unit)
    more = format_length(item.longer, unit, signed=True, with_unit=False).replace("-", "−")
    return f"{format_length(item.length, unit)} ({more})"


def specification(item: OrderItem, unit: str) -> str:
    """All that is known of what to order, as a part of a list: lengths, ends, wires."""
    if math.isnan(item.length):
        return f"wires {listed(list(item.wires))}" if item.wires else ""
    if item.item.endswith("_extension"):
        return f"{format_length(item.length, unit)} long"
    by = format_length(abs(item.longer), unit)
    than = f"{by} {'longer' if item.longer > 0.0 else 'shorter'} than the one on the machine"
    if item.hose is not None:
        return "; ".join(filter(None, (_eye_to_eye(item, unit, than), *_hose_parts(item))))
    if LookUp.INNER in item.look_up:
        grows = "longer" if item.longer > 0.0 else "shorter"
        return f"sheath {format_length(item.length, unit)}, {than}; free inner {by} {grows} as well"
    return f"{format_length(item.length, unit)}, {than}"


def _eye_to_eye(item: OrderItem, unit: str, than: str) -> str:
    assert item.hose is not None
    banjos = item.hose.first.banjo + item.hose.second.banjo
    where = {2: "eye centre to eye centre", 0: "fitting to fitting"}.get(banjos, "over all")
    return f"{format_length(item.length, unit)} {where}, {than}"


def _hose_parts(item: OrderItem) -> Iterable[str]:
    hose = item.hose
    assert hose is not None
    yield f"{_end(hose.first)}, {_end(hose.second)}"
    if not math.isnan(hose.clocking):
        turned = format_angle(abs(hose.clocking))
        way = "clockwise" if hose.clocking > 0.0 else "anticlockwise"
        second = hose.second.part
        yield (
            f"eye at the {second} turned {turned} {way} against the other, seen from the "
            f"{hose.first.part} (predicted: check it on the machine)"
        )
    if hose.construction:
        yield hose.construction


def _end(end: HoseEnd) -> str:
    if not end.banjo:
        return f"union at the {end.part}"
    if math.isnan(end.angle):
        return f"banjo at the {end.part}"
    sold = format_angle(end.sold)
    straight = "straight" if end.sold == 0.0 else f"bent {sold}"
    off = abs(abs(end.angle) - end.sold)
    asks = f" ({format_angle(abs(end.angle))} would suit)" if off > math.radians(2.0) else ""
    return f"banjo {straight}{asks} at the {end.part}"


def why_text(item: OrderItem) -> str:
    """Why it is ordered, as a sentence without its full stop."""
    return f"{capital(item.why)}; {NOT_YET}" if item.unsure else capital(item.why)


def look_up_sentences(order: Order) -> list[str]:
    """What is left open, each with all that it is about."""
    about: dict[LookUp, list[str]] = {}
    for item in order.items:
        for one in item.look_up:
            name = item.line or item.detail or item.what
            if name not in about.setdefault(one, []):
                about[one].append(name)
    return [f"{_LOOK_UP[one]} ({', '.join(about[one])})." for one in LookUp if one in about]


def open_sentences(order: Order, unit: str) -> list[str]:
    """What is not ordered although something is needed."""
    said = []
    if order.waits:
        said.append(
            f"Bars at least {format_length(order.lower_by, unit)} lower are chosen. {BARS_FIRST} "
            "Every line is then looked at again; what was chosen for the others is kept."
        )
    if order.open_lines:
        which = listed([f"the {name}" for name in order.open_lines])
        said.append(
            f"Nothing that was tried is enough for {which}: nothing is ordered for "
            f"{'it' if len(order.open_lines) == 1 else 'them'}. Take other bars or another way."
        )
    outside = [item.line for item in order.items if item.outside_window]
    if outside:
        which = listed([f"the {name}" for name in outside])
        said.append(f"Longer than is sensible, because no size between is sold: {which}.")
    return said


def nothing_sentence(order: Order) -> str:
    """That there is nothing to order; "" where there is, or where what is needed is not known."""
    wanted = order.items or order.waits or order.open_lines
    return "" if wanted else "Nothing has to be ordered."


def clash_sentences(found: Together) -> list[str]:
    """What of all that is to be done cannot be done together."""
    said = [
        f"What is done about the {name} contradicts what is done about another line: choose "
        "something else for one of them."
        for name in found.clash
    ]
    if found.problems:
        said.append(
            f"All of it together cannot be done: {found.problems[0]} Choose something else for one "
            "of the lines."
        )
    return said


def done_sentences(findings: Iterable[LineFinding]) -> list[str]:
    """What comes of everything at once, as judged with it done."""
    said, found = [], list(findings)
    by_verdict: dict[Verdict, list[str]] = {}
    for one in found:
        if not one.fits:
            by_verdict.setdefault(one.verdict, []).append(f"the {one.line}")
    unsure, rub = (by_verdict.pop(one, []) for one in (Verdict.UNCERTAIN, Verdict.RUBS))
    wrong = [f"{listed(names)} ({verdict})" for verdict, names in by_verdict.items()]
    if wrong:
        said.append(f"With all of this done every line fits but {listed(wrong)}.")
    elif not unsure:
        said.append(f"With all of this done every line {'is long enough' if rub else 'fits'}.")
    else:
        others = "every other line is long enough; " if len(unsure) < len(found) else ""
        fit = "fits" if len(unsure) == 1 else "fit"
        said.append(
            f"With all of this done {others}whether {listed(unsure)} {fit} is not sure: measure "
            "again before ordering."
        )
    if wrong and unsure:
        said.append(f"Not sure of {listed(unsure)}: measure again before ordering.")
    if rub:
        said.append(f"Then {listed(rub)} still rub{'s' * (len(rub) == 1)}: sleeve it there.")
    return said


def measure_sentence(items: Iterable[OrderItem]) -> str:
    """What is measured again before it is ordered; "" where every length is sure."""
    unsure = [one for one in items if one.unsure]
    if not unsure:
        return ""
    again = list(dict.fromkeys(f"the {thing}" for one in unsure for thing in one.measure))
    which = list(dict.fromkeys(f"the {one.line}" for one in unsure))
    lengths = "its length is an estimate" if len(which) == 1 else "their lengths are estimates"
    return (
        f"Before ordering {listed(which)} measure again: {listed(again or which)}. Then look "
        f"again: until then {lengths}."
    )


def slowest_sentence(order: Order) -> str:
    """What the machine waits for; "" where nothing takes a day."""
    slowest = order.slowest
    if not slowest:
        return ""
    least, most = slowest[0].days
    which = listed([f"the {item.line or item.what}" for item in slowest[:3]])
    others = f" and {len(slowest) - 3} more" if len(slowest) > 3 else ""
    return (
        f"Slowest to come: {which}{others} ({days_text((least, most))}). Do not begin before "
        "everything is here."
    )


def done_text(remedy: Remedy | None, unit: str) -> str:
    """What is done about a line, in a few words, and how sure that is."""
    if remedy is None:
        return "Nothing found that is enough"
    sure = ""
    if not remedy.cures:
        sure = ", not surely enough" if remedy.may_cure else ", not enough"
        if remedy.may_cure and remedy.longer:
            sure = f": {NOT_YET}"
    if remedy.verdict is Verdict.RUBS and remedy.may_cure:
        sure = ", with a sleeve where it rubs"
    return f"{label(remedy, unit)}{sure}"


# --- as text, as a table for spreadsheets, as plain values ----------------------------------------


def order_text(setup: Setup, order: Order) -> str:
    """The order as plain text, as it may be pasted into a letter: a line for each thing."""
    unit = setup.unit
    lines = [f"Order list: {setup.title} ({setup.machine.name})", ""]
    for group in Group:
        items = order.of(group)
        if not items:
            continue
        lines.append(HEADINGS[group])
        for item in items:
            told = [f"- {count_text(item)} × {item_name(item)}"]
            told += filter(None, [specification(item, unit), NOT_YET if item.unsure else ""])
            price = f"{amount_text(item.price, order.currency)}, {days_text(item.days)}"
            lines.append(f"{'; '.join(told)} [{price}]")
        lines.append("")
    looked_up = look_up_sentences(order)
    if looked_up:
        lines += ["Look up before ordering", *(f"- {text}" for text in looked_up), ""]
    lines += open_sentences(order, unit)
    lines += [f"Together {sum_text(order.price, order.currency, bool(order.unpriced))}.", INVENTED]
    return "\n".join(lines) + "\n"


def order_csv(orders: Iterable[tuple[str, Setup, Order]]) -> str:
    """Orders as a table for spreadsheets (RFC 4180, lines end in CR LF), each under the name of its
    file: a row for each thing, lengths in mm, numbers with a decimal point.
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(COLUMNS)
    for file, setup, order in orders:
        for item in order.items:
            price = item.price or ("", "")
            table.writerow(
                [
                    *(file, str(item.group), item_name(item), ", ".join(item.lines)),
                    *(_plain(item.quantity), item.each),
                    *(_plain(item.length), _plain(item.longer)),
                    specification(item, setup.unit),
                    why_text(item),
                    "; ".join(_LOOK_UP[one] for one in item.look_up),
                    *(_plain(end) for end in item.days),
                    *(end if end == "" else _plain(float(end)) for end in price),
                    order.currency,
                    "yes" if item.own_price else "no",
                    "yes" if item.key in setup.job.here else "no",
                    item.key,
                ]
            )
    return out.getvalue()


def order_values(setup: Setup, order: Order) -> dict[str, Any]:
    """An order as plain values for JSON. Lengths mm, angles degrees; None for what is not known."""
    return {
        "currency": order.currency,
        "items": [_values(item, setup) for item in order.items],
        "price": None if order.waits else range_values(order.price),
        "nothing_helps": list(order.open_lines),
        "lower_by": known(order.lower_by),
        "look_up": look_up_sentences(order),
    }


def _values(item: OrderItem, setup: Setup) -> dict[str, Any]:
    kinds = {line.name: line.kind for line in setup.lines}
    kind = kinds.get(item.line)
    return {
        "key": item.key,
        "group": str(item.group),
        "item": item.item,
        "what": item_name(item),
        "specification": specification(item, setup.unit) or None,
        "lines": list(item.lines),
        "family": line_kinds()[kind].family if kind else None,
        "quantity": known(item.quantity),
        "each": item.each,
        "length": known(item.length),
        "longer": known(item.longer),
        "made_up": item.made_up,
        "outside_window": item.outside_window,
        "measure_first": item.unsure,
        "detail": item.detail or None,
        "wires": list(item.wires),
        "ends": [] if item.hose is None else [_end_values(e) for e in item.hose.ends],
        "clocking": None if item.hose is None else degrees(item.hose.clocking),
        "why": why_text(item),
        "look_up": [str(one) for one in item.look_up],
        "days": range_values(item.days),
        "price": range_values(item.price),
        "own_price": item.own_price,
        "here": item.key in setup.job.here,
    }


def _end_values(end: HoseEnd) -> dict[str, Any]:
    return {
        "part": end.part,
        "banjo": end.banjo,
        "eye_angle": degrees(end.angle),
        "eye_sold": degrees(end.sold),
    }


def _plain(number: float) -> str:
    """A number for a spreadsheet; "" where not known."""
    if math.isnan(number):
        return ""
    return f"{number:.2f}".rstrip("0").rstrip(".")
