"""Wanted motion: curves, errors as numbers, fit and find.

`curves` are the wishes as functions, `goals` compiles them into residuals that any
mechanism can be held against, `measure` reports how a turn meets them.
"""
