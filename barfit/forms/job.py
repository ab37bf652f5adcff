"""The form of the job: who does it, when there is time for it, what an hour costs."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from barfit.catalogue import line_kinds
from barfit.edits import fresh_name
from barfit.forms.fields import Action, Field, Group, fields_of
from barfit.forms.terms import term
from barfit.model import By, Price, SellersSet, SetPart, Setup
from barfit.scenario.job import Amount, JobTable, SetPartTable
from barfit.scenario.values import Value, Words

_TIME = {
    By.HOME: ("start", "days", "hours", "closed"),
    By.SHOP: ("start", "shop_days", "shop_hours", "closed"),
}
_MONEY = ("currency", "shop_rate", "table_rate")

_USUAL_LONGER = 100.0  # mm over stock that a set is often offered with; to be typed over


def time_group(setup: Setup) -> Group:
    """When whoever does the job has time for it."""
    return Group("Time for it", _fields(setup, _TIME[setup.job.by]))


def money_group(setup: Setup) -> Group:
    """What money it is about, and what an hour costs."""
    return Group("Money", _fields(setup, _MONEY))


def _fields(setup: Setup, keys: tuple[str, ...]) -> tuple[Field, ...]:
    def change(key: str, value: Any) -> Setup:
        fields: dict[str, Any] = {key: () if key == "closed" and value is None else value}
        return replace(setup, job=replace(setup.job, **fields))

    fallbacks = {
        "start": "from today on",
        "closed": "none",
        "shop_rate": "as in the table of prices",
        "table_rate": "nothing is converted",
    }
    made = fields_of(JobTable, setup.job, change, form="job", keys=keys, fallbacks=fallbacks)
    # a list of closed days may be emptied
    return tuple(replace(one, optional=True) if one.key == "closed" else one for one in made)


def price_field(setup: Setup, item: str, label: str, table: str = "") -> Field:
    """What one thing costs here; left out, what the table of prices says: ``table`` in words."""
    own = next((one.range for one in setup.job.prices if one.item == item), None)

    def change(_key: str, value: Any) -> Setup:
        others = tuple(one for one in setup.job.prices if one.item != item)
        new = () if value is None else (Price(item, value),)
        return replace(setup, job=replace(setup.job, prices=(*others, *new)))

    return Field(
        key=item,
        label=label[:1].upper() + label[1:],
        tip="What it costs where you buy: one number, or the least and the most, like 60 to 90.",
        value=own,
        reader=Amount(),
        change=change,
        step=f"Price of {label}",
        optional=True,
        fallback=f"table: {table}" if table else "as in the table of prices",
    )


def set_groups(setup: Setup) -> tuple[Group, ...]:
    """Sellers' sets: what each costs and contains, to be held against what is needed."""
    found: list[Group] = []
    for at, one in enumerate(setup.job.sets):
        found.append(_set_group(setup, at, one))
        found += [_part_group(setup, at, number) for number in range(len(one.parts))]
    return tuple(found)


def add_set(setup: Setup) -> Setup:
    """One more set, under a name of its own, with one part of the first line's kind."""
    name = fresh_name("set", [one.name for one in setup.job.sets])
    return _with_sets(setup, (*setup.job.sets, SellersSet(name, (0.0, 0.0), (_next(setup, ()),))))


def _next(setup: Setup, parts: tuple[SetPart, ...]) -> SetPart:
    """What is likely the next part of a set that has these: of the first kind that it lacks, as
    much longer as the last.
    """
    kinds = dict.fromkeys(line.kind for line in setup.lines)
    has = {part.kind for part in parts}
    kind = next((kind for kind in kinds if kind not in has), setup.lines[0].kind)
    longer = parts[-1].longer if parts else None
    return SetPart(kind, longer=_USUAL_LONGER if longer is None else longer)


def _set_group(setup: Setup, at: int, one: SellersSet) -> Group:
    def change(key: str, value: Any) -> Setup:
        if key == "name" and any(value == other.name for other in setup.job.sets):
            raise ValueError(f"there is a set named '{value}' already")
        return _with_set(setup, at, replace(one, **{key: value}))

    def longer() -> Setup:
        part = _next(setup, one.parts)
        return _with_set(setup, at, replace(one, parts=(*one.parts, part)))

    def without() -> Setup:
        return _with_sets(setup, tuple(other for other in setup.job.sets if other is not one))

    def field(key: str, reader: Value) -> Field:
        name, tip = term(key, "set")
        step = f"{name} of set '{one.name}'"
        return Field(key, name, tip, getattr(one, key), reader, change, step, key == "note")

    return Group(
        heading=f"Set '{one.name}'",
        fields=(
            field("name", Words(filled=True)),
            field("price", Amount()),
            field("note", Words()),
        ),
        actions=(
            Action("Add a line", f"One more line in set '{one.name}'", longer),
            Action("Delete set", f"Take set '{one.name}' out", without),
        ),
    )


def _part_group(setup: Setup, at: int, number: int) -> Group:
    one = setup.job.sets[at]
    part = one.parts[number]
    kinds = {name: kind.label for name, kind in line_kinds().items()}
    lines = ["", *(line.name for line in setup.lines if line.kind == part.kind)]

    def put(new: SetPart | None) -> Setup:
        parts = [*one.parts]
        parts[number : number + 1] = [] if new is None else [new]
        return _with_set(setup, at, replace(one, parts=tuple(parts)))

    def change(key: str, value: Any) -> Setup:
        if key == "kind":
            return put(replace(part, kind=value, line=""))
        if key in ("length", "longer"):  # a set gives one or the other
            if value is None:
                raise ValueError("give its length, or how much longer than stock it is")
            return put(replace(part, **{"length": None, "longer": None, key: value}))
        return put(replace(part, **{key: value}))

    label, tip = term("kind", "set")
    line_label, line_tip = term("line", "set")
    step = f"Line {number + 1} of set '{one.name}'"
    fields = (
        Field(
            "kind", label, tip, part.kind, Words(), change, step, words=tuple(kinds), shown=kinds
        ),
        Field(
            "line",
            line_label,
            line_tip,
            part.line,
            Words(),
            change,
            step,
            words=tuple(lines),
            shown={"": "any of this kind"},
        ),
        *fields_of(SetPartTable, part, change, form="set", keys=("length", "longer", "quantity")),
    )
    drop = Action("Delete", f"Take this line out of set '{one.name}'", lambda: put(None))
    return Group(f"Line {number + 1} of set '{one.name}'", fields, actions=(drop,))


def _with_set(setup: Setup, at: int, one: SellersSet) -> Setup:
    sets = [*setup.job.sets]
    sets[at] = one
    return _with_sets(setup, tuple(sets))


def _with_sets(setup: Setup, sets: tuple[SellersSet, ...]) -> Setup:
    return replace(setup, job=replace(setup.job, sets=sets))
