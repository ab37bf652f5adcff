"""The data of one setup: a machine, two sets of bars, its controls and its lines.

Everything here is frozen and made of plain numbers and tuples, so that two setups can be
compared with ``==``, kept in an undo list and handed to a worker without a copy.

Units: mm, rad. Axes follow ISO 8855: x forward, y left, z up. The origin is where the steering
axis pierces the top face of the top clamp, with the machine upright, the steering straight ahead
and the suspension at ride height. A turn to the left is positive. All positions below are given
for that state, whatever body they ride on.
"""

from barfit.model.bars import SLANT, Bar, BarSet, ClipOn, Hole, Riser, Shoulder
from barfit.model.bodies import Body, Side, Vec
from barfit.model.cables import Cable, Lining
from barfit.model.controls import Control, ControlKind, ControlSize, Outlet
from barfit.model.hoses import Construction, Fluid, Hose, HoseEnd, Master
from barfit.model.job import By, Choice, Job, Price, Range, SellersSet, SetPart, Signature, Tick
from barfit.model.lines import (
    BarPlace,
    FoundSlack,
    Hold,
    Line,
    OutletPlace,
    Place,
    PointPlace,
    Routing,
    Station,
)
from barfit.model.machine import Disc, Fuelling, Machine
from barfit.model.measured import EXACT, How, Measured, Uncertainty
from barfit.model.rider import Build, PlaceLimits, Rider
from barfit.model.setup import Setup
from barfit.model.signing import changed_since_signed, signed_of
from barfit.model.solids import (
    Box,
    Capsule,
    Ellipsoid,
    FileUnit,
    Mesh,
    Role,
    Shape,
    Solid,
    Triangles,
)
from barfit.model.through_bar import Connector, ThroughBar
from barfit.model.wires import Circuit, Plug, Use, Wires

__all__ = [
    "EXACT",
    "SLANT",
    "Bar",
    "BarPlace",
    "BarSet",
    "Body",
    "Box",
    "Build",
    "By",
    "Cable",
    "Capsule",
    "Choice",
    "Circuit",
    "ClipOn",
    "Connector",
    "Construction",
    "Control",
    "ControlKind",
    "ControlSize",
    "Disc",
    "Ellipsoid",
    "FileUnit",
    "Fluid",
    "FoundSlack",
    "Fuelling",
    "Hold",
    "Hole",
    "Hose",
    "HoseEnd",
    "How",
    "Job",
    "Line",
    "Lining",
    "Machine",
    "Master",
    "Measured",
    "Mesh",
    "Outlet",
    "OutletPlace",
    "Place",
    "PlaceLimits",
    "Plug",
    "PointPlace",
    "Price",
    "Range",
    "Rider",
    "Riser",
    "Role",
    "Routing",
    "SellersSet",
    "SetPart",
    "Setup",
    "Shape",
    "Shoulder",
    "Side",
    "Signature",
    "Solid",
    "Station",
    "ThroughBar",
    "Tick",
    "Triangles",
    "Uncertainty",
    "Use",
    "Vec",
    "Wires",
    "changed_since_signed",
    "signed_of",
]
