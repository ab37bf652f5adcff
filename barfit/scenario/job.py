"""``[job]``: what was decided and done about fitting the new bars."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Any

from barfit.catalogue import line_kinds, price_table
from barfit.model import (
    By,
    Choice,
    Job,
    Price,
    Range,
    SellersSet,
    SetPart,
    Signature,
    Tick,
)
from barfit.scenario import values
from barfit.scenario.problems import did_you_mean
from barfit.scenario.reader import Parts, Reader
from barfit.scenario.schema import Table
from barfit.scenario.values import Length, Share, Value, Words, YesOrNo, shown
from barfit.scenario.wires import Whole
from barfit.units import length_literal

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
DEAREST = 10_000_000.0  # of any currency: some of them need large numbers
_Name = Annotated[str, Words(filled=True)]


@dataclass(frozen=True)
class Amount(Value):
    """A price or a rate: one number, or the least and the most, given as ``both`` says."""

    both: str = "[least, most]"

    def read(self, value: object, unit: str) -> Range:
        """See the class."""
        ends = value if isinstance(value, list) else [value, value]
        if len(ends) != 2:
            raise ValueError(f"{shown(value)} is not a price; give a number, or {self.both}")
        anything = Share(-1e300, 1e300, f"give a plain number, or {self.both}")
        least, most = (anything.read(end, unit) for end in ends)
        if min(least, most) < 0.0 or max(least, most) > DEAREST:
            raise ValueError(f"{shown(value)} is outside 0 to 10 000 000")
        if least > most:
            raise ValueError(f"{shown(value)} is the wrong way round; give {self.both}")
        return (least, most)


@dataclass(frozen=True)
class Day(Value):
    """A calendar date."""

    def read(self, value: object, unit: str) -> date:
        """See the class."""
        if isinstance(value, date) and not isinstance(value, datetime):
            return value
        try:
            return date.fromisoformat(value)  # type: ignore[arg-type]
        except (TypeError, ValueError):
            told = f"{shown(value)} is not a date"
            raise ValueError(f"{told}; write year, month and day, like 2027-03-14") from None


@dataclass(frozen=True)
class Currency(Value):
    """A currency by its three letters (ISO 4217)."""

    def read(self, value: object, unit: str) -> str:
        """See the class."""
        if isinstance(value, str) and len(value) == 3 and value.isascii() and value.isalpha():
            return value.upper()
        told = f"{shown(value)} is not a currency"
        raise ValueError(f"{told}; write its three letters, like 'USD' or 'EUR'")


@dataclass(frozen=True)
class Weekdays(Value):
    """Days of the week, by their English names; at least one, each once, 0 is Monday."""

    def read(self, value: object, unit: str) -> tuple[int, ...]:
        """See the class."""
        if not isinstance(value, list) or not value:
            told = f"{shown(value)} is not a list of days"
            raise ValueError(f"{told}; write like ['Saturday', 'Sunday']")
        found = []
        for one in value:
            name = one.strip().capitalize() if isinstance(one, str) else ""
            if name not in DAYS:
                raise ValueError(f"{shown(one)} is not a day; {did_you_mean(str(one), DAYS)}")
            if DAYS.index(name) in found:
                raise ValueError(f"{name} is there twice")
            found.append(DAYS.index(name))
        return tuple(sorted(found))


@dataclass(frozen=True)
class ClosedDays(Value):
    """Days and spans of days, ascending: dates, or words like "2027-12-24 to 2028-01-02"."""

    def read(self, value: object, unit: str) -> tuple[tuple[date, date], ...]:
        """See the class."""
        if not isinstance(value, list):
            told = f"{shown(value)} is not a list of days"
            raise ValueError(f"{told}; write like [2027-12-24, '2027-12-27 to 2028-01-02']")
        found = []
        for one in value:
            ends = one.split(" to ") if isinstance(one, str) else [one]
            if len(ends) > 2:
                told = f"{shown(one)} is not a span of days"
                raise ValueError(
                    f"{told}; write its first and its last, '2027-12-27 to 2028-01-02'"
                )
            first, last = (
                Day().read(end.strip() if isinstance(end, str) else end, unit)
                for end in (ends[0], ends[-1])
            )
            if last < first:
                raise ValueError(f"{shown(one)} ends before it begins; write the earlier day first")
            found.append((first, last))
        return tuple(sorted(found))


def closed_text(span: tuple[date, date]) -> str:
    """One of the closed days as it is typed: "2027-12-24", "2027-12-27 to 2028-01-02"."""
    return " to ".join(dict.fromkeys(day.isoformat() for day in span))


class JobTable(Table):
    """``[job]`` without its sub-tables."""

    currency: Annotated[str, Currency()] = Job.currency
    table_rate: Annotated[float | None, Share(1e-6, 1e6)] = None
    by: Annotated[By, values.Choice(By)] = Job.by
    shop_rate: Annotated[Range | None, Amount()] = None
    start: Annotated[date | None, Day()] = None
    days: Annotated[tuple[int, ...], Weekdays()] = Job.days
    hours: Annotated[float, Share(0.5, 24.0, "give hours, as a plain number")] = Job.hours
    shop_days: Annotated[tuple[int, ...], Weekdays()] = Job.shop_days
    shop_hours: Annotated[float, Share(0.5, 24.0, "give hours, as a plain number")] = Job.shop_hours
    closed: Annotated[tuple[tuple[date, date], ...], ClosedDays()] = ()


class SetTable(Table):
    """One of ``[job.sets]`` without its parts."""

    price: Annotated[Range, Amount()]
    note: Annotated[str, Words()] = ""


class SetPartTable(Table):
    """One of a set's parts."""

    kind: _Name
    line: _Name = ""
    length: Annotated[float | None, Length(10, 5000)] = None
    longer: Annotated[float | None, Length(-2000, 2000)] = None
    quantity: Annotated[int, Whole(1, 100)] = 1


class TickTable(Table):
    """One of ``[job.checks]``."""

    done: Annotated[bool, YesOrNo()] = False
    note: Annotated[str, Words()] = ""
    found: Annotated[float | None, Share(-1e6, 1e6)] = None


class SignedTable(Table):
    """``signed``: who signed the check list."""

    name: _Name
    on: Annotated[date | None, Day()] = None
    of: Annotated[str, Words()] = ""


def read_job(raw: Any, kinds: dict[str, Any], reader: Reader) -> Job | None:
    """The job, or None after telling what is wrong with it.

    ``kinds`` are the kinds of the file's lines by their names.
    """
    place: Parts = ("job",)
    own = reader.table(
        raw, JobTable, place, others=("choices", "prices", "sets", "here", "checks", "signed")
    )
    if not isinstance(raw, dict):
        return None
    choices = tuple(
        Choice(line, remedy)
        for line, remedy in _sub(raw, "choices", reader).items()
        if _is_line(line, kinds, ("job", "choices"), reader)
        and _is_name(remedy, ("job", "choices", line), reader)
    )
    signed = raw.get("signed")
    signature = None if signed is None else reader.table(signed, SignedTable, (*place, "signed"))
    parts: dict[str, Any] = {
        "choices": choices,
        "prices": _prices(raw, reader),
        "sets": _sets(raw, kinds, reader),
        "here": _here(raw, reader),
        "ticks": _ticks(raw, reader),
        "signed": Signature(**signature.model_dump()) if signature else None,
    }
    return Job(**own.model_dump(), **parts) if own else None


def job_table(job: Job, unit: str, row: Callable[..., dict[str, Any]]) -> dict[str, Any]:
    """The table as it is written, lengths in ``unit``; what is as by default is left out.

    ``row`` makes a table that is written on one line.
    """
    found: dict[str, Any] = {}
    if job.currency != Job.currency:
        found["currency"] = job.currency
    if job.table_rate is not None:
        found["table_rate"] = _number(job.table_rate)
    if job.by != Job.by:
        found["by"] = str(job.by)
    if job.shop_rate is not None:
        found["shop_rate"] = _amount(job.shop_rate)
    if job.start is not None:
        found["start"] = job.start
    if job.days != Job.days:
        found["days"] = [DAYS[day] for day in job.days]
    if job.hours != Job.hours:
        found["hours"] = _number(job.hours)
    if job.shop_days != Job.shop_days:
        found["shop_days"] = [DAYS[day] for day in job.shop_days]
    if job.shop_hours != Job.shop_hours:
        found["shop_hours"] = _number(job.shop_hours)
    if job.closed:
        found["closed"] = [one[0] if one[0] == one[1] else closed_text(one) for one in job.closed]
    if job.here:
        found["here"] = list(job.here)
    if job.signed is not None:
        on = {} if job.signed.on is None else {"on": job.signed.on}
        of = {"of": job.signed.of} if job.signed.of else {}
        found["signed"] = row(name=job.signed.name, **on, **of)
    if job.choices:
        found["choices"] = {one.line: one.remedy for one in job.choices}
    if job.prices:
        found["prices"] = {one.item: _amount(one.range) for one in job.prices}
    if job.ticks:
        found["checks"] = {one.key: row(_tick(one)) for one in job.ticks}
    if job.sets:
        found["sets"] = {
            one.name: {
                "price": _amount(one.price),
                **({"note": one.note} if one.note else {}),
                **({"parts": [row(_part(part, unit)) for part in one.parts]} if one.parts else {}),
            }
            for one in job.sets
        }
    return found


def _sub(raw: dict[str, Any], key: str, reader: Reader) -> dict[str, Any]:
    """A sub-table that may be left out; empty after telling what is wrong with it."""
    table = raw.get(key, {})
    if isinstance(table, dict):
        return table
    reader.tell(("job", key), f"{shown(table)} is not a table of keys")
    return {}


def _is_line(name: str, kinds: dict[str, Any], place: Parts, reader: Reader) -> bool:
    if name not in kinds:
        reader.tell(place, f"'{name}' is not a line of this file", did_you_mean(name, kinds))
    return name in kinds


def _is_name(value: object, place: Parts, reader: Reader) -> bool:
    try:
        Words(filled=True).read(value, reader.unit)
    except ValueError as error:
        message, _, hint = str(error).partition("; ")
        reader.tell(place, message, hint)
        return False
    return True


def _prices(raw: dict[str, Any], reader: Reader) -> tuple[Price, ...]:
    table = _sub(raw, "prices", reader)
    known = price_table().items
    reader.known_only(table, known, ("job", "prices"))
    found = []
    for item, value in table.items():
        try:
            found.append(Price(item, Amount().read(value, reader.unit)))
        except ValueError as error:
            message, _, hint = str(error).partition("; ")
            reader.tell(("job", "prices", item), message, hint)
    return tuple(found)


def _sets(raw: dict[str, Any], kinds: dict[str, Any], reader: Reader) -> tuple[SellersSet, ...]:
    found = []
    for name, told in _sub(raw, "sets", reader).items():
        place: Parts = ("job", "sets", name)
        if not _is_name(name, ("job", "sets"), reader):
            continue
        own = reader.table(told, SetTable, place, others=("parts",))
        rows = told.get("parts", []) if isinstance(told, dict) else []
        if not isinstance(rows, list):
            reader.tell((*place, "parts"), f"{shown(rows)} is not a list of rows")
            rows = []
        parts = [
            _read_part(row, kinds, (*place, "parts", index), reader)
            for index, row in enumerate(rows)
        ]
        if own is not None:
            known = tuple(part for part in parts if part)
            found.append(SellersSet(name, own.price, known, own.note))
    return tuple(found)


def _read_part(row: Any, kinds: dict[str, Any], place: Parts, reader: Reader) -> SetPart | None:
    own = reader.table(row, SetPartTable, place)
    if own is None:
        return None
    right = True
    if own.kind not in line_kinds():
        hint = did_you_mean(own.kind, line_kinds())
        reader.tell((*place, "kind"), f"'{own.kind}' is not a kind of line", hint)
        right = False
    elif own.line and _is_line(own.line, kinds, (*place, "line"), reader):
        kind = kinds[own.line]
        if kind != own.kind:
            reader.tell((*place, "line"), f"'{own.line}' is {shown(kind)}, not '{own.kind}'")
            right = False
    elif own.line:
        right = False
    if (own.length is None) == (own.longer is None):
        hint = "give 'length', or 'longer' for so much over the stock line's"
        reader.tell(place, "needs one length", hint)
        right = False
    return SetPart(**own.model_dump()) if right else None


def _here(raw: dict[str, Any], reader: Reader) -> tuple[str, ...]:
    keys = raw.get("here", [])
    if not isinstance(keys, list):
        reader.tell(("job", "here"), f"{shown(keys)} is not a list of ordered parts")
        return ()
    found: list[str] = []
    for index, key in enumerate(keys):
        if not _is_name(key, ("job", "here", index), reader):
            continue
        if key in found:
            reader.tell(("job", "here", index), f"{shown(key)} is there twice")
        else:
            found.append(key)
    return tuple(found)


def _ticks(raw: dict[str, Any], reader: Reader) -> tuple[Tick, ...]:
    found = []
    for key, told in _sub(raw, "checks", reader).items():
        own = reader.table(told, TickTable, ("job", "checks", key))
        if own is not None and _is_name(key, ("job", "checks"), reader):
            found.append(Tick(key, **own.model_dump()))
    return tuple(found)


def _part(part: SetPart, unit: str) -> dict[str, Any]:
    row: dict[str, Any] = {"kind": part.kind}
    if part.line:
        row["line"] = part.line
    for key in ("length", "longer"):
        if getattr(part, key) is not None:
            row[key] = length_literal(getattr(part, key), unit)
    if part.quantity != 1:
        row["quantity"] = part.quantity
    return row


def _tick(tick: Tick) -> dict[str, Any]:
    row: dict[str, Any] = {"done": tick.done}
    if tick.note:
        row["note"] = tick.note
    if tick.found is not None:
        row["found"] = _number(tick.found)
    return row


def _amount(given: Range) -> Any:
    least, most = map(_number, given)
    return least if least == most else [least, most]


def _number(value: float) -> float:
    """A whole number without its decimal point."""
    return int(value) if float(value).is_integer() else value
