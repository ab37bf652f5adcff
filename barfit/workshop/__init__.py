"""What is done with a verdict: what to order, what it costs, in which order the work goes."""

from barfit.workshop.ordering import order
from barfit.workshop.orders import Group, LookUp, Order, OrderItem, Why

__all__ = ["Group", "LookUp", "Order", "OrderItem", "Why", "order"]
