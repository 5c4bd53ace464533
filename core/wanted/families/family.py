"""A family: mechanisms of one topology, described as data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from core.wanted.engine import Parameter, Recipe

if TYPE_CHECKING:
    import numpy as np

    from core.wanted.engine import Mechanisms


@dataclass(frozen=True)
class Family:
    """Mechanisms of one topology, driven by one crank on the frame.

    Attributes
    ----------
    id, name : for files and commands, and in plain words.
    recipe : how one is put together. Points and bodies bear the names they have in a
        sketch; the first step is the crank's pivot, the crank is called "crank".
    tracer : the point that follows a wished path.
    carrier : the body the tracer is on, which takes wished poses.
    swinging : bodies whose angle can be wished, the likeliest first. With several wished
        angles at once they are taken in every order.
    """

    id: str
    name: str
    recipe: Recipe
    tracer: str
    carrier: str
    swinging: tuple[str, ...]

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """What the columns of `Mechanisms.params` are."""
        return self.recipe.parameters

    def sample(self, rng: np.random.Generator, count: int,
               transmission_deg: float = 20.0) -> Mechanisms:
        """Random ones that go all round; see `families.sampling.sample`."""
        from core.wanted.families.sampling import sample

        return sample(self.recipe, rng, count, transmission_deg)
