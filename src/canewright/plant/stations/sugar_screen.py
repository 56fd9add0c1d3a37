"""Sugar screen: three decks part sugar into oversize, granulated, fine and undersize by the size of its grain."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.analysis.grain_methods import rrsb_mean_aperture
from canewright.analysis.sieving import passing_one_deck, passing_three_decks, passing_two_decks
from canewright.plant.station import Equations, Station, inlet, outlet, result, setting
from canewright.plant.streams import PERCENT, Massecuite, Stream
from canewright.quantity import Num
from canewright.quantity.maths import sqrt

TRACE = 1e-9
"""A share too small to weigh, so that the grain of a grade that gets nothing has a size."""
MOMENTS = (0.0, 1.0, 2.0)


class SugarScreen(Station):
    """Sugar of an RRSB grain on three decks, the coarsest on top; each deck passes by a partition curve.

    A grain of size L passes a deck of aperture a in the share ``efficiency / (1 + exp(sharpness (L-a)/a))``. Grades
    have the composition of the sugar: that fines carry more film, and so more ash and colour, is left out. Caster
    0.15-0.4 mm, granulated 0.5-0.7 mm, coffee crystals 1-2.5 mm; over- and undersize go back to the melter, 2-8 % of
    production with all remelt (from memory). Sizes by mass; the coefficient of variation is that of moments.
    """

    kind = "sugar screen"
    hazards = (
        "Sugar dust explodes: closed, earthed and vented screens, extraction and housekeeping under local codes.",
        "A broken screen sends wire into the product: magnets, sieves after it and a metal detector before packing.",
    )
    handles = ("first_aperture", "second_aperture", "third_aperture")
    measured = ("mean_aperture", "granulated_size", "granulated_variation")

    sugar = inlet(Massecuite)
    oversize, granulated = outlet(Massecuite), outlet(Massecuite)
    fine, undersize = outlet(Massecuite), outlet(Massecuite)

    characteristic = setting("mm", 0.68, "aperture that retains 36.8 % of the sugar", limits=(0.05, 4.0), prior=0.03)
    uniformity = setting("1", 3.8, "uniformity exponent of its grain", limits=(1.2, 9.0), prior=0.3)
    first_aperture = setting("mm", 1.0, "aperture of the top deck", limits=(0.05, 5.0))
    second_aperture = setting("mm", 0.40, "aperture of the middle deck", limits=(0.04, 5.0))
    third_aperture = setting("mm", 0.15, "aperture of the lowest deck", limits=(0.03, 5.0))
    sharpness = setting("1", 12.0, "sharpness of the partition", limits=(3.0, 60.0), prior=3.0)
    efficiency = setting("1", 0.96, "share of far undersize that passes a deck", limits=(0.5, 1.0), prior=0.02)
    area = setting("m²", 12.0, "screen area of one deck", limits=(0.1, 500.0))
    most_load = setting("t/h/m²", 6.0, "sugar that a deck bears", limits=(0.1, 60.0))

    oversize_share = result("1", 0.05, "oversize on sugar", limits=(-1e-6, 1.0))
    granulated_share = result("1", 0.75, "granulated on sugar", limits=(-1e-6, 1.0))
    fine_share = result("1", 0.18, "fine sugar on sugar", limits=(-1e-6, 1.0))
    undersize_share = result("1", 0.02, "undersize on sugar", limits=(-1e-6, 1.0))
    mean_aperture = result("mm", 0.6, "mean aperture of the sugar that comes", limits=(0.0, 5.0))
    granulated_size = result("mm", 0.65, "mean size of the granulated, by mass", limits=(0.0, 50.0))
    granulated_variation = result("%", 25.0, "coefficient of variation of the granulated", limits=(0.0, 1000.0))
    fine_size = result("mm", 0.35, "mean size of the fine sugar, by mass", limits=(0.0, 50.0))

    def equations(self) -> Equations:
        """Shares of the decks, and the grain of the grades."""
        through = [self._through(moment) for moment in MOMENTS]
        first, second, third = through[0]
        yield "oversize stays on the top deck", self.oversize_share, 1.0 - first
        yield "granulated stays on the middle deck", self.granulated_share, first - second
        yield "fine sugar stays on the lowest deck", self.fine_share, second - third
        yield "undersize passes all decks", self.undersize_share, third
        for outlet_, share in self._grades():
            for name in Massecuite.holds[:-1]:
                of = getattr(self.sugar, name)
                yield f"{name.replace('_', ' ')} goes with its grade", getattr(outlet_, name), share * of
            yield "a grade is as warm as the sugar", outlet_.temperature, self.sugar.temperature
        yield from self._grain(through)

    def _grades(self) -> Iterable[tuple[Stream, Num]]:
        yield self.oversize, self.oversize_share
        yield self.granulated, self.granulated_share
        yield self.fine, self.fine_share
        yield self.undersize, 1.0 - self.oversize_share - self.granulated_share - self.fine_share

    def _through(self, moment: float) -> tuple[Num, Num, Num]:
        """What passes one, two and three decks, by this power of the size."""
        grain = (self.characteristic, self.uniformity, self.sharpness, self.efficiency, moment)
        top, middle, low = self.first_aperture, self.second_aperture, self.third_aperture
        two = passing_two_decks(top, middle, *grain)
        return passing_one_deck(top, *grain), two, passing_three_decks(top, middle, low, *grain)

    def _grain(self, through: list[tuple[Num, Num, Num]]) -> Equations:
        mass, size, square = (stage[0] - stage[1] + TRACE for stage in through)
        yield (
            "mean aperture is that of the law",
            self.mean_aperture,
            rrsb_mean_aperture(self.characteristic, self.uniformity),
        )
        yield "granulated has its mean size", self.granulated_size * mass, self.characteristic * size
        spread = sqrt(square * mass / (size * size) - 1.0 + TRACE)
        yield "granulated has its variation", self.granulated_variation, PERCENT * spread
        mass, size = (stage[1] - stage[2] + TRACE for stage in through[:2])
        yield "fine sugar has its mean size", self.fine_size * mass, self.characteristic * size

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Load of the top deck."""
        yield "sugar within what the top deck bears", self.sugar.flow, self.most_load * self.area

    def estimate(self) -> Mapping[str, float]:
        """The shares themselves."""
        first, second, third = (float(x) for x in self._through(0.0))
        shares = {"oversize": 1.0 - first, "granulated": first - second, "fine": second - third, "undersize": third}
        guess: dict[str, float] = {}
        for name, share in shares.items():
            guess |= {f"{self.name}.{name}.{c}": share * float(getattr(self.sugar, c)) for c in Massecuite.holds[:-1]}
            guess |= {
                f"{self.name}.{name}.temperature": float(self.sugar.temperature),
                f"{self.name}.{name}_share": share,
            }
        return guess
