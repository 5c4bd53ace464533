"""Bench, particulars and findings: what stands round the canvas."""
