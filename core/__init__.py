"""Crankwright's core: mechanisms from sheet and rod, without a window.

The rooms, lower ones first: errors, units, materials; model; files; motion;
effort and space; findings; study; drawing. A room imports only from rooms
before it. Nothing here imports Qt.
"""
