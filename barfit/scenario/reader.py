"""Reading one table after the other, so that a mistake in one hides none in another."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from barfit.scenario.meshes import Surfaces
from barfit.scenario.problems import Problem, did_you_mean, path_of
from barfit.scenario.schema import Table
from barfit.scenario.values import Value, shown

Parts = tuple[str | int, ...]  # where in the file: keys, and counts from 0
T = TypeVar("T", bound=Table)


@dataclass(frozen=True)
class Reader:
    """Reads tables of a file whose bare lengths are in ``unit``; problems go to ``report``.

    Names of mesh files count from ``folder``; those in ``surfaces`` are not read again.
    """

    unit: str
    report: Callable[[Problem], None]
    folder: Path
    surfaces: Surfaces

    def tell(self, place: Parts, message: str, hint: str = "") -> None:
        """Reports one problem."""
        self.report(Problem(path_of(*place), message, hint))

    def table(
        self, raw: object, table: type[T], place: Parts, others: Iterable[str] = ()
    ) -> T | None:
        """``raw`` as that table, or None after telling every problem in it.

        ``others`` are keys that belong in this table but are read elsewhere (sub-tables).
        """
        if not isinstance(raw, dict):
            self.tell(place, f"{shown(raw)} is not a table of keys")
            return None
        own = {key: value for key, value in raw.items() if key not in others}
        try:
            return table.model_validate(own, context={"unit": self.unit})
        except ValidationError as error:
            for detail in error.errors(include_url=False):
                key = str(detail["loc"][0])
                told = detail.get("ctx", {})
                if detail["type"] == "extra_forbidden":
                    self.unknown(raw, key, [*table.model_fields, *others], place)
                elif detail["type"] == "missing":
                    self.tell(place, f"'{key}' is missing")
                else:
                    message = told.get("message", detail["msg"])
                    self.tell((*place, key), message, told.get("hint", ""))
            return None

    def values(self, raw: object, table: type[Table]) -> dict[str, Any]:
        """Those values of ``raw`` that can be read, by key, and the defaults of what it leaves out;
        for checks across keys, which one wrong key must not silence. Tells nothing.
        """
        if not isinstance(raw, dict):
            return {}
        found: dict[str, Any] = {}
        for key, field in table.model_fields.items():
            if key not in raw:
                if not field.is_required():
                    found[key] = field.get_default()
                continue
            reads = next((one for one in field.metadata if isinstance(one, Value)), None)
            if reads is None:
                continue
            try:
                found[key] = reads.read(raw[key], self.unit)
            except ValueError:
                continue  # told by `table`
        return found

    def tables(self, raw: dict[str, Any], key: str, place: Parts) -> dict[str, Any]:
        """The table ``key`` of ``raw``, which must be there and hold something; else empty."""
        table = raw.get(key)
        if table is None:
            self.tell(place, f"'{key}' is missing")
        elif not isinstance(table, dict):
            self.tell((*place, key), f"{shown(table)} is not a table of keys")
        elif not table:
            self.tell((*place, key), "is empty")
        else:
            for name in table:
                if not name.strip() or not name.isprintable():
                    self.tell((*place, key), f"{name!r} is not a usable name")
            return table
        return {}

    def known_only(self, raw: dict[str, Any], known: Iterable[str], place: Parts) -> None:
        """Tells every key of ``raw`` that is not known."""
        for key in raw:
            if key not in known:
                self.unknown(raw, key, known, place)

    def unknown(self, raw: dict[str, Any], key: str, known: Iterable[str], place: Parts) -> None:
        """Tells one unknown key, with a hint towards the nearest that is known, used or not."""
        self.tell(place, f"unknown key '{key}'", did_you_mean(key, known))
