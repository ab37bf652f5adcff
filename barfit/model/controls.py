"""What is clamped to the bar, and where lines leave it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from barfit.model.bodies import Side, Vec
from barfit.model.hoses import Master
from barfit.model.measured import How, Measured


class ControlKind(StrEnum):
    """What sits on the bar; it decides how it is drawn."""

    BRAKE_MASTER = "front brake master cylinder"
    CLUTCH_MASTER = "clutch master cylinder"
    CLUTCH_PERCH = "clutch cable perch"
    BRAKE_PERCH = "front brake cable perch"
    THROTTLE_HOUSING = "throttle housing"
    CHOKE_LEVER = "choke lever"
    SWITCH_HOUSING = "switch housing"
    GRIP_SENSOR = "throttle grip sensor"
    GRIP_HEATER = "grip heater"


@dataclass(frozen=True)
class Outlet:
    """Where a line leaves a control.

    ``offset`` and ``exit`` are (outward along the grip, forward, up) from the bar's centreline at
    the control, in the control's own level attitude; the line points along ``exit`` as it leaves.
    ``stub`` is the rigid, straight metal end (ferrule, elbow, crimp) before the line can bend.
    """

    name: str
    offset: Vec
    exit: Vec
    stub: float = 0.0
    measured: Measured = How.TAPE


@dataclass(frozen=True)
class ControlSize:
    """How much room a control takes; what is None comes from its kind's row in the catalogue.

    Places are (outward along the grip, forward, up) from the bar's centreline at the control, in
    its own level attitude. ``width`` along the bar that its clamp takes, ``radius`` of its housing
    about the bar; ``lever_tip`` the middle of the ball at the end of the lever, let go.
    ``reservoir`` is the middle of it, ``reservoir_size`` its full size along the same three
    directions, ``lid_up`` the way its lid faces (None: the lid is level with the stock bars
    straight ahead). ``mirror`` is the middle of a mirror on it, ``mirror_radius`` of the ball
    round the mirror's head.
    """

    width: float | None = None
    radius: float | None = None
    lever_tip: Vec | None = None
    reservoir: Vec | None = None
    reservoir_size: Vec | None = None
    lid_up: Vec | None = None
    mirror: Vec | None = None
    mirror_radius: float | None = None


@dataclass(frozen=True)
class Control:
    """Something clamped to the bar: ``inboard`` of the bar end, measured along the bar.

    ``rotation`` turns it about the bar from the attitude in which its lever is level with the bar
    at no roll (positive: front edge up). Rolling the bar carries it along. ``measured``: how
    ``inboard`` was found. ``size``: how much room it takes, as far as that is known.
    ``master``: the master cylinder in it.
    """

    name: str
    kind: ControlKind
    side: Side
    inboard: float
    rotation: float
    outlets: tuple[Outlet, ...]
    measured: Measured = How.TAPE
    size: ControlSize | None = None
    master: Master | None = None
