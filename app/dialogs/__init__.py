"""Dialogs. All are opened with `open()`: the window never blocks."""
