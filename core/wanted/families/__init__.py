"""Families of mechanisms: what each is made of, random ones, and complete sketches."""

from core.wanted.families.catalogue import FAMILIES
from core.wanted.families.family import Family

__all__ = ["FAMILIES", "Family"]
