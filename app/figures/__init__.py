"""Figures of the documentation, drawn from results computed afresh:
``python -m app.figures`` writes all of them into docs/pictures."""
