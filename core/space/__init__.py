"""Where the parts are in space: outlines, and the gaps between them over the turn."""

from core.space.gaps import FAR_MM, Gap, Gaps, gaps
from core.space.neighbours import Purpose, rigid_groups, ring_bores, rod_name
from core.space.outlines import Rounded, Solid, default_outline, outline_of, solid_of

__all__ = ["FAR_MM", "Gap", "Gaps", "Purpose", "Rounded", "Solid", "default_outline", "gaps",
           "outline_of", "rigid_groups", "ring_bores", "rod_name", "solid_of"]
