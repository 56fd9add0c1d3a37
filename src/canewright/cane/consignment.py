"""One consignment of cane: its mass, its juice sample, and its CCS from raw readings with uncertainty."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from decimal import Decimal

from canewright.analysis.brix import corrected_brix
from canewright.analysis.cane import brix_in_cane, ccs, ccs_of_cane, pol_in_cane
from canewright.analysis.polarimetry import pol_from_polarimeter
from canewright.cane.propagation import figure_of
from canewright.quantity import Figure


class ConsignmentRefused(ValueError):
    """A consignment that makes no sense as it stands: masses, names or fibre."""


@dataclass(frozen=True)
class JuiceSample:
    """Readings on the first expressed juice of one consignment.

    ``refractometer`` is the brix as read; ``temperature`` of the prism in °C, None for an instrument that compensates
    itself; ``polarimeter`` °Z of the undiluted juice in a 200 mm tube, None where the laboratory gives the pol of the
    juice itself, ``juice_pol`` %. ``rejected_because`` is a person's reason for setting the sample aside;
    ``confirmed_by`` the person who looked at an unlikely sample and accepts it. Raises ConsignmentRefused without pol.
    """

    refractometer: float
    polarimeter: float | None
    temperature: float | None = None
    rejected_because: str = ""
    confirmed_by: str = ""
    juice_pol: float | None = None

    def __post_init__(self) -> None:
        """Refuse a sample without pol, or with two."""
        if (self.polarimeter is None) == (self.juice_pol is None):
            raise ConsignmentRefused("a juice sample needs either a polarimeter reading or the pol of the juice")


@dataclass(frozen=True)
class ClassFibre:
    """Fibre % cane of a fibre class: rolling mean, standard uncertainty for one consignment, and number of samples."""

    name: str
    fibre: float
    uncertainty: float | None = 0.5
    samples: int = 0


@dataclass(frozen=True)
class SampleUncertainty:
    """Standard uncertainties of the readings, sampling included.

    The defaults are usual values (common practice, no source); duplicate data of the site should replace them.
    """

    refractometer: float | None = 0.08
    temperature: float | None = 0.3
    polarimeter: float | None = 0.40
    juice_pol: float | None = 0.10


@dataclass(frozen=True)
class Consignment:
    """Cane of one grower and one block, weighed together. Masses in t, exact as the weighbridge printed them.

    Raises ConsignmentRefused when a name is empty or the masses or fibre cannot be.
    """

    ticket: str
    day: dt.date
    grower: str
    block: str
    gross: Decimal
    tare: Decimal
    fibre: ClassFibre
    juice: JuiceSample | None = None
    uncertainty: SampleUncertainty = field(default_factory=SampleUncertainty)

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        for name in ("ticket", "grower", "block"):
            if not getattr(self, name).strip():
                raise ConsignmentRefused(f"consignment '{self.ticket}': {name} is empty; complete the consignment note")
        for name, mass in (("gross", self.gross), ("tare", self.tare)):
            if not _is_mass(mass):
                raise ConsignmentRefused(
                    f"ticket {self.ticket}: {name} is {mass}; give tonnes as a decimal number of 0 or more"
                )
        if self.gross <= self.tare:
            raise ConsignmentRefused(
                f"ticket {self.ticket}: gross {self.gross} t is not above tare {self.tare} t; weigh or enter again"
            )
        if not 5.0 <= self.fibre.fibre <= 30.0:
            raise ConsignmentRefused(
                f"ticket {self.ticket}: fibre of class {self.fibre.name} is {self.fibre.fibre} %, accepted 5 to 30 %"
            )

    @property
    def net(self) -> Decimal:
        """Net mass of cane, t."""
        return self.gross - self.tare


def _is_mass(value: object) -> bool:
    return isinstance(value, Decimal) and value.is_finite() and value >= 0


@dataclass(frozen=True)
class JuiceAnalysis:
    """What the readings of a sample come to: brix and pol of juice, apparent purity and CCS of the cane, all %."""

    brix: float
    pol: float
    purity: float
    ccs: float


def analyse(sample: JuiceSample, fibre: float) -> JuiceAnalysis:
    """Brix, pol, purity and CCS from the readings of a sample and the fibre % cane.

    Raises OutOfRange naming the reading that no formula takes.
    """
    juice_brix = sample.refractometer
    if sample.temperature is not None:
        juice_brix = float(corrected_brix(sample.refractometer, sample.temperature))
    juice_pol = sample.juice_pol
    if sample.polarimeter is not None:
        juice_pol = float(pol_from_polarimeter(sample.polarimeter, juice_brix))
    if juice_pol is None:
        raise ConsignmentRefused("a juice sample without pol")
    purity = 100.0 * juice_pol / juice_brix if juice_brix > 0 else float("inf")
    return JuiceAnalysis(juice_brix, juice_pol, purity, float(ccs(juice_brix, juice_pol, fibre)))


def ccs_of_consignment(consignment: Consignment) -> Figure:
    """CCS of a consignment as a tree down to its readings, with first-order standard uncertainty.

    Raises ConsignmentRefused when there is no juice sample, OutOfRange when a reading is outside a formula's range.
    """
    if consignment.juice is None:
        raise ConsignmentRefused(f"ticket {consignment.ticket}: no juice sample; take the fall-back CCS")
    juice_brix = _brix_figure(consignment, consignment.juice)
    juice_pol = _pol_figure(consignment, consignment.juice, juice_brix)
    fibre = _fibre_figure(consignment.fibre)
    in_cane = figure_of(pol_in_cane, [juice_pol, fibre], "pol in cane")
    all_in_cane = figure_of(brix_in_cane, [juice_brix, fibre], "brix in cane")
    return figure_of(ccs_of_cane, [in_cane, all_in_cane], f"CCS of ticket {consignment.ticket}")


def _brix_figure(consignment: Consignment, sample: JuiceSample) -> Figure:
    spread = consignment.uncertainty
    reading = _reading(consignment, "refractometer reading", sample.refractometer, "%", spread.refractometer)
    if sample.temperature is None:
        return reading
    temperature = _reading(consignment, "prism temperature", sample.temperature, "°C", spread.temperature)
    return figure_of(corrected_brix, [reading, temperature], "brix of first expressed juice")


def _pol_figure(consignment: Consignment, sample: JuiceSample, juice_brix: Figure) -> Figure:
    spread = consignment.uncertainty
    if sample.polarimeter is None:
        return _reading(consignment, "juice pol", sample.juice_pol or 0.0, "%", spread.juice_pol)
    reading = _reading(consignment, "polarimeter reading", sample.polarimeter, "°Z", spread.polarimeter)
    return figure_of(pol_from_polarimeter, [reading, juice_brix], "pol of first expressed juice")


def _reading(consignment: Consignment, name: str, value: float, unit: str, uncertainty: float | None) -> Figure:
    where = f"ticket {consignment.ticket}: {name}"
    return Figure(name, value, unit, uncertainty, how="read in the juice laboratory", reading=where)


def _fibre_figure(fibre: ClassFibre) -> Figure:
    how = f"rolling mean of fibre class {fibre.name}, {fibre.samples} samples"
    return Figure("fibre % cane", fibre.fibre, "%", fibre.uncertainty, how=how, reading=f"fibre class {fibre.name}")
