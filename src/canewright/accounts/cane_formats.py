"""The files of the cane supply, declared once: the registers, and the deliveries of a season."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from canewright.accounts.formats import Column, FileFormat
from canewright.cane.registers import CROP_CLASSES, PLANTING_METHODS
from canewright.store.records import QUALITIES

MATURITY = ("early", "mid", "late")
SOILS = ("dry", "usual", "wet")
CARRIAGE = ("rail", "road")
ESTIMATE_METHODS = ("eye", "aerial picture", "model")
ORDER_REASONS = ("burnt", "diseased", "frost", "plough-out", "seed cane", "other")


@dataclass(frozen=True)
class RegisterFormat:
    """A register: its name, its file, and which columns name an entry of another register."""

    name: str
    form: FileFormat
    refers: dict[str, str] = field(default_factory=dict)

    @property
    def key(self) -> Column:
        """The column of the number or name."""
        return self.form.columns[0]

    @property
    def fields(self) -> tuple[Column, ...]:
        """The columns of what holds from the day."""
        return self.form.columns[2:]


def _text(name: str, says: str, example: str) -> Column:
    return Column(name, "text", says, example=example)


def _number(name: str, says: str, unit: str, low: float, high: float, example: str) -> Column:
    return Column(name, "number", says, unit, low, high, example=example)


def _choice(name: str, says: str, choices: tuple[str, ...], example: str) -> Column:
    return Column(name, "choice", says, example=example, choices=choices)


def _date(name: str, says: str, example: str) -> Column:
    return Column(name, "date", says, example=example)


VALID_FROM = _date(
    "valid from", "the first day on which the row holds, until the next row of the same key", "2026-04-01"
)


def _register(name: str, says: str, *columns: Column, refers: dict[str, str] | None = None) -> RegisterFormat:
    file = f"{name.replace(' ', '-')}s.csv".replace("ys.csv", "ies.csv")
    first, *others = columns
    return RegisterFormat(name, FileFormat(file, says, (first, VALID_FROM, *others)), refers or {})


def _when_known(name: str, kind: Literal["number", "date"], says: str, unit: str, high: float, example: str) -> Column:
    return Column(name, kind, says, unit, 0.0, high, "when not known", example)


HARVEST_REGISTERS: tuple[RegisterFormat, ...] = (
    _register(
        "estimate",
        "estimates of the crop of blocks; a newer one gets a row from its day and the old one stays",
        _text("block", "number of the block", "017-3"),
        _number("yield", "cane expected", "t/ha", 1.0, 400.0, "86"),
        _choice("method", "how it was estimated", ESTIMATE_METHODS, "eye"),
        _text("estimator", "who estimated", "field officer 2"),
        refers={"block": "block"},
    ),
    _register(
        "ripeness sample",
        "ripeness samples of blocks, valid from the day of sampling; their fibre is assumed, so they never pay",
        _text("block", "number of the block", "017-3"),
        _number("CCS", "commercial cane sugar of the sample", "%", 2.0, 20.0, "12.6"),
        refers={"block": "block"},
    ),
    _register(
        "harvest order",
        "what must be cut early, late, or by a day; a newer row of a block takes the place of the older one",
        _text("block", "number of the block", "017-3"),
        _when_known("not before", "date", "the first day on which it may be cut", "", 0.0, "2026-06-15"),
        _when_known("not after", "date", "the last day on which it may be cut", "", 0.0, "2026-06-20"),
        _choice("why", "why it is ordered", ORDER_REASONS, "burnt"),
        refers={"block": "block"},
    ),
    _register(
        "crush week",
        "weeks of the season with what the mill can crush; a newer forecast gets a row from its day",
        _date("week", "first day of the seven", "2026-06-01"),
        _number("crush", "most that can be crushed", "t", 0.0, 1e6, "60000"),
        _number("least", "least to keep the mill running", "t", 0.0, 1e6, "33000"),
        _when_known("haulage", "number", "hours of all vehicles together; blank for no limit", "h", 1e6, "2800"),
        _number("dry ground", "share of the week in which it can be cut", "%", 0.0, 100.0, "100"),
        _number("usual ground", "share of the week in which it can be cut", "%", 0.0, 100.0, "95"),
        _number("wet ground", "share of the week in which it can be cut", "%", 0.0, 100.0, "80"),
    ),
)
"""The registers that the harvest plan is made from."""


REGISTERS: dict[str, RegisterFormat] = {
    each.name: each
    for each in (
        _register(
            "grower",
            "account holders: who is paid. Bank and tax details are kept elsewhere",
            _text("grower", "number of the grower", "farm 017"),
            _text("name", "the name on the statement", "Grower 17"),
            _text("statement to", "where the statement is sent", "post"),
        ),
        _register(
            "farm",
            "farms, each of one grower; a farm that changes hands gets a row from that day",
            _text("farm", "number of the farm", "017"),
            _text("grower", "its grower", "farm 017"),
            _text("harvest group", "the group that cuts it", "group 03"),
            _number("haul", "from the farm's siding or pad to the mill", "km", 0.0, 200.0, "14.5"),
            _choice("soil", "how it bears wheels after rain", SOILS, "usual"),
            refers={"grower": "grower", "harvest group": "harvest group"},
        ),
        _register(
            "block",
            "blocks; after a harvest a row with the next crop class, after planting one with class P",
            _text("block", "number of the block", "017-3"),
            _text("farm", "its farm", "017"),
            _number("area", "area under cane", "ha", 0.01, 500.0, "12.5"),
            _text("variety", "its variety", "late 1"),
            _choice("crop class", "P for plant cane, R1 and on for ratoons", CROP_CLASSES, "R1"),
            _date("started", "day of planting (class P) or of the last harvest", "2025-09-12"),
            _choice("planting method", "how it was planted", PLANTING_METHODS, "billets"),
            _text("fibre class", "the class by which its fibre is measured", "green late"),
            refers={"farm": "farm", "variety": "variety"},
        ),
        _register(
            "variety",
            "varieties of cane",
            _text("variety", "name of the variety", "late 1"),
            _choice("maturity", "when it ripens in the season", MATURITY, "late"),
        ),
        _register(
            "harvest group",
            "groups of farms that share a harvester",
            _text("harvest group", "number of the group", "group 03"),
            _number("pour rate", "cane cut while cutting", "t/h", 1.0, 500.0, "60"),
            _number("start", "clock hour at which cutting starts", "h", 0.0, 24.0, "6"),
            _number("stop", "clock hour at which cutting stops", "h", 0.0, 24.0, "18"),
        ),
        _register(
            "carrier",
            "who brings the cane to the mill",
            _text("carrier", "name of the carrier", "mill railway"),
            _choice("carriage", "by rail or by road", CARRIAGE, "rail"),
            _number("payload", "usual net load of one trip", "t", 1.0, 2000.0, "36"),
        ),
        _register(
            "agreement",
            "agreements by which growers deliver and are paid, by season",
            _text("agreement", "number of the agreement", "2026-017"),
            _text("grower", "the grower who signed it", "farm 017"),
            _text("season", "the season it is for", "2026"),
            _text("scheme", "the payment scheme agreed", "classic CCS"),
            _date("until", "its last day", "2026-12-31"),
            refers={"grower": "grower"},
        ),
        _register(
            "bin",
            "bins or vehicles with their stored tare; each weighing empty gives a row from that day",
            _text("bin", "number of the bin", "bin 0412"),
            _number("tare", "weight empty", "kg", 100.0, 60000.0, "1920"),
        ),
        *HARVEST_REGISTERS,
    )
}
"""Every register by its name, those referred to before those that refer to them where both come in one folder."""


def _time(name: str, says: str, example: str) -> Column:
    return Column(name, "time", says, blank="when not known", example=example)


SEASON_DELIVERIES = FileFormat(
    "season-deliveries.csv",
    "consignments of any number of factory days with their masses, times and first-expressed juice, one a row",
    (
        _text("ticket", "number of the consignment note; once a season", "1042"),
        _date("factory day", "the factory day in which it was tipped", "2026-07-14"),
        _text("grower", "number of the grower, as in the register", "farm 017"),
        _text("block", "number of the block, as in the register", "017-3"),
        _text("harvest group", "who cut it, as in the register", "group 03"),
        _text("carrier", "who brought it, as in the register", "mill railway"),
        _text("fibre class", "class by which its fibre is measured", "green late"),
        _time("cut", "middle of the time of cutting", "2026-07-13 15:20"),
        _time("arrived", "over the weighbridge", "2026-07-13 19:05"),
        Column("tipped", "time", "when it was tipped", example="2026-07-14 06:40"),
        _time("sampled from", "first juice into the sample", "2026-07-14 06:46:00"),
        _time("sampled to", "last juice into the sample", "2026-07-14 06:49:00"),
        _number("gross", "weight with the bins or vehicle", "t", 0.5, 500.0, "47.52"),
        Column("tare", "number", "stored or weighed weight of the bins or vehicle", "t", 0.0, 400.0, example="11.52"),
        Column(
            "bins", "text", "numbers of the bins, parted by semicolons", blank="when not known", example="0412;0077"
        ),
        Column("juice brix", "number", "first-expressed juice", "%", 5.0, 30.0, "when bad or missing", "20.41"),
        Column("juice pol", "number", "first-expressed juice", "%", 1.0, 28.0, "when bad or missing", "18.27"),
        Column("fibre", "number", "measured on this consignment", "%", 5.0, 30.0, "when not known", "14.1"),
        _choice("quality", "whether the juice may be used", QUALITIES, "good"),
    ),
)
CANE_FORMATS: tuple[FileFormat, ...] = (*(each.form for each in REGISTERS.values()), SEASON_DELIVERIES)
