"""The plan as steps at machines, and its renderings side by side: text, pages, workbook, screen."""

from yieldplan.order.data import Order
from yieldplan.order.steps import cutting_order
from yieldplan.order.text import order_text

__all__ = ["Order", "cutting_order", "order_text"]
