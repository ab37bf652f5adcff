"""Machine, bars and controls out of a scenario file.

Each function returns None after telling what is wrong.
"""

from __future__ import annotations

import math
from typing import Any

from barfit.model import (
    Bar,
    BarSet,
    Box,
    Capsule,
    ClipOn,
    Control,
    ControlSize,
    Disc,
    Ellipsoid,
    Hole,
    Machine,
    Mesh,
    Outlet,
    Riser,
    Shape,
    Shoulder,
    Solid,
    Uncertainty,
)
from barfit.scenario import schema
from barfit.scenario.hoses import read_master
from barfit.scenario.meshes import absolute, read_triangles
from barfit.scenario.reader import Parts, Reader, T
from barfit.scenario.through_bar import read_holes
from barfit.scenario.values import shown
from barfit.units import format_length

NO_RISER = Riser("none", 0.0, 0.0)
_SHAPES = ("capsule", "ellipsoid", "box", "mesh")


def read_machine(raw: dict[str, Any], reader: Reader) -> Machine | None:
    """``[machine]`` and its sub-tables; an empty one has been told already."""
    if not raw:
        return None
    others = ("fork", "head_tube", "wheel", "disc", "risers", "solids")
    own = reader.table(raw, schema.MachineTable, ("machine",), others)

    def part(key: str, table: type[T]) -> T | None:
        found = reader.tables(raw, key, ("machine",))
        return reader.table(found, table, ("machine", key)) if found else None

    fork = part("fork", schema.ForkTable)
    head = part("head_tube", schema.HeadTubeTable)
    wheel = part("wheel", schema.WheelTable)
    risers = part("risers", schema.RisersTable)
    disc = part("disc", schema.DiscTable) if "disc" in raw else None
    _check_fork(raw.get("fork"), raw.get("head_tube"), reader)
    named = reader.tables(raw, "solids", ("machine",)) if "solids" in raw else {}
    solids = [_read_solid(name, solid, reader) for name, solid in named.items()]
    if own is None or fork is None or head is None or wheel is None or risers is None:
        return None
    return Machine(
        name=own.name,
        note=own.note,
        rake=own.rake,
        fork_offset=fork.offset,
        fork_length=fork.length,
        fork_spread=fork.spread,
        fork_tube_diameter=fork.tube_diameter,
        head_tube_top=head.top,
        head_tube_bottom=head.bottom,
        head_tube_diameter=head.diameter,
        lower_clamp=fork.lower_clamp,
        lock_left=own.lock_left,
        lock_right=own.lock_right,
        travel=fork.travel,
        sag=fork.sag,
        wheel_radius=wheel.radius,
        wheel_width=wheel.width,
        riser_foot=risers.foot,
        riser_spacing=risers.spacing,
        stand_lean=own.stand_lean,
        fuelling=own.fuelling,
        solids=tuple(solid for solid in solids if solid),
        disc=Disc(**disc.model_dump()) if disc else None,
        measured=own.measured,
    )


def _check_fork(raw_fork: object, raw_head: object, reader: Reader) -> None:
    """Tells where the numbers of fork and head tube contradict each other."""
    fork = reader.values(raw_fork, schema.ForkTable)
    head = reader.values(raw_head, schema.HeadTubeTable)

    def told(part: str, key: str, mm: float, what: str, other: float) -> None:
        lengths = (format_length(value, reader.unit) for value in (mm, other))
        reader.tell(("machine", part, key), what.format(*lengths))

    # nan, of what could not be read, contradicts nothing
    sag, travel, clamp, length = (
        fork.get(key, math.nan) for key in ("sag", "travel", "lower_clamp", "length")
    )
    top, bottom = (head.get(key, math.nan) for key in ("top", "bottom"))
    if sag > travel:
        told("fork", "sag", sag, "{} is more than the whole travel, {}", travel)
    if clamp >= length:
        told("fork", "lower_clamp", clamp, "{} is as far down as the axle, at {}", length)
    if bottom <= top:
        told("head_tube", "bottom", bottom, "{} is not below the head tube's top, at {}", top)
    if bottom > clamp:
        what = "{} is below the lower clamp, at {}, which stands under the head tube"
        told("head_tube", "bottom", bottom, what, clamp)


def _read_solid(name: str, raw: Any, reader: Reader) -> Solid | None:
    place = ("machine", "solids", name)
    own = reader.table(raw, schema.SolidTable, place, _SHAPES)
    if not isinstance(raw, dict):
        return None
    given = [key for key in _SHAPES if key in raw]
    if len(given) != 1:
        told = f"has {len(given)} shapes" if given else "has no shape"
        reader.tell(place, told, "give it one of capsule, ellipsoid, box and mesh")
    shapes = [_read_shape(key, raw[key], (*place, key), reader) for key in given]
    if own is None or len(shapes) != 1 or shapes[0] is None:
        return None
    return Solid(name, own.role, own.on, shapes[0], own.measured)


def _read_shape(kind: str, raw: Any, place: Parts, reader: Reader) -> Shape | None:
    if kind == "capsule":
        capsule = reader.table(raw, schema.CapsuleTable, place)
        return Capsule(capsule.start, capsule.end, capsule.radius) if capsule else None
    if kind == "ellipsoid":
        egg = reader.table(raw, schema.EllipsoidTable, place)
        return Ellipsoid(egg.centre, egg.semi_axes, egg.pitch) if egg else None
    if kind == "mesh":
        return _read_mesh(raw, place, reader)
    box = reader.table(raw, schema.BoxTable, place)
    values = reader.values(raw, schema.BoxTable)
    rounding, size = values.get("rounding"), values.get("size")
    if rounding and size and 2 * rounding > min(size):
        told, side = (format_length(mm, reader.unit) for mm in (rounding, min(size)))
        what = f"{told} is more than half of the box's smallest side, {side}"
        reader.tell((*place, "rounding"), what)
    return Box(box.centre, box.size, box.pitch, box.rounding) if box else None


def _read_mesh(raw: Any, place: Parts, reader: Reader) -> Mesh | None:
    own = reader.table(raw, schema.MeshTable, place)
    if own is None:
        return None
    path = absolute(reader.folder, own.file)
    surface = reader.surfaces.get((path, own.unit))
    if surface is None:
        surface, problems = read_triangles(path, own.unit)
        for problem in problems:
            reader.tell((*place, "file"), problem.message, problem.hint)
    if surface is None:
        return None
    return Mesh(own.file, own.unit, surface, own.position, own.pitch, own.yaw)


def read_bar_set(bars: dict[str, Any], which: str, reader: Reader) -> BarSet | None:
    """``[bars.stock]`` or ``[bars.new]``; missing bars altogether have been told already."""
    raw = reader.tables(bars, which, ("bars",)) if bars else {}
    if not raw:
        return None
    if which == "stock":
        return _read_bar_set(raw, ("bars", which), reader)
    name = raw.get("name", "")
    if not isinstance(name, str):
        reader.tell(("bars", which, "name"), f"{shown(name)} is not a text")
        name = ""
    raw = {key: value for key, value in raw.items() if key != "name"}
    return _read_bar_set(raw, ("bars", which), reader, name.strip())


def read_other_bars(bars: dict[str, Any], reader: Reader) -> tuple[BarSet, ...]:
    """``[bars.others]``: bars that could be fitted instead of the new ones."""
    if "others" not in bars:
        return ()
    new = bars.get("new")
    taken = new.get("name", "") if isinstance(new, dict) else ""
    found = []
    for name, raw in reader.tables(bars, "others", ("bars",)).items():
        place = ("bars", "others", name)
        if name == taken:
            reader.tell(place, "is the name of the new bars", "use another")
        if not isinstance(raw, dict):
            reader.tell(place, f"{shown(raw)} is not a table of keys")
            continue
        found.append(_read_bar_set(raw, place, reader, name))
    return tuple(bars for bars in found if bars)


def _read_bar_set(
    raw: dict[str, Any], place: Parts, reader: Reader, name: str = ""
) -> BarSet | None:
    reader.known_only(raw, ("bar", "clip_ons", "riser"), place)
    if ("bar" in raw) == ("clip_ons" in raw):
        told = "has both a bar and clip-ons" if "bar" in raw else "has no bar"
        reader.tell(place, told, "give it one 'bar' or one 'clip_ons' table")
    bar: Bar | ClipOn | None = None
    if "bar" in raw:
        bar = _read_bar(raw["bar"], (*place, "bar"), reader)
    if "clip_ons" in raw:
        clip_ons = reader.table(
            raw["clip_ons"], schema.ClipOnTable, (*place, "clip_ons"), ("holes",)
        )
        holes = _read_holes(raw["clip_ons"], schema.ClipOnTable, (*place, "clip_ons"), reader)
        bar = ClipOn(**clip_ons.model_dump(), holes=holes) if clip_ons else None
    riser: Riser | None = NO_RISER if "clip_ons" in raw else None
    if "riser" in raw:
        table = reader.table(raw["riser"], schema.RiserTable, (*place, "riser"))
        riser = Riser(**table.model_dump()) if table else None
    elif "clip_ons" not in raw:
        reader.tell(place, "'riser' is missing", "a bar without risers has one of height 0")
    return BarSet(bar, riser, name) if bar and riser else None


def _read_bar(raw: Any, place: Parts, reader: Reader) -> Bar | None:
    own = reader.table(raw, schema.BarTable, place, ("shoulder", "holes"))
    shoulder: Shoulder | None = None
    if isinstance(raw, dict) and "shoulder" in raw:
        corner = reader.table(raw["shoulder"], schema.ShoulderTable, (*place, "shoulder"))
        if corner:
            shoulder = Shoulder(corner.half_width, corner.height, corner.forward)
    holes = _read_holes(raw, schema.BarTable, place, reader)
    return Bar(**own.model_dump(), shoulder=shoulder, holes=holes) if own else None


def _read_holes(
    raw: Any, table: type[schema.BarTable | schema.ClipOnTable], place: Parts, reader: Reader
) -> tuple[Hole, ...]:
    values = reader.values(raw, table)
    wall, tube, grip = (values.get(key) for key in ("wall", "tube_diameter", "grip_diameter"))
    thinnest = min((mm for mm in (tube, grip) if mm is not None), default=math.inf)
    if wall is not None and 2.0 * wall >= thinnest:
        outside = format_length(thinnest, reader.unit)
        told = f"{format_length(wall, reader.unit)} leaves no bore in a tube of {outside}"
        reader.tell((*place, "wall"), told)
    if not isinstance(raw, dict) or "holes" not in raw:
        return ()
    return read_holes(
        raw["holes"], math.inf if tube is None else tube, wall, (*place, "holes"), reader
    )


def read_uncertainty(raw: Any, reader: Reader) -> Uncertainty | None:
    """``[uncertainty]``; what it leaves out is as by default."""
    own = reader.table(raw, schema.UncertaintyTable, ("uncertainty",))
    return Uncertainty(**own.model_dump(exclude_none=True)) if own else None


def read_control(name: str, raw: Any, reader: Reader) -> Control | None:
    """One of ``[controls]`` with its outlets."""
    place = ("controls", name)
    own = reader.table(raw, schema.ControlTable, place, ("outlets", "master", "size"))
    if not isinstance(raw, dict):
        return None
    size: ControlSize | None = None
    if "size" in raw:
        table = reader.table(raw["size"], schema.ControlSizeTable, (*place, "size"))
        size = ControlSize(**table.model_dump()) if table else None
    named = reader.tables(raw, "outlets", place)
    outlets = []
    for key, outlet in named.items():
        found = reader.table(outlet, schema.OutletTable, (*place, "outlets", key))
        if found:
            outlets.append(Outlet(name=key, **found.model_dump()))
    master = None
    if "master" in raw:
        kind = own.kind if own else None
        master = read_master(raw["master"], kind, (*place, "master"), reader)
    if own is None or len(outlets) != len(named):
        return None
    return Control(name=name, outlets=tuple(outlets), size=size, master=master, **own.model_dump())
