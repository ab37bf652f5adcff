"""Lines, and the stations that hold them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from barfit.model.bodies import Body, Side, Vec
from barfit.model.cables import Cable
from barfit.model.hoses import Hose
from barfit.model.measured import How, Measured
from barfit.model.through_bar import ThroughBar
from barfit.model.wires import Wires


class Hold(StrEnum):
    """How a station holds the line.

    A fitting clamps position and direction; a clip does so too, and grips the line at a fixed
    place along it; a guide is a ring through which the line slides freely.
    """

    FITTING = "fitting"
    CLIP = "clip"
    GUIDE = "guide"


@dataclass(frozen=True)
class PointPlace:
    """A point of the machine."""

    body: Body
    position: Vec


@dataclass(frozen=True)
class OutletPlace:
    """An outlet of a control on the bar."""

    control: str
    outlet: str


@dataclass(frozen=True)
class BarPlace:
    """A place beside the bar, ``distance`` along its centreline from the end or the centre.

    ``forward`` and ``up`` are offsets from the centreline, in the attitude of a control there.
    """

    side: Side
    distance: float
    from_centre: bool
    forward: float
    up: float


Place = PointPlace | OutletPlace | BarPlace


@dataclass(frozen=True)
class Station:
    """One place where a line is held.

    ``direction``: for a fitting the way the line points as it leaves it; for a clip the way the
    line runs, first station to last; none for a guide, and none where the place gives it (an
    outlet; a clip on the bar). ``stub``: rigid straight end of a fitting. ``at_length``: where
    along the line a clip grips it, from the first fitting. ``measured``: how its place was found;
    that of an outlet is told by the control.
    """

    name: str
    hold: Hold
    place: Place
    direction: Vec | None = None
    stub: float = 0.0
    at_length: float | None = None
    measured: Measured = How.TAPE


@dataclass(frozen=True)
class FoundSlack:
    """Surplus of a line on the machine as it stands, with its stock bars at ride height, mm.

    At full right lock, straight ahead and full left lock, each None where it was not looked at.
    ``measured``: how, or its standard deviation; None is the setup's. ``length`` is the line's when
    it was found, mm, where the line has been replaced by one of another length since; None is as it
    is.
    """

    right: float | None = None
    straight: float | None = None
    left: float | None = None
    measured: Measured | None = None
    length: float | None = None


@dataclass(frozen=True)
class Routing:
    """Another way for a line to go, under a name: what changes with it.

    Fields as those of `Line`. Slack is found on the machine for the way a line goes there.
    """

    name: str
    length: float
    stations: tuple[Station, ...]
    found_slack: FoundSlack | None = None
    through_bar: ThroughBar | None = None


@dataclass(frozen=True)
class Line:
    """A cable, hose, harness or lead: a fitting, then guides and clips, then a fitting.

    ``length`` is the installed length between the two fittings' reference points, stubs included.
    ``swivels`` says whether its end fittings let it turn about itself. What is None comes from the
    kind's row in the catalogue. ``measured``: how ``length`` was found, None as the setup says of
    lengths. ``found_slack``: what was found on the stock machine. ``routing`` is what the way it
    goes is called, "" for the only one; ``routings`` are the other ways it could go.
    ``through_bar``: its way inside bars that have the holes for it. ``cable``: the inside of a
    control cable. ``wires``: what a harness or lead is made of.
    ``hose``: what is known of a hydraulic hose beyond its path.
    """

    name: str
    kind: str
    diameter: float
    length: float
    stations: tuple[Station, ...]
    min_radius: float | None = None
    bending_stiffness: float | None = None
    weight: float | None = None
    note: str = ""
    measured: Measured | None = None
    found_slack: FoundSlack | None = None
    swivels: bool | None = None
    twisting_stiffness: float | None = None
    routing: str = ""
    routings: tuple[Routing, ...] = ()
    through_bar: ThroughBar | None = None
    cable: Cable | None = None
    wires: Wires | None = None
    hose: Hose | None = None

    def at_control(self, name: str) -> bool:
        """Whether it starts or ends at a control, the way it goes now."""
        places = (station.place for station in self.stations)
        return any(isinstance(one, OutletPlace) and one.control == name for one in places)
