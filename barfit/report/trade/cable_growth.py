"""What to replace a control cable with, in words."""

from __future__ import annotations

import math

from barfit.report.phrases import capital
from barfit.report.quantities import Quantity
from barfit.report.remarks import Remark, Topic
from barfit.trade.cable_growth import Growth
from barfit.units import format_length


def growth_remark(line: str, growth: Growth, unit: str) -> Remark:
    """By how much it must grow if it is replaced, and that it is never extended.

    Whether it is, is no matter of this figure: something else may make it reach.
    """
    if growth.with_ and not growth.first:
        sentence = (
            f"{capital(line)}: if it or the {growth.with_[0]} is replaced, both are, by as much."
        )
        hint = ""
    else:
        others = "".join(f" or the {name}" for name in growth.with_)
        are = "is replaced, both are" if growth.with_ else "is replaced"
        sentence = f"If the {line}{others} {are}: {_order(growth, unit)}."
        hint = "A control cable is never extended; outer and inner grow by the same length."
    if growth.with_:
        hint = f"{hint} Never swap pull and return.".lstrip()
    return Remark(
        key="cable_growth",
        topic=Topic.CABLE,
        about=line,
        term="Longer by, if replaced",
        judged=growth.by,
        quantity=Quantity.LENGTH,
        sentence=sentence,
        hint=hint,
        line=True,
        act=True,
    )


def _order(growth: Growth, unit: str) -> str:
    least, most = (format_length(mm, unit) for mm in (growth.by.value, growth.most))
    if growth.size is not None:
        size = format_length(growth.size, unit)
        return f"at least {least} longer; the least size sold that is long enough is {size} longer"
    if math.isnan(growth.most):
        return f"at least {least} longer; how much longer is sensible is not known"
    if growth.most < growth.by.value:
        one = "one growth suits both" if growth.with_ else "length suits"
        return f"no {one}, {least} is needed and no more than {most} sensible"
    return f"made up {least} to {most} longer, as no size sold suits"
