"""What of a setup can be changed, as forms: fields with their meaning, limits and effect. No Qt."""

from barfit.forms.fields import Field, Group
from barfit.forms.parts import (
    bars_form,
    control_form,
    line_form,
    machine_form,
    rider_form,
    solid_form,
    station_form,
    sureness_form,
)

__all__ = [
    "Field",
    "Group",
    "bars_form",
    "control_form",
    "line_form",
    "machine_form",
    "rider_form",
    "solid_form",
    "station_form",
    "sureness_form",
]
