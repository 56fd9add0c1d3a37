"""Supplies: streams that come from beyond the described plant, with a composition that a person states."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.station import Equations, Station, outlet, setting
from canewright.plant.streams import PERCENT, Juice, Liquor, Massecuite


class _Solution(Station):
    """A rate, the true dry substance of the solution, and the make-up of its solids."""

    boundary = True

    rate = setting("t/h", 100.0, "rate while running", limits=(0.0, 2000.0), prior=2.0)
    dry_substance = setting("%", 65.0, "true dry substance of the solution", limits=(0.0, 85.0), prior=0.5)
    purity = setting("%", 85.0, "true purity", limits=(20.0, 100.0), prior=0.5)
    reducing_sugars = setting("%", 27.0, "reducing sugars on non-sucrose", limits=(0.0, 100.0), prior=3.0)
    ash = setting("%", 22.0, "soluble ash on non-sucrose", limits=(0.0, 100.0), prior=3.0)
    suspended = setting("%", 0.05, "suspended solids on the whole stream", limits=(0.0, 30.0), prior=0.05)
    colour = setting("IU", 14000.0, "colour on solids", limits=(0.0, 100000.0), prior=1000.0)
    temperature = setting("°C", 60.0, "temperature", limits=(1.0, 120.0))

    def _stream(self) -> Liquor:
        stream = self.leaving[0]
        if not isinstance(stream, Liquor):
            raise TypeError(f"{self.name} gives no sugar solution")
        return stream

    def equations(self) -> Equations:
        """Rate, dry substance and the shares of the solids make the stream."""
        out = self._stream()
        yield "it comes at the rate", out.flow, self.rate
        yield "suspended solids are their share", PERCENT * out.suspended, self.suspended * self.rate
        yield "dissolved solids are the dry substance", PERCENT * out.dissolved, self.dry_substance * out.solution
        yield "sucrose is the purity of the solids", PERCENT * out.sucrose, self.purity * out.dissolved
        yield "reducing sugars are their share", PERCENT * out.reducing_sugars, self.reducing_sugars * out.non_sucrose
        yield "ash is its share", PERCENT * out.ash, self.ash * out.non_sucrose
        yield "colour comes with the dissolved solids", out.colour, self.colour * out.dissolved
        yield "it has its temperature", out.temperature, self.temperature

    def _fibre(self) -> float:
        return 0.0

    def estimate(self) -> Mapping[str, float]:
        """The composition itself."""
        rate, fibre = float(self.rate), self._fibre()
        suspended = rate * float(self.suspended) / 100.0
        dissolved = (rate - fibre - suspended) * float(self.dry_substance) / 100.0
        sucrose = dissolved * float(self.purity) / 100.0
        non_sucrose = dissolved - sucrose
        parts = {
            "water": rate - fibre - suspended - dissolved,
            "sucrose": sucrose,
            **_shared(non_sucrose, float(self.reducing_sugars), float(self.ash)),
            "suspended": suspended,
            "colour": float(self.colour) * dissolved,
            "temperature": float(self.temperature),
        }
        return {f"{self._stream().prefix}.{c}": v for c, v in parts.items()}


def _shared(non_sucrose: float, reducing_sugars: float, ash: float) -> dict[str, float]:
    return {
        "reducing_sugars": non_sucrose * reducing_sugars / 100.0,
        "ash": non_sucrose * ash / 100.0,
        "other": non_sucrose * (100.0 - reducing_sugars - ash) / 100.0,
    }


class LiquorSupply(_Solution):
    """Clear juice, syrup, liquor, molasses or sweet water from outside the described plant.

    Ranges: clear juice 13-17 % dry substance, syrup 60-68 %, refinery liquor 64-68 % (common practice, no source).
    """

    kind = "liquor supply"
    liquor = outlet(Liquor)


class JuiceSupply(_Solution):
    """Juice, mud or bagasse from outside the described plant; fibre and suspended solids are on the whole stream."""

    kind = "juice supply"
    juice = outlet(Juice)
    dry_substance = setting("%", 15.0, "true dry substance of the solution", limits=(0.0, 85.0), prior=0.3)
    fibre = setting("%", 0.3, "fibre on the whole stream", limits=(0.0, 70.0), prior=0.1)
    temperature = setting("°C", 35.0, "temperature", limits=(1.0, 120.0))

    def equations(self) -> Equations:
        """The solution with its fibre."""
        yield from super().equations()
        yield "fibre is its share", PERCENT * self.juice.fibre, self.fibre * self.rate

    def _fibre(self) -> float:
        return float(self.rate * self.fibre) / 100.0

    def estimate(self) -> Mapping[str, float]:
        """The composition itself."""
        return {**super().estimate(), f"{self.juice.prefix}.fibre": self._fibre()}


class _Crystals(Station):
    """Crystals of pure sucrose in a film or mother liquor of a stated purity.

    Crystal follows from the two purities: ``crystal (100 - mother liquor purity) = solids (purity - mother liquor
    purity)`` (definition). Colour is on all solids; a stated share of it is in the film, the rest inside the crystal.
    """

    boundary = True

    rate = setting("t/h", 50.0, "rate while running", limits=(0.0, 1000.0), prior=1.0)
    moisture = setting("%", 8.0, "water on the whole stream", limits=(0.0, 40.0), prior=0.3)
    purity = setting("%", 87.0, "true purity of all solids", limits=(30.0, 100.0), prior=0.5)
    film_purity = setting(
        "%", 70.0, "true purity of the mother liquor or film; at most the purity", limits=(15.0, 99.99), prior=1.0
    )
    reducing_sugars = setting("%", 27.0, "reducing sugars on non-sucrose", limits=(0.0, 100.0), prior=3.0)
    ash = setting("%", 22.0, "soluble ash on non-sucrose", limits=(0.0, 100.0), prior=3.0)
    suspended = setting("%", 0.0, "suspended solids on the whole stream", limits=(0.0, 5.0))
    colour = setting("IU", 12000.0, "colour on all solids", limits=(0.0, 100000.0), prior=800.0)
    colour_in_film = setting("%", 99.0, "share of the colour outside the crystal", limits=(0.0, 100.0), prior=2.0)
    temperature = setting("°C", 66.0, "temperature", limits=(1.0, 110.0))

    def _stream(self) -> Massecuite:
        stream = self.leaving[0]
        if not isinstance(stream, Massecuite):
            raise TypeError(f"{self.name} gives no massecuite or sugar")
        return stream

    def equations(self) -> Equations:
        """Rate, moisture and the purities of the whole and of the film make the stream."""
        out = self._stream()
        colour = self.colour * out.solids
        yield "it comes at the rate", out.flow, self.rate
        yield "water is the moisture", PERCENT * out.water, self.moisture * self.rate
        yield "suspended solids are their share", PERCENT * out.suspended, self.suspended * self.rate
        yield "purity is that of all solids", PERCENT * (out.sucrose + out.crystal), self.purity * out.solids
        yield "dissolved sucrose is the purity of the film", PERCENT * out.sucrose, self.film_purity * out.dissolved
        yield "reducing sugars are their share", PERCENT * out.reducing_sugars, self.reducing_sugars * out.non_sucrose
        yield "ash is its share", PERCENT * out.ash, self.ash * out.non_sucrose
        yield "colour outside the crystal is its share", PERCENT * out.colour, self.colour_in_film * colour
        yield "the rest of the colour is in the crystal", out.total_colour, colour
        yield "it has its temperature", out.temperature, self.temperature

    def estimate(self) -> Mapping[str, float]:
        """The composition itself."""
        rate = float(self.rate)
        solids = rate * (100.0 - float(self.moisture) - float(self.suspended)) / 100.0
        purity, film = float(self.purity), float(self.film_purity)
        non_sucrose = solids * (100.0 - purity) / 100.0
        sucrose = non_sucrose * film / (100.0 - film)
        colour, outside = float(self.colour) * solids, float(self.colour_in_film) / 100.0
        parts = {
            "water": rate * float(self.moisture) / 100.0,
            "sucrose": sucrose,
            "crystal": solids - non_sucrose - sucrose,
            **_shared(non_sucrose, float(self.reducing_sugars), float(self.ash)),
            "suspended": rate * float(self.suspended) / 100.0,
            "colour": colour * outside,
            "crystal_colour": colour * (1.0 - outside),
            "temperature": float(self.temperature),
        }
        return {f"{self._stream().prefix}.{c}": v for c, v in parts.items()}


class MassecuiteSupply(_Crystals):
    """Massecuite or magma from outside the described plant."""

    kind = "massecuite supply"
    massecuite = outlet(Massecuite)


class SugarSupply(_Crystals):
    """Raw or white sugar from outside: crystal with its film of molasses. Raw: 1000-6000 IU (from memory)."""

    kind = "sugar supply"
    sugar = outlet(Massecuite)
    hazards = ("Sugar dust explodes: housekeeping, earthing and venting follow local codes.",)

    moisture = setting("%", 0.25, "water on the whole stream", limits=(0.0, 5.0), prior=0.05)
    purity = setting("%", 99.2, "true purity of all solids", limits=(80.0, 100.0), prior=0.1)
    film_purity = setting("%", 65.0, "true purity of the film; at most the purity", limits=(15.0, 99.99), prior=3.0)
    colour = setting("IU", 1200.0, "colour on all solids", limits=(0.0, 30000.0), prior=100.0)
    colour_in_film = setting("%", 60.0, "share of the colour outside the crystal", limits=(0.0, 100.0), prior=8.0)
    temperature = setting("°C", 32.0, "temperature", limits=(1.0, 110.0))
