"""Wanted motion: curves, errors as numbers, fit and find.

`curves` are the wishes as functions, `goals` compiles them into residuals that any
mechanism can be held against, `measure` reports how a turn meets them. `fit` tunes a sketch;
`find` proposes mechanisms: of `families`, begun from the `atlas`, refined by the `engine`.
"""
