"""Ready-made mechanisms to begin from: what they do, and those nearest to a wish.

``neighbours(family, asked(wishes, …), …)`` lays wishes (`asking`) on the paths and angles of
a family's `shelf` (`shape`, `laying`) and puts the nearest in place (`nearest`). The
shelves are made by ``python -m core.wanted.atlas.build`` and shipped in ``assets/atlas``.
"""

from core.wanted.atlas.asking import Asked, asked
from core.wanted.atlas.nearest import Near, neighbours

__all__ = ["Asked", "Near", "asked", "neighbours"]
