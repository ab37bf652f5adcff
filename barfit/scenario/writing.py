"""Saving a `Setup`, keeping what the user wrote in the file beside the numbers.

A setup read from a file is saved by rewriting the text it came from: only values that mean
something else now are touched, so comments, order and spelling ("12 1/2 in") stay.
"""

from __future__ import annotations

import difflib
import errno
import os
import secrets
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Item

from barfit.model import Mesh, Setup, Solid
from barfit.scenario.headings import adopt_headings, first_heading, item_of, remove, reorder
from barfit.scenario.layout import Inline, tables
from barfit.scenario.meshes import Surfaces, absolute, known_surfaces
from barfit.scenario.problems import Problem, ScenarioError
from barfit.scenario.reading import FORMAT, loads

_HEAD = "# A barfit scenario. Angles in degrees; bare lengths in the unit below.\n\n"


def save(setup: Setup, path: str | Path) -> str:
    """Writes the setup to ``path``, whole or not at all, and gives the text that was written.

    Raises ScenarioError.
    """
    target = Path(path)
    text = dumps(setup, target.parent)
    try:
        target = target.resolve()  # writes through a link instead of replacing it
        if target.is_file() and not os.access(target, os.W_OK):
            raise PermissionError(errno.EACCES, "is write-protected")  # it could be replaced
        replace_file(target, text.encode("utf-8"))
    except (OSError, ValueError) as error:
        told = "is a folder" if target.is_dir() else getattr(error, "strerror", None) or str(error)
        raise ScenarioError(str(path), [Problem("", f"cannot be written: {told}")]) from None
    return text


def dumps(setup: Setup, folder: str | Path | None = None) -> str:
    """The text of the setup's scenario file: its ``source`` brought up to date, or a fresh one.

    ``folder`` is where the file will be, by default where it was: the names of mesh files count
    from there. Raises ScenarioError for a setup that no file can hold (``loads`` would not read
    it back).
    """
    folder = Path(setup.folder if folder is None else folder).absolute()
    known = known_surfaces(setup)
    setup = _moved(setup, folder)
    try:
        wanted = tables(setup, FORMAT)
    except ValueError as error:  # nan, say
        raise ScenarioError(setup.title, [Problem("", f"cannot be written: {error}")]) from None
    if setup.source:
        text = _rewritten(setup, wanted, folder, known)
        if text is not None:
            return text
    fresh = _HEAD + _emit(wanted)
    if loads(fresh, setup.title, folder, known) != setup:
        told = "cannot be written so that it reads back as it is"
        raise ScenarioError(setup.title, [Problem("", told)])
    return fresh


def refusals(setup: Setup) -> list[Problem]:
    """Everything for which a file of this setup would be refused: values that contradict each
    other, or lie outside what a file may hold.
    """
    try:
        fresh = _emit(tables(setup, FORMAT))
        loads(fresh, setup.title, setup.folder, known_surfaces(setup))
    except ScenarioError as error:
        return list(error.problems)
    except ValueError as error:  # nan, say
        return [Problem("", f"cannot be written: {error}")]
    return []


def _moved(setup: Setup, folder: Path) -> Setup:
    """The setup with its mesh files named from ``folder`` instead of its own folder."""
    here = Path(setup.folder).absolute()
    if here == folder:
        return setup

    def moved(solid: Solid) -> Solid:
        shape = solid.shape
        if not isinstance(shape, Mesh) or Path(shape.file).is_absolute():
            return solid
        file = absolute(here, shape.file)
        try:
            name = os.path.relpath(file, folder)
        except ValueError:  # on another drive
            name = str(file)
        return replace(solid, shape=replace(shape, file=Path(name).as_posix()))

    solids = tuple(moved(solid) for solid in setup.machine.solids)
    return replace(setup, machine=replace(setup.machine, solids=solids))


def _rewritten(setup: Setup, wanted: dict[str, Any], folder: Path, known: Surfaces) -> str | None:
    """The setup's source with the changed values replaced; None where that does not work out."""
    try:
        before = loads(setup.source, folder=setup.folder, surfaces=known)
    except ScenarioError:
        return None  # the source was never read by this program; start afresh
    if before == setup:
        return setup.source
    mark = "\ufeff" if setup.source.startswith("\ufeff") else ""
    try:
        document = tomlkit.parse(setup.source.removeprefix("\ufeff"))
        adopt_headings(document)
        _patch(document, tables(before, FORMAT), wanted)
        text = mark + document.as_string()
        return text if loads(text, folder=folder, surfaces=known) == setup else None
    except (ScenarioError, TOMLKitError):
        return None


def _patch(target: Any, old: dict[str, Any], new: dict[str, Any]) -> None:
    """Brings the table ``target`` of the file from ``old`` to ``new``."""
    for key in old:
        if key not in new and key in target:
            remove(target, key)
    for key, value in new.items():
        was = old.get(key)
        if key in old and _same(was, value):
            continue
        if isinstance(value, Inline) and isinstance(was, Inline) and set(was) != set(value):
            _put(target, key, value)  # tomlkit spaces an inline table badly when keys come and go
        elif key in target and isinstance(value, dict) and isinstance(was, dict):
            _patch(target[key], was, value)
        elif key in target and isinstance(was, list) and _is_rows(value) and _is_rows(was):
            _patch_rows(target[key], was, value)
        else:
            _put(target, key, value)
    named = [key for key, value in new.items() if _has_heading(value)]
    if named != [key for key in target if key in named]:
        reorder(target, named)


def _put(target: Any, key: str, value: Any) -> None:
    """Sets a key, in its place or at the end of the table."""
    new = key not in target
    target[key] = _item(value)
    if new:
        # tomlkit indents it like the table, whose "indent" may hold a comment here
        item = item_of(target, key)
        item.trivia.indent = ""
        if heading := first_heading(item):
            heading.trivia.indent = "\n"


def _patch_rows(rows: Any, old: list[Inline], new: list[Inline]) -> None:
    """Brings a list of rows from ``old`` to ``new``, matching them by name, or by all they say."""
    if len(old) == len(new):
        for index, (was, value) in enumerate(zip(old, new, strict=True)):
            _patch_row(rows, index, was, value)
        return
    was_named, named = ([row.get("name") or repr(row) for row in each] for each in (old, new))
    changes = difflib.SequenceMatcher(None, was_named, named, autojunk=False).get_opcodes()
    for tag, start, stop, new_start, new_stop in reversed(changes):
        if tag == "equal":
            for offset in range(stop - start):
                was, value = old[start + offset], new[new_start + offset]
                _patch_row(rows, start + offset, was, value)
            continue
        for index in reversed(range(start, stop)):
            del rows[index]
        for value in reversed(new[new_start:new_stop]):
            rows.insert(start, _row(rows, value))


def _patch_row(rows: Any, index: int, was: Inline, value: Inline) -> None:
    if set(was) == set(value):
        _patch(rows[index], was, value)
    else:  # tomlkit spaces an inline table badly when keys come and go
        rows[index] = _row(rows, value)


def _row(rows: Any, value: Inline) -> Item:
    return _item(dict(value) if isinstance(rows, AoT) else value)


def _is_rows(value: object) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict)


def _has_heading(value: object) -> bool:
    return isinstance(value, dict) and not isinstance(value, Inline)


def _same(was: object, value: object) -> bool:
    """Whether two values are equal, the order of tables included."""
    if isinstance(was, dict) and isinstance(value, dict):
        return list(was) == list(value) and all(_same(was[key], value[key]) for key in value)
    return was == value


def _item(value: Any) -> Item:
    """A value as a piece of a TOML file."""
    if _has_heading(value):
        return item_of(tomlkit.parse(_emit({"x": value}).rstrip() + "\n"), "x")
    return item_of(tomlkit.parse(f"x = {_value(value)}\n"), "x")


def _emit(found: dict[str, Any], path: tuple[str, ...] = ()) -> str:
    """Tables as the text of a file: own keys first, then the sub-tables under their headings."""
    own = {key: value for key, value in found.items() if not _has_heading(value)}
    text = "".join(f"{_key(key)} = {_value(value)}\n" for key, value in own.items())
    if path and own:
        text = f"[{'.'.join(map(_key, path))}]\n{text}\n"
    elif own:
        text += "\n"
    below = (_emit(value, (*path, key)) for key, value in found.items() if key not in own)
    return text + "".join(below)


def _value(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(key)} = {_value(v)}" for key, v in value.items()) + " }"
    if _is_rows(value):
        return "[\n" + "".join(f"  {_value(row)},\n" for row in value) + "]"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    return tomlkit.item(value).as_string()


def _key(name: str) -> str:
    return tomlkit.key(name).as_string()


def replace_file(target: Path, content: bytes) -> None:
    """Writes a file beside the target first, so that a crash leaves the old one; the permissions
    of the old one stay. Raises OSError, and leaves nothing behind then.
    """
    beside = target.with_name(f".barfit-{os.getpid()}-{secrets.token_hex(4)}.tmp")
    try:
        with beside.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, beside)
        os.replace(beside, target)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    _settle(target.parent)


def _settle(folder: Path) -> None:
    """Has the folder written out too: a new name is only there after a power cut when it was."""
    if os.name == "nt":  # folders cannot be opened there
        return
    try:
        handle = os.open(folder, os.O_RDONLY)
    except PermissionError:  # files may be put into it, but it may not be read
        return
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):  # some file systems cannot
            raise
    finally:
        os.close(handle)
