"""What of a setup can be changed, as forms: fields with their meaning, limits and effect. No Qt."""

from barfit.forms.details import limits_form
from barfit.forms.fields import Action, Field, Group
from barfit.forms.job import add_set, money_group, price_field, set_groups, time_group
from barfit.forms.parts import (
    bars_form,
    control_form,
    line_form,
    machine_form,
    rider_form,
    solid_form,
    sureness_form,
)
from barfit.forms.stations import station_form

__all__ = [
    "Action",
    "Field",
    "Group",
    "add_set",
    "bars_form",
    "control_form",
    "limits_form",
    "line_form",
    "machine_form",
    "money_group",
    "price_field",
    "rider_form",
    "set_groups",
    "solid_form",
    "station_form",
    "sureness_form",
    "time_group",
]
