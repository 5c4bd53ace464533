"""Drawings in mm that know nothing of printers: layout sheets and templates."""

from core.drawing.items import Arc, Circle, Item, Line, Page, Path, Pen, Text
from core.drawing.paper import PAPERS, SheetOptions
from core.drawing.sheets import layout_sheets

__all__ = ["PAPERS", "Arc", "Circle", "Item", "Line", "Page", "Path", "Pen", "SheetOptions",
           "Text", "layout_sheets"]
