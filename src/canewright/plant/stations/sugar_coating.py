"""Sugar coating: soft brown sugar from refined sugar and a dark syrup in a mixer."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.asking import asked
from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.crystals import on_whole, placed, totals
from canewright.plant.station import Equations, Station, choice, inlet, outlet, result, setting
from canewright.plant.streams import PERCENT, Liquor, Massecuite
from canewright.quantity import Num, constant

TRICKLE = constant(4e-9, "MJ/h/K")
"""Heat capacity flow of a trickle of 1e-9 t/h of water: nothing mixed with nothing is as warm as the sugar."""


class SugarCoating(Station):
    """A paddle mixer where syrup coats the crystals: as much as gives the colour wanted, or its set share.

    Colour and solids of both add: ``syrup solids / solids = (C - Cw) / (Cs - Cw)`` for sugar Cw, syrup Cs, wanted C.
    Crystals neither grow nor dissolve. Soft brown sugar 1-4 % water, 1-3 % reducing sugars, 800-6,000 IU (from
    memory); Codex CXS 212 asks sucrose and reducing sugars of 88 % or more of soft brown, 97 % of soft white (read).
    Decides the flow of ``syrup``.
    """

    kind = "sugar coating"
    hazards = (
        "Paddle mixers crush and cut: covers, interlocks and lock-out.",
        "Moist sugar feeds yeasts and moulds: cleaning and shelf life by the food safety plan.",
    )
    handles = ("colour", "syrup_share")
    measured = ("coated colour", "coated moisture")

    sugar, syrup = inlet(Massecuite), inlet(Liquor)
    coated = outlet(Massecuite)
    given = choice("colour", "syrup share", says="which of the two decides how much syrup is mixed in")

    colour = setting("IU", 2000.0, "colour wanted, on solids", limits=(10.0, 30000.0), prior=100.0)
    syrup_share = setting("%", 5.0, "syrup on sugar, where that is given", limits=(0.0, 30.0), prior=0.3)
    most_moisture = setting("%", 4.0, "moisture beyond which the sugar drips and cakes", limits=(0.1, 8.0))
    mixer = setting("t/h", 20.0, "coated sugar that the mixer turns over", limits=(0.1, 200.0))
    moisture = result("%", 2.0, "moisture of the coated sugar", limits=(0.0, 100.0))
    sugars = result("%", 96.0, "sucrose and reducing sugars in the coated sugar", limits=(0.0, 100.0))
    syrup_solids = result("%", 5.0, "syrup solids on all solids", limits=(0.0, 100.0))

    def equations(self) -> Equations:
        """Everything mixes; crystals stay; syrup for the colour or by its share."""
        sugar, syrup, coated = self.sugar, self.syrup, self.coated
        yield from conserve(sugar, syrup, into=[coated])
        yield "crystals stay crystals", coated.crystal, sugar.crystal
        yield "crystals keep their colour", coated.crystal_colour, sugar.crystal_colour
        if self.given == "colour":
            yield "coated sugar has the colour wanted", coated.total_colour, self.colour * coated.solids
        else:
            yield "syrup is its share of sugar", PERCENT * syrup.flow, self.syrup_share * sugar.flow
        yield from on_whole("moisture is water in sugar", self.moisture, PERCENT * coated.water, coated.flow)
        both = coated.sucrose + coated.crystal + coated.reducing_sugars
        yield from on_whole("sugars are sucrose and reducing sugars", self.sugars, PERCENT * both, coated.flow)
        yield from on_whole("syrup solids are on all solids", self.syrup_solids, PERCENT * syrup.solids, coated.solids)
        for sentence, brought, carried in conserve_energy(self):
            yield sentence, brought, carried + TRICKLE * (coated.temperature - sugar.temperature)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """The mixer, and moisture that the sugar holds without dripping."""
        yield "coated sugar within what the mixer turns over", self.coated.flow, self.mixer
        yield "moisture below dripping", self.moisture, self.most_moisture

    def estimate(self) -> Mapping[str, float]:
        """Syrup for the colour from the syrup as it comes."""
        sugar, syrup = totals([self.sugar]), totals([self.syrup])
        now = float(self.syrup.flow)
        solids, thick = float(self.sugar.solids), float(self.syrup.solids)
        lacking = float(self.colour) * solids - sugar["colour"] - sugar["crystal_colour"]
        brings = syrup["colour"] - float(self.colour) * thick
        scale = lacking / brings if brings > 1e-9 and lacking > 0.0 else 0.0
        if self.given == "syrup share" and now > 1e-9:
            scale = float(self.syrup_share) / 100.0 * float(self.sugar.flow) / now
        total = {name: sugar[name] + scale * syrup[name] for name in sugar}
        guess = placed(self.coated, {**total, "temperature": float(self.sugar.temperature)})
        whole = float(self.sugar.flow) + scale * now
        of = {
            "moisture": total["water"] / (whole + 1e-7),
            "sugars": (total["sucrose"] + total["crystal"] + total["reducing_sugars"]) / (whole + 1e-7),
            "syrup_solids": scale * thick / (solids + scale * thick + 1e-7),
        }
        return {
            **guess,
            **{f"{self.name}.{name}": 100.0 * share for name, share in of.items()},
            **asked(self.syrup, scale * now if now > 1e-9 else 0.06 * float(self.sugar.flow)),
        }
