"""Curves drawn elsewhere: read from SVG, DXF and CSV, safely."""

from core.files.curves.curve import Curve
from core.files.curves.read import KINDS, read_curves

__all__ = ["KINDS", "Curve", "read_curves"]
