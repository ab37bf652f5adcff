"""Changes to a setup, as pure functions: a setup in, another out. Nothing here solves or draws.

Each gives a setup that can be saved; whether its lines can be laid out is for
`barfit.analysis.problems` to say. Names are kept unique, and what refers to a renamed or deleted
part follows. Raises KeyError for a name that is not there and ValueError, with a sentence, for
what cannot be done.
"""

from barfit.edits.alternatives import (
    add_bars,
    add_routing,
    bars_names,
    delete_bars,
    delete_routing,
    keep_routing,
    rename_bars,
    rename_routing,
    routing_names,
    use_other_bars,
    use_routing,
)
from barfit.edits.controls import (
    add_control,
    add_outlet,
    change_control,
    change_outlet,
    delete_control,
    delete_outlet,
    duplicate_control,
    rename_control,
)
from barfit.edits.job import arrived, signed, ticked
from barfit.edits.lines import (
    add_line,
    change_line,
    delete_line,
    duplicate_line,
    rename_line,
)
from barfit.edits.machine import (
    add_solid,
    change_bar,
    change_machine,
    change_riser,
    change_shape,
    change_solid,
    delete_solid,
    duplicate_solid,
    rename_solid,
    use_bars,
)
from barfit.edits.names import fresh_name
from barfit.edits.reach import caught, taken_back, way_back
from barfit.edits.stations import (
    change_station,
    delete_station,
    insert_guide,
    move_station,
    put_station_on,
)

__all__ = [
    "add_bars",
    "add_control",
    "add_line",
    "add_outlet",
    "add_routing",
    "add_solid",
    "arrived",
    "bars_names",
    "caught",
    "change_bar",
    "change_control",
    "change_line",
    "change_machine",
    "change_outlet",
    "change_riser",
    "change_shape",
    "change_solid",
    "change_station",
    "delete_bars",
    "delete_control",
    "delete_line",
    "delete_outlet",
    "delete_routing",
    "delete_solid",
    "delete_station",
    "duplicate_control",
    "duplicate_line",
    "duplicate_solid",
    "fresh_name",
    "insert_guide",
    "keep_routing",
    "move_station",
    "put_station_on",
    "rename_bars",
    "rename_control",
    "rename_line",
    "rename_routing",
    "rename_solid",
    "routing_names",
    "signed",
    "taken_back",
    "ticked",
    "use_bars",
    "use_other_bars",
    "use_routing",
    "way_back",
]
