"""Raw sugar to refined sugar in a draft: affination, melting, clarification, carbon, strikes, recovery, drying."""

from __future__ import annotations

from canewright.plant.drafting.draft import Draft, assumed
from canewright.plant.drafting.questions import Answers
from canewright.plant.drafting.raw_house import SIZED

REFINERY = "refinery"
PROPORTION = "in proportion to the melt"
RECOVERY = (
    # brix, wash, film, moisture, dissolving power, crystal loss
    (92.0, 1.2, 4.0, 1.0, 2.0, 2.0),
    (92.5, 0.9, 6.0, 1.5, 1.6, 2.0),
    (93.5, 0.8, 10.0, 2.0, 1.2, 3.0),
)
WATER, STEAM = "refinery hot water.water", "refinery steam.branches"


def refinery(d: Draft, a: Answers, *, steam: str, power: str) -> None:
    """The refinery on steam and power of these outlets; raw sugar comes by rail, and from the mill if there is one."""
    d.station("refinery hot water", "water supply", REFINERY, temperature=82)
    d.station("refinery cooling water", "water supply", REFINERY, temperature=30)
    d.station("refinery air", "air supply", REFINERY, temperature=30, relative_humidity=60)
    d.station("refinery steam", "vapour main", REFINERY)
    melt = a.number("melt")
    d.station(
        "refinery power", "power use", REFINERY, demand=melt.times(56.0, "56 kW for each t/h of melt; common practice")
    )
    d.connect("refinery power.power", power)
    d.roles["exhaust to refinery"] = d.branch(steam)
    d.connect("refinery steam.supply", steam)
    _raw_sugar(d, a)
    _affination(d)
    _melting(d, a)
    _clarifying(d, a)
    _thickening(d, a)
    strikes = a.count("strikes")
    _strikes(d, strikes)
    _recovery(d, strikes)
    _drying(d, a, strikes)
    _meters(d, strikes)


def _raw_sugar(d: Draft, a: Answers) -> None:
    melt = a.number("melt")
    d.station(
        "rail sugar",
        "sugar supply",
        REFINERY,
        rate=melt if "raw dryer" not in d.stations else melt.times(0.3, PROPORTION),
    )
    d.station(
        "raw store", "raw store", REFINERY, rate=melt, stock=melt.times(400.0, PROPORTION),
        capacity=melt.times(1000.0, PROPORTION), colour=assumed(1600, 200), colour_in_film=assumed(60, 8),
    )  # fmt: skip
    d.station("hopper", "hopper", REFINERY, stock=melt.times(10.0, PROPORTION), capacity=melt.times(18.0, PROPORTION))
    d.connect("raw store.receipts", "rail sugar.sugar", *(["raw dryer.dried"] if "raw dryer" in d.stations else []))
    d.line("raw store.sugar", "hopper.sugar")
    d.roles["melted raw"] = "hopper.sugar_out"
    d.price("raw sugar taken from store", "raw store.sugar", "cost", 420)


def _affination(d: Draft) -> None:
    d.station(
        "mingler", "magma mixer", REFINERY, dry_substance=assumed(90.5, 0.5), temperature=assumed(68, 1),
        crystal_dissolved=assumed(3, 2),
    )  # fmt: skip
    d.station(
        "affination centrifugals", "centrifugals", REFINERY, wash_on_massecuite=assumed(2, 0.4), film=assumed(2, 0.4),
        moisture=assumed(0.8, 0.1), machines=assumed(6, because=SIZED),
    )  # fmt: skip
    d.station("affination syrup", "liquor draw", REFINERY)
    d.line("hopper.sugar_out", "mingler.sugar", "affination syrup.part", "mingler.liquor")
    d.line("mingler.magma", "affination centrifugals.massecuite", WATER, "affination centrifugals.wash")
    d.line("affination centrifugals.molasses", "affination syrup.feed")
    d.roles["affined sugar"] = "affination centrifugals.sugar"


def _melting(d: Draft, a: Answers) -> None:
    d.station(
        "refinery melter", "melter", REFINERY, dry_substance=assumed(65, 1), temperature=assumed(80, 1),
        colour_formed=assumed(1.5, 0.5), volume=assumed(40, because=SIZED),
    )  # fmt: skip
    d.station("refinery loss", "undetermined loss", REFINERY, loss=assumed(0.3, 1.5))
    d.connect("refinery melter.sugar", "affination centrifugals.sugar")
    d.connect("refinery melter.sugar", *(f"recovery centrifugals {k}.sugar" for k in (1, 2, 3)))
    d.connect("refinery melter.sweet_water", "scum desweetening.sweet_water")
    d.connect("refinery melter.sweet_water", "liquor filter.sweet_water", "carbon.sweet_water")
    d.line(WATER, "refinery melter.water", STEAM, "refinery melter.steam")
    d.line("refinery melter.liquor", "refinery loss.liquor", "refinery loss.lost", "outside.refinery loss")
    d.roles |= {"melt liquor": "refinery melter.liquor", "refinery loss": "refinery loss.lost"}


def _clarifying(d: Draft, a: Answers) -> None:
    """Strainer, phosphatation with its scum, deep-bed filters, carbon columns."""
    melt = a.number("melt")
    per = melt.value / 46.0
    d.station("strainer", "strainer", REFINERY)
    d.station("phosphatation", "phosphatation", REFINERY, p2o5_dose=assumed(300, 20))
    d.station("scum desweetening", "scum desweetening", REFINERY)
    d.station("liquor filter", "deep-bed filter", REFINERY, area=melt.times(2.8 / 46.0, PROPORTION))
    d.station(
        "carbon", "carbon columns", REFINERY, carbon=melt.times(24.0 / 46.0, PROPORTION),
        liquor_off=assumed(15.0 * per, 3.0 * per, PROPORTION),
        sweetening_water=assumed(60.0 * per, 6.0 * per, PROPORTION), days_between_changes=assumed(3.0, 0.2),
    )  # fmt: skip
    d.line("refinery loss.passed", "strainer.liquor", "strainer.screenings", "outside.screenings")
    d.line("strainer.strained", "phosphatation.liquor", WATER, "phosphatation.water")
    d.line("phosphatation.scum", "scum desweetening.scum", WATER, "scum desweetening.water")
    d.line("scum desweetening.spent", "outside.spent scum", "phosphatation.clarified", "liquor filter.liquor")
    d.line(WATER, "liquor filter.backwash", "liquor filter.sludge", "outside.filter sludge")
    d.line("liquor filter.filtered", "carbon.liquor", WATER, "carbon.water")
    d.roles |= {
        "clarified liquor": "phosphatation.clarified", "filtered liquor": "liquor filter.filtered",
        "fine liquor": "carbon.decolourised",
    }  # fmt: skip


def _thickening(d: Draft, a: Answers) -> None:
    """A triple effect for the fine liquor."""
    d.station("liquor steam valve", "vapour main", REFINERY, pressure_drop=60)
    d.line(STEAM, "liquor steam valve.supply", "liquor steam valve.branches", "liquor effect 1.steam")
    for k, (coefficient, head) in enumerate(((1.1, 0.5), (0.9, 0.7), (0.7, 1.5)), start=1):
        d.station(
            f"liquor effect {k}", "evaporator effect", REFINERY, area=a.number("melt").times(5.6, PROPORTION),
            heat_transfer_coefficient=assumed(coefficient, 0.1), head_rise=head, colour_formed=assumed(0.7, 0.3),
        )  # fmt: skip
        d.connect(
            f"liquor effect {k}.liquor", "carbon.decolourised" if k == 1 else f"liquor effect {k - 1}.concentrated"
        )
        if k > 1:
            d.connect(f"liquor effect {k}.steam", f"liquor effect {k - 1}.vapour")
            d.connect(f"outside.liquor condensate {k}", f"liquor effect {k}.condensate")
    _return_condensate(d, "liquor effect 1")
    d.station("liquor condenser", "condenser", REFINERY, pressure=assumed(22, 1), approach=assumed(8, 1))
    d.line("liquor effect 3.vapour", "liquor condenser.vapours")
    d.line(
        "refinery cooling water.water",
        "liquor condenser.water",
        "liquor condenser.warm",
        "outside.liquor condenser water",
    )
    d.target("liquor effect 3.concentrated", "dry substance", assumed(76, 1), "liquor steam valve.pressure_drop")


def _return_condensate(d: Draft, station: str) -> None:
    """Clean condensate goes to the boilers where the plant has its own, else outside."""
    if "deaerator" in d.stations:
        d.connect("deaerator.condensates", f"{station}.condensate")
    else:
        d.connect(f"outside.{station} condensate", f"{station}.condensate")


def _strikes(d: Draft, strikes: int) -> None:
    d.station("refinery pan condenser", "condenser", REFINERY, pressure=assumed(16, 0.5), approach=assumed(8, 1))
    d.line("refinery cooling water.water", "refinery pan condenser.water")
    d.line("refinery pan condenser.warm", "outside.refinery pan condenser water")
    for k in range(1, strikes + 1):
        feed = "liquor effect 3.concentrated" if k == 1 else f"centrifugals R{k - 1}.molasses"
        _pan(d, f"pan R{k}", feed, 90.5 if k < 4 else 91.0, 53.0 - k if k < 4 else 48.0, 0.09, 5.0)
        _cure(
            d, f"centrifugals R{k}", f"pan R{k}.massecuite", 2.0 + 0.2 * max(k - 2, 0), 1.2 + 0.2 * max(k - 2, 0), 0.9
        )
        _return_condensate(d, f"pan R{k}")


def _pan(d: Draft, name: str, feed: str, brix: float, crystal: float, inclusion: float, colour: float) -> None:
    d.station(
        name, "vacuum pan", REFINERY, brix=assumed(brix, 0.5), exhaustion="crystal content",
        crystal_content=assumed(crystal, 1.5), crystal_inclusion=assumed(inclusion, 0.3 * inclusion),
        colour_formed=assumed(colour, 2.0), volume=assumed(60, because=SIZED),
    )  # fmt: skip
    d.line(feed, f"{name}.feeds", STEAM, f"{name}.steam", f"{name}.vapour", "refinery pan condenser.vapours")


def _cure(d: Draft, name: str, massecuite: str, wash: float, film: float, moisture: float) -> None:
    d.station(
        name, "centrifugals", REFINERY, wash_on_massecuite=assumed(wash, 0.3), film=assumed(film, 0.2 * film),
        moisture=assumed(moisture, 0.1 * moisture), machines=assumed(4, because=SIZED),
    )  # fmt: skip
    d.line(massecuite, f"{name}.massecuite", WATER, f"{name}.wash")


def _recovery(d: Draft, strikes: int) -> None:
    """Jet and affination syrup boiled three times; the sugars are remelted, the last molasses leaves."""
    d.station("recovery feed", "liquor tank", REFINERY)
    d.connect("recovery feed.feeds", f"centrifugals R{strikes}.molasses", "affination syrup.rest")
    for k, (brix, wash, film, moisture, dissolving, loss) in enumerate(RECOVERY, start=1):
        pan, machines = f"recovery pan {k}", f"recovery centrifugals {k}"
        _pan(d, pan, "recovery feed.mixed" if k == 1 else f"recovery centrifugals {k - 1}.molasses", brix, 56, 0.03, 4)
        d.connect(f"outside.{pan} condensate", f"{pan}.condensate")
        _cure(d, machines, f"{pan}.massecuite" if k < 3 else "recovery crystallisers.cooled", wash, film, moisture)
        d.stations[machines].entries |= {"dissolving_power": assumed(dissolving), "crystal_loss": assumed(loss, 1.0)}
    last = d.stations["recovery pan 3"].entries
    last.pop("exhaustion")
    last.pop("crystal_content")
    last["mother_liquor_purity"] = assumed(63, 1.5)
    d.station(
        "recovery crystallisers", "crystalliser", REFINERY, mother_liquor_purity=assumed(56, 1.5),
        temperature=assumed(50, 1), volume=assumed(100, because=SIZED),
    )  # fmt: skip
    d.line("recovery pan 3.massecuite", "recovery crystallisers.massecuite")
    d.line("recovery centrifugals 3.molasses", "outside.refinery molasses")
    d.roles["refinery molasses"] = "recovery centrifugals 3.molasses"
    d.price("refinery molasses", "recovery centrifugals 3.molasses", "income", 110)


def _drying(d: Draft, a: Answers, strikes: int) -> None:
    melt = a.number("melt")
    d.station("refined sugar", "massecuite mixer", REFINERY)
    d.connect("refined sugar.feeds", *(f"centrifugals R{k}.sugar" for k in range(1, strikes + 1)))
    d.station("refined air heater", "air heater", REFINERY, temperature=assumed(88, 1))
    d.station(
        "refined dryer",
        "sugar dryer",
        REFINERY,
        moisture=assumed(0.04, 0.01),
        temperature=assumed(64, 1),
        air_ratio=1.0,
    )
    d.station("refined cooling air", "air supply", REFINERY, given="humidity ratio", humidity_ratio=8, temperature=18)
    d.station("refined cooler", "sugar cooler", REFINERY, temperature=assumed(35, 1), air_ratio=1.1)
    d.station("silo", "silo", REFINERY, stock=melt.times(32.0, PROPORTION), capacity=melt.times(48.0, PROPORTION))
    d.line("refinery air.air", "refined air heater.air", STEAM, "refined air heater.steam")
    _return_condensate(d, "refined air heater")
    d.line("refined sugar.mixed", "refined dryer.sugar", "refined air heater.heated", "refined dryer.air")
    d.line("refined dryer.air_out", "outside.refined dryer air", "refined dryer.dried", "refined cooler.sugar")
    d.line("refined cooling air.air", "refined cooler.air", "refined cooler.air_out", "outside.refined cooler air")
    d.line("refined cooler.cooled", "silo.sugar", "silo.sugar_out", "outside.refined sugar")
    d.roles["refined sugar"] = "refined cooler.cooled"
    d.products["refined sugar"] = {"stream": "refined cooler.cooled", "pol": (99.7, 100.2), "moisture": (0, 0.06)}
    d.price("refined sugar", "refined cooler.cooled", "income", 560)


def _meters(d: Draft, strikes: int) -> None:
    melt, sugar, molasses = "hopper.sugar_out", "refined cooler.cooled", "recovery centrifugals 3.molasses"
    d.meter("melt weight", melt, "mass", "0.3 %")
    d.meter("melted raw pol", melt, "pol", 0.05, "melted raw")
    d.meter("melted raw colour", melt, "colour", "5 %", "melted raw")
    d.meter("affined sugar colour", "affination centrifugals.sugar", "colour", "5 %", "affined sugar")
    d.meter("affination syrup purity", "affination centrifugals.molasses", "apparent purity", 0.4, "affination syrup")
    for sample, stream in (
        ("melt liquor", "refinery melter.liquor"), ("clarified liquor", "phosphatation.clarified"),
        ("filtered liquor", "liquor filter.filtered"), ("fine liquor", "carbon.decolourised"),
    ):  # fmt: skip
        d.meter(f"{sample} colour", stream, "colour", "5 %", sample)
    d.meter("melt liquor brix", "refinery melter.liquor", "refractometer brix", 0.2, "melt liquor")
    d.meter("thick liquor brix", "liquor effect 3.concentrated", "refractometer brix", 0.25, "thick liquor")
    for k in range(1, strikes + 1):
        d.meter(f"strike {k} sugar colour", f"centrifugals R{k}.sugar", "colour", "6 %", f"strike {k} sugar")
        d.meter(f"jet {k} purity", f"centrifugals R{k}.molasses", "apparent purity", 0.3, f"jet {k}")
    d.meter("refined sugar weight", sugar, "mass", "0.3 %")
    d.meter("refined sugar moisture", sugar, "moisture", 0.005, "refined sugar")
    d.meter("refined sugar colour", sugar, "colour", "5 %", "refined sugar")
    d.meter("refinery molasses weight", molasses, "mass", "1 %")
    d.meter("refinery molasses purity", molasses, "apparent purity", 0.5, "refinery molasses")
