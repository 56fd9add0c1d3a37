"""Heat of streams at another temperature than their own, and the warmth of mixtures that may not flow."""

from __future__ import annotations

from canewright.plant.balance import conserve_energy
from canewright.plant.station import Equations, Station
from canewright.plant.streams import Stream
from canewright.quantity import Num, constant

HALF_KELVIN = constant(0.5, "K")
KELVIN = constant(1.0, "K")
TRICKLE = constant(4e-7, "MJ/h/K")
"""Heat capacity flow of a trickle of 1e-7 t/h of water: too small to matter, enough to give nothing a temperature."""


def at_temperature(stream: Stream, temperature: Num) -> Stream:
    """The same stream read as if it had another temperature, °C."""

    def look_up(name: str) -> Num:
        held = name.rpartition(".")[2]
        return temperature if held == "temperature" else getattr(stream, held)

    return type(stream)(look_up, stream.prefix)


def heat_capacity_flow(stream: Stream, temperature: Num) -> Num:
    """Heat to warm a stream by one kelvin about a temperature, MJ/h/K; zero where nothing flows.

    A central difference over one kelvin, exact for liquors because their enthalpy is quadratic in temperature.
    """
    above = at_temperature(stream, temperature + HALF_KELVIN).enthalpy_flow
    below = at_temperature(stream, temperature - HALF_KELVIN).enthalpy_flow
    return (above - below) / KELVIN


def blend_energy(station: Station, leaves: Stream, like: Stream) -> Equations:
    """The energy balance of a station that mixes; where nothing flows, ``leaves`` is as warm as ``like``."""
    for sentence, brought, carried in conserve_energy(station):
        yield sentence, brought, carried + TRICKLE * (leaves.temperature - like.temperature)
