"""``[lines."…".hose]`` and ``[controls."…".master]``: what fills and works a hydraulic hose."""

from __future__ import annotations

from typing import Annotated, Any

from barfit.catalogue import line_kinds
from barfit.model import Construction, ControlKind, Fluid, Hose, HoseEnd, Master, Vec
from barfit.scenario.reader import Parts, Reader
from barfit.scenario.schema import Table
from barfit.scenario.values import Angle, Choice, Direction, Length, Share, Words, YesOrNo
from barfit.units import angle_literal, length_literal

_Name = Annotated[str | None, Words(filled=True)]
_CM3 = 1000.0  # mm³


class HoseTable(Table):
    """``[lines."…".hose]`` without its ends."""

    circuit: _Name = None
    bore: Annotated[float | None, Length(1, 20)] = None
    construction: Annotated[Construction | None, Choice(Construction)] = None
    fluid: Annotated[Fluid | None, Choice(Fluid)] = None
    clocking: Annotated[float | None, Angle(-180, 180)] = None


class HoseEndTable(Table):
    """``start`` or ``end`` of a hose."""

    part: _Name = None
    banjo: Annotated[bool, YesOrNo()] = True
    eye_angle: Annotated[float | None, Angle(0, 90)] = None
    bolt: Annotated[Vec | None, Direction("in the axes of the end's exit")] = None
    double: Annotated[bool, YesOrNo()] = False
    bleeder: Annotated[bool | None, YesOrNo()] = None


class MasterTable(Table):
    """``[controls."…".master]``."""

    bore: Annotated[float, Length(5, 40)]
    lever_ratio: Annotated[float, Share(1.0, 15.0)]
    piston_area: Annotated[float | None, Share(50.0, 20_000.0, "give mm², as a plain number")] = (
        None
    )
    reservoir: Annotated[float | None, Share(1.0, 500.0, "give cm³, as a plain number")] = None


def read_hose(raw: Any, kind: object, place: Parts, reader: Reader) -> Hose | None:
    """The hose of a line of that ``kind``, or None after telling what is wrong with it."""
    if kind in line_kinds() and line_kinds()[str(kind)].family != "hose":
        reader.tell(place, f"a {line_kinds()[str(kind)].label} is not a hydraulic hose")
    own = reader.table(raw, HoseTable, place, others=("start", "end"))
    if not isinstance(raw, dict):
        return None
    ends = [_read_end(raw.get(key, {}), (*place, key), reader) for key in ("start", "end")]
    start, end = ends
    if own is None or start is None or end is None:
        return None
    return Hose(**own.model_dump(), start=start, end=end)


def _read_end(raw: Any, place: Parts, reader: Reader) -> HoseEnd | None:
    own = reader.table(raw, HoseEndTable, place)
    values = reader.values(raw, HoseEndTable)
    if values.get("banjo") is False:
        for key in ("eye_angle", "bolt", "double"):
            if values.get(key):
                reader.tell((*place, key), "only a banjo has one", "leave out 'banjo = false'")
    return HoseEnd(**own.model_dump()) if own else None


def read_master(raw: Any, kind: object, place: Parts, reader: Reader) -> Master | None:
    """The master cylinder of a control of that ``kind``, or None after telling what is wrong."""
    if isinstance(kind, ControlKind) and kind not in MASTERS:
        reader.tell(place, f"a {kind} has no master cylinder")
    own = reader.table(raw, MasterTable, place)
    if own is None:
        return None
    reservoir = None if own.reservoir is None else own.reservoir * _CM3
    return Master(own.bore, own.lever_ratio, own.piston_area, reservoir)


MASTERS = (ControlKind.BRAKE_MASTER, ControlKind.CLUTCH_MASTER)


def hose_table(hose: Hose, unit: str) -> dict[str, Any]:
    """The table as it is written, lengths in ``unit``; what is as by default is left out."""
    found: dict[str, Any] = {}
    if hose.circuit is not None:
        found["circuit"] = hose.circuit
    if hose.bore is not None:
        found["bore"] = length_literal(hose.bore, unit)
    for key in ("construction", "fluid"):
        if getattr(hose, key) is not None:
            found[key] = str(getattr(hose, key))
    if hose.clocking is not None:
        found["clocking"] = angle_literal(hose.clocking)
    for key in ("start", "end"):
        if (one := getattr(hose, key)) != HoseEnd():
            found[key] = _end_table(one)
    return found


def _end_table(end: HoseEnd) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if end.part is not None:
        found["part"] = end.part
    if not end.banjo:
        found["banjo"] = False
    if end.eye_angle is not None:
        found["eye_angle"] = angle_literal(end.eye_angle)
    if end.bolt is not None:
        found["bolt"] = [_short(number) for number in end.bolt]
    if end.double:
        found["double"] = True
    if end.bleeder is not None:
        found["bleeder"] = end.bleeder
    return found


def master_table(master: Master, unit: str) -> dict[str, Any]:
    """The table as it is written, lengths in ``unit``; what is not known is left out."""
    found: dict[str, Any] = {
        "bore": length_literal(master.bore, unit),
        "lever_ratio": _short(master.lever_ratio),
    }
    if master.piston_area is not None:
        found["piston_area"] = _short(master.piston_area)
    if master.reservoir is not None:
        found["reservoir"] = _short(master.reservoir / _CM3)
    return found


def _short(number: float) -> float:
    """A whole number without its decimal point."""
    return int(number) if float(number).is_integer() and abs(number) < 1e15 else number
