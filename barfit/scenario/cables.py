"""``[lines.….cable]``: the inside of a control cable."""

from __future__ import annotations

from typing import Any

from barfit.catalogue import line_kinds
from barfit.model import Cable
from barfit.scenario.reader import Parts, Reader
from barfit.scenario.schema import CableTable
from barfit.units import format_length, length_literal


def slides(kind: str) -> bool:
    """Whether a line of this kind is a cable whose wire slides. Raises KeyError."""
    return line_kinds()[kind].family == "cable" and kind != "speedometer_cable"


def read_cable(raw: dict[str, Any], place: Parts, reader: Reader) -> Cable | None:
    """What the table ``raw`` of a line says of its inside, after telling what is wrong with it."""
    if "cable" not in raw:
        return None
    here = (*place, "cable")
    kind = line_kinds().get(raw["kind"]) if isinstance(raw.get("kind"), str) else None
    if kind and kind.family != "cable":
        reader.tell(here, f"does not belong here: a {kind.label} is no control cable")
    elif kind and not slides(kind.name):
        reader.tell(here, "does not belong here: its core turns, no wire slides in it")
    own = reader.table(raw["cable"], CableTable, here)
    values = reader.values(raw["cable"], CableTable)
    thick, wide = values.get("wire"), values.get("bore")
    if thick is not None and wide is not None and thick >= wide:
        wire, bore = (
            format_length(mm, reader.unit, decimals=1 if reader.unit == "mm" else 3)
            for mm in (thick, wide)
        )
        reader.tell((*here, "bore"), f"a wire of {wire} does not slide in a bore of {bore}")
    return Cable(**own.model_dump()) if own else None


def cable_table(cable: Cable, unit: str) -> dict[str, Any]:
    """The table as it is written, lengths in ``unit``; what is not known is left out."""
    found: dict[str, Any] = {}
    for key in ("wire", "bore", "free_play"):
        if (mm := getattr(cable, key)) is not None:
            found[key] = length_literal(mm, unit)
    if cable.lining is not None:
        found["lining"] = str(cable.lining)
    if cable.pull is not None:
        found["pull"] = int(cable.pull) if cable.pull % 1.0 == 0.0 else cable.pull
    return found
