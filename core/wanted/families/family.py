"""A family: mechanisms of one topology, described as data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from core.wanted.engine import Parameter, Recipe

if TYPE_CHECKING:
    import numpy as np

    from core.model import Sketch
    from core.wanted.engine import Mechanisms, View
    from core.wanted.goals import Goals


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

    def views(self, goals: Goals) -> tuple[View, ...]:
        """What may stand for each channel of the goals; see `families.attaching.views`."""
        from core.wanted.families.attaching import views

        return views(self, goals)

    def sketch(self, mechanism: Mechanisms, *, goals: Goals | None = None, view: View = (),
               offset_rad: float = 0.0, drawn_rad: float | None = None, rpm: float = 20.0,
               title: str = "") -> Sketch:
        """A complete sketch of one mechanism (see `families.sketching.sketch_of`), with the
        wishes of `goals` tied to what `view` says stands for them."""
        from core.wanted.families.attaching import attached
        from core.wanted.families.sketching import sketch_of

        made = sketch_of(self, mechanism, drawn_rad=drawn_rad, offset_rad=offset_rad, rpm=rpm,
                         title=title)
        return made if goals is None else attached(self, mechanism, made, goals, view,
                                                   offset_rad)
