"""Mills by volume: the rolls pass what their work opening sweeps in, and bagasse takes back juice as it leaves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import ClassVar

from canewright.analysis.mill_volumes import compaction, escribed_volume_rate, roll_surface_speed
from canewright.plant.either import lesser
from canewright.plant.liquor_station import KILOGRAMS
from canewright.plant.pressing import PressingStation
from canewright.plant.ratios import SEEPAGE, proportion
from canewright.plant.station import Equations, result, setting
from canewright.plant.streams import PERCENT, Juice
from canewright.properties.sucrose import sucrose_density
from canewright.quantity import Num, constant

METRES = constant(1e-3, "m/mm")
SECONDS = constant(3600.0, "s/h")
SOIL_DENSITY = constant(2600.0, "kg/m³")
"""Density of soil minerals (quartz 2650, clays 2600; from memory)."""
TURNING = constant(60.0 / 6.283185307179586, "kN·m/kW/min")
"""Torque of one kilowatt at one turn a minute."""
NO_JUICE = constant(1e-4, "m³/h")


class VolumetricMill(PressingStation):
    """A mill by its rolls: bagasse without voids is ``k`` times the volume that the delivery opening sweeps.

    ``Ve = π D n L h`` (escribed volume), ``Vb = k Ve``: k, the reabsorption factor, is above 1 because juice runs
    through with the bagasse and is taken up again as it swells: 1.1-1.7 (from memory), 1.37 and 1.35 at two mills of
    a published tandem, there called absorption factor (Soemohandojo, 1980, read). It rises with speed (slope own, to
    be fitted). The feed opening is swept likewise, ``k`` about 1.1 there (same source, read); what it refuses is
    pressed out in front, and too much of that makes the rolls slip. Where ``k Ve`` has room for more than drained
    bagasse keeps, the rolls hardly press: slow them or close them. Murry & Holt 1967, Russell 1968 (from memory);
    fibre of 1,530 kg/m³ (from memory), 1,600 in the handbook.
    """

    kind = "volumetric mill"
    handles: ClassVar[tuple[str, ...]] = ("imbibition", "roll_speed", "work_opening")
    measured: ClassVar[tuple[str, ...]] = (
        "juice refractometer brix",
        "juice pol",
        "bagasse moisture",
        "bagasse pol",
        "power power",
        "roll_speed",
        "work_opening",
    )

    roll_diameter = setting("m", 1.0, "mean diameter of the rolls", limits=(0.3, 2.0))
    roll_length = setting("m", 2.134, "length of the rolls", limits=(0.3, 4.0))
    roll_speed = setting("1/min", 4.5, "turns of the rolls", limits=(0.5, 15.0), prior=0.05)
    work_opening = setting("mm", 40.0, "work opening at the delivery, with its lift", limits=(5.0, 400.0), prior=1.0)
    opening_ratio = setting("1", 2.2, "feed opening on delivery opening", limits=(1.3, 8.0))
    reabsorption_factor = setting(
        "1", 1.35, "no-void volume of bagasse on escribed volume", limits=(0.8, 2.5), prior=0.05
    )
    speed_effect = setting("s/m", 0.5, "rise of the reabsorption factor with surface speed", limits=(0.0, 5.0))
    usual_speed = setting("m/s", 0.235, "surface speed at which the factor was found", limits=(0.02, 1.0))
    feed_factor = setting("1", 1.1, "no-void volume on escribed volume at the feed opening", limits=(0.8, 1.5))
    fibre_density = setting("kg/m³", 1530.0, "density of fibre without voids", limits=(1200.0, 1700.0), prior=30.0)
    drained_liquid = setting(
        "1", 4.0, "liquid on fibre that bagasse keeps without being pressed, t/t", limits=(1.5, 10.0)
    )
    most_torque = setting("kN·m", 3000.0, "torque that the drive and couplings bear", limits=(1.0, 1e5))
    most_in_front = setting("%", 75.0, "juice pressed in front at which the rolls slip", limits=(1.0, 100.0))

    surface_speed = result("m/s", 0.235, "surface speed of the rolls", limits=(0.0, 3.0))
    escribed_volume = result("m³/h", 60.0, "volume that the delivery opening sweeps", limits=(0.0, 1e5))
    volume_fed = result("m³/h", 200.0, "no-void volume of all that enters", limits=(0.0, 1e5))
    bagasse_volume = result("m³/h", 80.0, "no-void volume of the bagasse", limits=(0.0, 1e5))
    fibre_compaction = result("kg/m³", 700.0, "fibre on escribed volume", limits=(0.0, 1e6))
    filling_ratio = result("1", 0.5, "volume of fibre on escribed volume", limits=(0.0, 1e3))
    pressed_in_front = result("%", 10.0, "juice pressed at the feed opening, on juice pressed", limits=(0.0, 100.0))
    torque = result("kN·m", 1500.0, "torque of the drive on the rolls", limits=(0.0, 1e6))

    def pressed(self) -> Equations:
        """The volume that passes the rolls says how much juice stays."""
        speed = roll_surface_speed(self.roll_diameter, self.roll_speed)
        yield "surface speed is circumference by turns", self.surface_speed, speed
        swept = escribed_volume_rate(self.roll_length, METRES * self.work_opening, self.surface_speed)
        yield "escribed volume is swept by the delivery opening", self.escribed_volume, SECONDS * swept
        yield "volume fed is that of its parts without voids", self.volume_fed, self._volume(self.brought)
        yield "volume of bagasse is that of its parts", self.bagasse_volume, self._volume([self.bagasse])
        yield "bagasse fills what the rolls pass, or has drained", *self._filled()
        fibre = self.bagasse.fibre
        yield "compaction is fibre on escribed volume", self.fibre_compaction, compaction(fibre, swept)
        yield "filling is volume of fibre on it", self.filling_ratio * self.fibre_density, self.fibre_compaction
        kept = lesser(self.volume_fed, self.feed_factor * self.opening_ratio * self.escribed_volume)
        pressed = self.volume_fed - self.bagasse_volume + NO_JUICE
        yield "juice pressed in front is what the feed opening refuses", *self._in_front(kept, pressed)
        yield "torque is power by turns", self.torque * self.roll_speed, TURNING * self.power.power

    def _in_front(self, kept: Num, pressed: Num) -> tuple[Num, Num]:
        return self.pressed_in_front * pressed, PERCENT * (self.volume_fed - kept)

    def _filled(self) -> tuple[Num, Num]:
        """Volume of liquid left: what room the rolls leave beside the solids, or all that unpressed bagasse keeps."""
        solids = self._solids_volume([self.bagasse])
        room = self._reabsorption() * self.escribed_volume - solids
        drained = KILOGRAMS * (self.drained_liquid * self.bagasse.fibre) / self._density([self.bagasse])
        return self.bagasse_volume - solids, lesser(room, drained)

    def _reabsorption(self) -> Num:
        return self.reabsorption_factor + self.speed_effect * (self.surface_speed - self.usual_speed)

    def _density(self, streams: Sequence[Juice]) -> Num:
        """Density of the mixed liquid of streams as warm as the bagasse, kg/m³."""
        liquid = sum(s.water + s.dissolved for s in streams) + SEEPAGE
        return sucrose_density(PERCENT * sum(s.dissolved for s in streams) / liquid, self.bagasse.temperature)

    def _solids_volume(self, streams: Sequence[Juice]) -> Num:
        """Volume of fibre and soil, m³/h."""
        fibre = sum(s.fibre for s in streams) / self.fibre_density
        return KILOGRAMS * (fibre + sum(s.suspended for s in streams) / SOIL_DENSITY)

    def _volume(self, streams: Sequence[Juice]) -> Num:
        """No-void volume of streams, m³/h."""
        liquid = sum(s.water + s.dissolved for s in streams)
        return self._solids_volume(streams) + KILOGRAMS * liquid / self._density(streams)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Power and grip; torque; slip where too much juice is pressed in front of the rolls."""
        yield from super().capacities()
        yield "torque within what the drive bears", self.torque, self.most_torque
        yield "juice in front within what lets the rolls grip", self.pressed_in_front, self.most_in_front

    def estimate(self) -> Mapping[str, float]:
        """The volumes themselves, with juice of 1,050 kg/m³."""
        speed = float(roll_surface_speed(float(self.roll_diameter), float(self.roll_speed)))
        swept = 3.6 * speed * float(self.roll_length) * float(self.work_opening)
        density = float(self.fibre_density)
        fibre = sum(float(s.fibre) for s in self.brought)
        fed = 1000.0 * (fibre / density + float(self.liquid) / 1050.0)
        room = float(self.reabsorption_factor) * swept - 1000.0 * fibre / density
        held = min(max(1.05e-3 * room, 0.3 * fibre), float(self.drained_liquid) * fibre)
        power = float(self.specific_power * self.feed.fibre)
        bagasse = 1000.0 * (fibre / density + held / 1050.0)
        results = {
            "surface_speed": speed, "escribed_volume": swept, "volume_fed": fed, "bagasse_volume": bagasse,
            "fibre_compaction": 1000.0 * fibre / swept, "filling_ratio": 1000.0 * fibre / swept / density,
            "pressed_in_front": 5.0, "torque": float(TURNING) * power / float(self.roll_speed),
        }  # fmt: skip
        return {**self._guess(held), **self.own(results)}


class PressureFeeder(VolumetricMill):
    """Two rolls before a mill (or a crusher): they press out the first juice and push the mat into the mill.

    Its juice is the first expressed juice, the richest and purest of the train, taken before any imbibition, of
    about 1.025 times the brix of all juice in cane (public training workbook, read). What it extracts is the
    pre-extraction. Wide openings, slow reabsorption and little power (common practice, no source).
    """

    kind = "pressure feeder"
    measured: ClassVar[tuple[str, ...]] = (
        "pre_extraction", "juice refractometer brix", "juice pol", "power power", "roll_speed", "work_opening",
    )  # fmt: skip
    work_opening = setting("mm", 75.0, "work opening between the rolls", limits=(5.0, 400.0), prior=2.0)
    reabsorption_factor = setting(
        "1", 1.15, "no-void volume of the mat on escribed volume", limits=(0.8, 2.5), prior=0.05
    )
    imbibition_coefficient = setting("1", 1.05, "approach of sucrose to perfect mixing", limits=(0.0, 1.3), prior=0.04)
    non_sucrose_ratio = setting(
        "1", 0.97, "coefficient of non-sucrose on that of sucrose", limits=(0.5, 1.0), prior=0.02
    )
    fibre_to_juice = setting("%", 1.0, "fibre that leaves with the juice", limits=(0.0, 30.0), prior=0.3)
    specific_power = setting("kW/t·h", 3.0, "power for each t/h of fibre", limits=(0.0, 60.0), prior=0.5)
    installed_power = setting("kW", 500.0, "installed power", limits=(1.0, 20000.0))

    pre_extraction = result("%", 40.0, "pre-extraction: sucrose in its juice on sucrose fed", limits=(-0.001, 100.001))

    def equations(self) -> Equations:
        """Those of a mill, and what it extracts before the mills."""
        yield from super().equations()
        drawn = PERCENT * self.juice.sucrose
        yield from proportion("pre-extraction is sucrose drawn", self.pre_extraction, drawn, self.feed.sucrose)

    def estimate(self) -> Mapping[str, float]:
        """As a mill, with two fifths drawn."""
        return {**super().estimate(), **self.own({"pre_extraction": 40.0 if float(self.feed.sucrose) > 0 else 0.0})}
