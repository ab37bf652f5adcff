"""Comments above a table's heading, kept with their table when tables come and go.

tomlkit counts the comments above a heading to the table before it. Removing that table, or moving
one, would take away or orphan its neighbour's comment. Here they are moved to the heading.
"""

from __future__ import annotations

from typing import Any, cast

from tomlkit import TOMLDocument
from tomlkit.container import Container, OutOfOrderTableProxy
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Comment, Item, Null, Table, Whitespace

_Place = tuple[list[Any], int]  # a container's body and an index in it


def adopt_headings(document: TOMLDocument) -> None:
    """Gives every heading the comments and blank lines above it. Renders the same text."""
    _adopt(document, [])


def remove(parent: Any, key: str) -> None:
    """Removes a key or table. What stands above its heading before a blank line is not its own
    (the title of a section, say): it goes to the next table.
    """
    above = ""
    if isinstance(parent[key], Table) and (heading := first_heading(item_of(parent, key))):
        above = _section(heading)
    tables = [name for name in parent if isinstance(parent[name], Table)]
    del parent[key]
    following = tables[tables.index(key) + 1 :] if above else []
    if following and (heading := first_heading(item_of(parent, following[0]))):
        heading.trivia.indent = above + heading.trivia.indent.lstrip("\n")
    elif above:
        _body(parent).append((None, Whitespace(above)))


def reorder(parent: Any, names: list[str]) -> None:
    """Puts the sub-tables of that name in that order, behind everything else in ``parent``."""
    first = first_heading(item_of(parent, next(name for name in parent if name in names)))
    above = _section(first) if first else ""
    if first:
        first.trivia.indent = first.trivia.indent.removeprefix(above)
    spelled = {key.key: key for key, _ in _body(parent) if key is not None}  # quoted or bare
    for name in names:
        item = item_of(parent, name)
        del parent[name]
        parent.append(spelled[name], item)
    heading = first_heading(item_of(parent, names[0]))
    if heading and above:
        heading.trivia.indent = above + heading.trivia.indent.lstrip("\n")


def _adopt(container: Container, run: list[_Place]) -> None:
    body = container.body
    for index, (key, item) in enumerate(body):
        if isinstance(item, Comment | Whitespace) and key is None:
            run.append((body, index))
        elif isinstance(item, Table):
            if key is not None and key.is_dotted():
                run.clear()  # "a.b = 1" has no heading
                continue
            if not item.is_super_table():
                _hand_over(run, item)
            _adopt(item.value, run)
        elif isinstance(item, AoT):
            for table in item.body:
                _hand_over(run, table)
                _adopt(table.value, run)
        elif not isinstance(item, Null):
            run.clear()


def _hand_over(run: list[_Place], table: Table) -> None:
    above = "".join(body[index][1].as_string() for body, index in run)
    for body, index in run:
        body[index] = (None, Null())
    run.clear()
    table.trivia.indent = above + table.trivia.indent


def first_heading(item: Item) -> Table | None:
    """The table whose heading comes first in what ``item`` renders."""
    if isinstance(item, Table) and not item.is_super_table():
        return item
    if isinstance(item, Table):
        for _, below in item.value.body:
            if heading := first_heading(below):
                return heading
    return None


def _section(heading: Table) -> str:
    """What stands above a heading up to the last blank line, if that holds a comment."""
    above, blank, _ = heading.trivia.indent.rpartition("\n\n")
    return above + blank if above.strip() else ""


def item_of(parent: Any, key: str) -> Item:
    """The tomlkit item of a key, where ``parent[key]`` may be its plain value. Raises TOMLKitError
    for a table whose parts stand apart in the file: tomlkit can change their values only.
    """
    if isinstance(parent, OutOfOrderTableProxy):
        raise TOMLKitError(f"the parts of the table with {key!r} stand apart")
    container = parent.value if isinstance(parent, Table) else parent
    return cast("Item", container.item(key))


def _body(parent: Any) -> list[Any]:
    container = parent.value if isinstance(parent, Table) else parent
    body: list[Any] = container.body
    return body
