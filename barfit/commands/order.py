"""`barfit order`: what to order, what it costs, and sellers' sets held against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Any

import typer
from rich import box
from rich.console import Console
from rich.table import Table

from barfit.commands.many import answer_each
from barfit.commands.shared import (
    AsJson,
    Files,
    OfFile,
    Unusable,
    Worked,
    output,
    rejected_sentences,
    say,
    work_out,
    writable,
)
from barfit.model import By, Setup
from barfit.report.choices import choice_sentences
from barfit.report.files import not_written
from barfit.report.money import (
    INVENTED,
    amount_text,
    days_text,
    money_rows,
    money_sentences,
    money_values,
    total_text,
    who_words,
)
from barfit.report.orders import (
    HEADINGS,
    ORDER_FORMAT,
    clash_sentences,
    count_text,
    done_sentences,
    done_text,
    item_name,
    length_text,
    look_up_sentences,
    nothing_sentence,
    open_sentences,
    order_csv,
    order_values,
    slowest_sentence,
    specification,
    why_text,
)
from barfit.report.phrases import capital
from barfit.report.sentences import CAUTION
from barfit.report.sets import set_sentences, set_values
from barfit.workshop import Group, Order
from barfit.workshop import order as ordered
from barfit.workshop.money import Money, money
from barfit.workshop.sets import SetFit, compare_sets
from barfit.workshop.tasks import labour, tasks


@dataclass(frozen=True)
class Bought(OfFile):
    """All of one file: what to order, what it costs, and the sets."""

    money: Money
    sets: tuple[SetFit, ...]


def order(
    files: Files,
    as_json: AsJson = False,
    csv: Annotated[
        str | None,
        typer.Option("--csv", metavar="FILE", help="Write the list as a table for spreadsheets."),
    ] = None,
    by: Annotated[
        By | None,
        typer.Option("--by", help="Who does the work, for this time. Default: as the file says."),
    ] = None,
) -> int:
    """List what to order so that every line fits, with prices, and hold sellers' sets against it.

    What is done about each line is the best that cures it, or what the file's [job.choices] say.
    Lengths are those that can be bought; what the manual or the old part has to tell is left open
    and said so. Prices are ranges from a table of invented ones, or yours from [job.prices]; the
    sets are those in [job.sets].

    Of one file all is shown; of several, or a folder, one line each. Lengths are in the file's
    unit, mm or inches; in the --csv table in mm, as in JSON.

    \b
    Examples:
      barfit order my-bike.toml
      barfit order my-bike.toml --by home --csv list.csv
      barfit order garage/ --csv all.csv

    \b
    Exit status, of several files the worst:
      0  every line fits as it is
      1  some line does not, or the bars cannot be used as they are
      2  a file or an option cannot be used, or nothing can be written there
    """
    if csv is not None:
        writable(Path(csv), "the table")
    status, found = answer_each(
        files,
        as_json,
        lambda file, setup, label: _bought(file, setup, by, label),
        _values,
        lambda one: _print(output(), one),
        summary_line,
    )
    if csv is not None:
        _write(csv, found)
    return status


def _bought(file: str, setup: Setup, by: By | None, label: str) -> Bought:
    if by is not None:
        setup = replace(setup, job=replace(setup.job, by=by))
    worked = work_out(setup, label)
    found = worked.checked.findings
    listed = ordered(setup, worked.remedies, found, worked.as_is.trade.hydraulics)
    work = labour(tasks(setup, worked.taken, items=listed.items))
    return Bought(
        file=file,
        worked=worked,
        order=listed,
        money=money(listed, work, setup.job),
        sets=compare_sets(setup, worked.remedies, found, listed),
    )


def _write(target: str, found: Sequence[Bought]) -> None:
    text = order_csv((one.file, one.setup, one.order) for one in found)
    try:
        Path(target).write_bytes(text.encode("utf-8"))
    except OSError as error:
        raise Unusable(not_written(target, error)) from None
    say(f"Wrote {target}.")


# --- what is shown -------------------------------------------------------------------------------


def summary_line(bought: Bought) -> str:
    """One file in a line."""
    listed, bill = bought.order, bought.money.bill(bought.setup.job.by)
    if not listed.items:
        why = " ".join(open_sentences(listed, bought.setup.unit))
        return f"{bought.file}: {why or 'nothing to order'}"
    count = len(listed.items)
    told = [f"{count} thing{'s' * (count > 1)} to order, {who_words(bill.by)} "]
    told[0] += total_text(bill, listed.currency)
    if listed.slowest:
        slowest = listed.slowest[0]
        told.append(f"slowest {slowest.line or slowest.what}, {days_text(slowest.days)}")
    if listed.open_lines:
        told.append(f"nothing found for {', '.join(listed.open_lines)}")
    return f"{bought.file}: {'; '.join(told)}"


def _print(console: Console, bought: Bought) -> None:
    setup, listed, unit = bought.setup, bought.order, bought.setup.unit

    def tell(*texts: str) -> None:
        for text in texts:
            console.print(text, highlight=False, markup=False, soft_wrap=not console.is_terminal)

    tell(f"{setup.machine.name}: what to order for {setup.new.title}")
    rejects = rejected_sentences(bought.worked)
    if rejects:
        tell("", "Not acceptable whatever is ordered; mend that first:", *rejects)
    if bought.worked.taken:
        console.print(_decision_table(bought.worked))
        tell(*choice_sentences(setup, bought.worked.remedies))
        tell("To have another done, name its key in [job.choices]; barfit remedies tells of all.")
    tell(*_done(bought.worked))
    if not listed.items:
        tell(*filter(None, [nothing_sentence(listed)]), *open_sentences(listed, unit), CAUTION)
        return
    console.print(_order_table(listed, unit))
    details = [
        f"{item_name(item)}: {text}."
        for item in listed.items
        if (text := specification(item, unit))
    ]
    if details:
        tell("In full", *(f"  {text}" for text in details), "")
    if looked_up := look_up_sentences(listed):
        tell("Look up before ordering", *(f"  {text}" for text in looked_up), "")
    tell(*open_sentences(listed, unit))
    console.print(_money_table(bought.money))
    tell(*money_sentences(bought.money, setup.job.by), slowest_sentence(listed))
    for one in bought.sets:
        tell("", *set_sentences(one, listed.currency, unit))
    tell("", INVENTED, CAUTION)


def _done(worked: Worked) -> list[str]:
    """What comes of everything at once; nothing where nothing was done."""
    said = clash_sentences(worked.together)
    return said if worked.done is None else [*said, *done_sentences(worked.done.checked.findings)]


def _table(*headings: str) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    for heading in headings:
        table.add_column(heading)
    return table


def _decision_table(worked: Worked) -> Table:
    table = _table("Line", "What is done", "Its key", "Others that would do")
    about = {one.line: one for one in worked.remedies}
    for line, remedy in worked.taken.items():
        key = "" if remedy is None else remedy.key
        others = [
            one.key for one in about[line].ranked if (one.cures or one.may_cure) and one.key != key
        ]
        table.add_row(capital(line), done_text(remedy, worked.setup.unit), key, ", ".join(others))
    return table


def _order_table(listed: Order, unit: str) -> Table:
    table = _table("What", "Length", "How many", "Here in", f"{listed.currency}", "Why")
    for column in (1, 2, 4):
        table.columns[column].justify = "right"
    for column in (1, 2, 3, 4):
        table.columns[column].no_wrap = True
    for group in Group:
        items = listed.of(group)
        if items:
            table.add_row(f"[bold]{HEADINGS[group]}[/bold]")
        for item in items:
            price = amount_text(item.price, "").strip()
            table.add_row(
                f"  {item_name(item)}",
                length_text(item, unit),
                count_text(item),
                days_text(item.days),
                f"{price}{' (yours)' if item.own_price else ''}",
                why_text(item),
            )
    return table


def _money_table(found: Money) -> Table:
    table = _table("Price", "At home", "In a shop")
    for row in money_rows(found):
        table.add_row(*row)
    return table


def _values(bought: Bought) -> dict[str, Any]:
    """Everything for JSON."""
    setup = bought.setup
    decided = bought.worked.taken
    done = bought.worked.done
    return {
        "order_format": ORDER_FORMAT,
        "file": bought.file,
        "title": setup.title,
        "machine": setup.machine.name,
        "bars": setup.new.title,
        "by": str(setup.job.by),
        "fits": bought.worked.checked.fits,
        "fits_when_done": None if done is None else all(one.fits for one in done.checked.findings),
        "when_done": _done(bought.worked),
        "rejected": rejected_sentences(bought.worked),
        "lines": [
            {
                "line": one.line,
                "done": done_text(decided[one.line], setup.unit) if one.line in decided else None,
                "remedy": remedy.key if (remedy := decided.get(one.line)) else None,
                "remedies": [each.key for each in one.ranked if each.offered],
            }
            for one in bought.worked.remedies
        ],
        "order": order_values(setup, bought.order),
        "money": money_values(bought.money),
        "sets": [set_values(one) for one in bought.sets],
    }
