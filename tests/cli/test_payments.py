"""Payment at the command line, from the agreement to the paper, and how it refuses."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from accounts.paid_mill import AGREEMENT, FIRST, SECRET, add_tickets
from canewright.cli import desk
from canewright.cli.commands import app
from canewright.store import Store
from store.samples import Clock

MILL = Path(__file__).parents[1] / "web" / "mill.toml"
Say = Callable[..., str]


@pytest.fixture(autouse=True)
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    """A screen on which no sentence is broken."""
    monkeypatch.setattr(desk.out, "_width", 1000)
    monkeypatch.setattr(desk.trouble, "_width", 1000)


def run(*words: object, typed: str | None = None) -> Result:
    result = CliRunner().invoke(app, [str(w) for w in words], input=typed, env={"COLUMNS": "1000", "NO_COLOR": "1"})
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    return result


def refused(*words: object, code: int) -> str:
    result = run(*words)
    assert result.exit_code == code, result.output
    return result.output


def done(*words: object, typed: str | None = None) -> str:
    result = run(*words, typed=typed)
    assert result.exit_code == 0, result.output
    return result.output


@pytest.fixture
def business(tmp_path: Path) -> Path:
    """A mill with tickets of a day and two persons; the passphrase lies in a file beside it."""
    folder = tmp_path / "mill"
    with Store.create(folder, now=Clock()) as store:
        add_tickets(store, FIRST)
    (folder / "plant.toml").write_text(MILL.read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "secret").write_text(f"{SECRET}\n", encoding="utf-8")
    (tmp_path / "agreement.toml").write_text(AGREEMENT, encoding="utf-8")
    rights = ("--right", "administer", "--right", "prepare", "--right", "approve")
    done("pay", "person", "officer", *rights, "--business", folder, "--reason", "takes up the post",
         "--new-passphrase-file", tmp_path / "secret")  # fmt: skip
    done("pay", "person", "accountant", "--right", "approve", *at(folder, "officer"), "--reason", "takes up the post",
         "--new-passphrase-file", tmp_path / "secret")  # fmt: skip
    return folder


def at(business: Path, by: str) -> tuple[object, ...]:
    """Business, person and passphrase of a command."""
    return "--business", business, "--by", by, "--passphrase-file", business.parent / "secret"


def season(business: Path, by: str, *more: object) -> tuple[object, ...]:
    return *at(business, by), "--season", "2026", *more


def agree(business: Path) -> None:
    done("pay", "agree", business.parent / "agreement.toml", *at(business, "officer"), "--reason", "signed")


def test_from_agreement_to_paper(business: Path, tmp_path: Path) -> None:
    agree(business)
    assert "preview, nothing is stored" in done("pay", "preview", *season(business, "officer"))
    told = json.loads(done("pay", "preview", *season(business, "officer", "--json")))
    assert told["number"] == 1
    assert "farm 1" in done("pay", "compute", *season(business, "officer"))
    for person in ("officer", "accountant"):
        assert person in done("pay", "approve", *season(business, person, "--run", 1))
    closed = done("pay", "close", *season(business, "accountant", "--run", 1))
    assert "run 1: closed by accountant" in closed
    assert f"payable {told['payable']} $" in closed
    shown = done("pay", "statement", *season(business, "officer", "--run", 1, "--grower", "farm 2"))
    assert "payable now" in shown
    assert "mean of the fibre class on the day" in shown
    pdf, book = tmp_path / "out" / "s.pdf", tmp_path / "out" / "s.xlsx"
    done(
        "pay", "statement", *season(business, "officer", "--run", 1, "--grower", "farm 2", "--pdf", pdf, "--xlsx", book)
    )
    assert pdf.read_bytes().startswith(b"%PDF")
    assert book.read_bytes().startswith(b"PK")
    as_data = json.loads(
        done("pay", "statement", *season(business, "officer", "--run", 1, "--grower", "farm 2", "--json"))
    )
    assert as_data == told["statements"]["farm 2"]
    assert "wrote 2 statements" in done(
        "pay", "print", *season(business, "officer", "--run", 1, "--folder", tmp_path / "p")
    )
    assert sorted(f.name for f in (tmp_path / "p").iterdir()) == ["2026-1-farm-1.pdf", "2026-1-farm-2.pdf"]
    done("pay", "correct", *season(business, "officer", "--grower", "farm 1", "--amount", "5.00", "--period", 1,
                                   "--reason", "demurrage"))  # fmt: skip
    assert "new line: farm 1, period 1: 5.00 $, demurrage" in done("pay", "compute", *season(business, "officer"))
    assert "rejected" in done("pay", "reject", *season(business, "accountant", "--run", 2, "--reason", "too early"))
    listed = done("pay", "runs", *season(business, "officer"))
    assert "run 1: closed" in listed
    assert "run 2: rejected" in listed


def test_the_passphrase_is_asked_for(business: Path) -> None:
    words = ("pay", "runs", "--business", business, "--by", "officer", "--season", "2026")
    assert done(*words, typed=f"{SECRET}\n").startswith("passphrase of officer")
    wrong = run(*words, typed="something else\n")
    assert wrong.exit_code == 1
    assert "The name or the passphrase is wrong." in wrong.output
    typed = f"{SECRET}\nfour black stones\nfour black stones\n"
    words_of_person = (
        "pay",
        "person",
        "clerk",
        "--right",
        "read",
        "--business",
        business,
        "--by",
        "officer",
        "--reason",
        "new",
    )
    said = done(*words_of_person, typed=typed)
    assert "clerk: read" in said
    assert "clerk: read" in done("pay", "people", "--business", business)


def test_two_persons_and_rights(business: Path) -> None:
    agree(business)
    assert "takes the right to 'prepare'" in refused("pay", "compute", *season(business, "accountant"), code=1)
    done("pay", "compute", *season(business, "officer"))
    done("pay", "approve", *season(business, "officer", "--run", 1))
    assert "a second person must approve" in refused("pay", "approve", *season(business, "officer", "--run", 1), code=1)
    assert "two different persons" in refused("pay", "close", *season(business, "officer", "--run", 1), code=1)
    assert "not allowed" not in done("pay", "person", "accountant", "--keep-passphrase", *at(business, "officer"),
                                     "--reason", "left")  # fmt: skip
    assert "takes the right to 'approve'" in refused(
        "pay", "approve", *season(business, "accountant", "--run", 1), code=1
    )


def test_a_bad_agreement_is_told_by_line_and_field(business: Path) -> None:
    file = business.parent / "bad.toml"
    file.write_text(
        AGREEMENT.replace('constant = "0.578"\n[schemes', "[schemes").replace("0.70", "7.0"), encoding="utf-8"
    )
    for words in (("pay", "check", file), ("pay", "agree", file, *at(business, "officer"), "--reason", "x")):
        said = refused(*words, code=2)
        assert "the agreement has 2 fault(s), nothing was stored" in said
        assert "line 11: schemes.main.terms 1.constant: found nothing; accepted: constant of the agreement" in said
        assert "periods 1.advance: found '7.0'" in said
    assert "cannot be read" in refused("pay", "check", business / "none.toml", code=2)
    assert "season 2026" in done("pay", "check", business.parent / "agreement.toml")


def test_a_gap_and_prices_after_closing_change_nothing(business: Path) -> None:
    file = business.parent / "agreement.toml"
    file.write_text(
        AGREEMENT.replace('scheme = "main"\n\n', 'scheme = "main"\nfrom = 2026-07-08\n\n'), encoding="utf-8"
    )
    agree(business)
    said = refused("pay", "compute", *season(business, "officer"), code=2)
    assert "farm 1, 2026-07-06: no agreement holds on that day (an agreement gap)" in said
    file.write_text(AGREEMENT, encoding="utf-8")
    agree(business)
    done("pay", "compute", *season(business, "officer"))
    for person in ("officer", "accountant"):
        done("pay", "approve", *season(business, person, "--run", 1))
    done("pay", "close", *season(business, "officer", "--run", 1))
    file.write_text(AGREEMENT.replace('"420.00"', '"480.00"'), encoding="utf-8")
    said = refused("pay", "agree", file, *at(business, "officer"), "--reason", "price rose", code=2)
    assert "period 1 is closed and was paid with sugar_price" in said


def test_odd_words_are_refused_in_a_sentence(business: Path) -> None:
    agree(business)
    assert "Season '1999' has no agreement" in refused(
        "pay", "compute", *at(business, "officer"), "--season", "1999", code=1
    )
    assert "has no run 7" in refused("pay", "approve", *season(business, "officer", "--run", 7), code=1)
    done("pay", "compute", *season(business, "officer"))
    assert "no statement for 'ghost'" in refused(
        "pay", "statement", *season(business, "officer", "--run", 1, "--grower", "ghost"), code=1
    )
    assert "amount: found 'lots'" in refused(
        "pay", "correct", *season(business, "officer", "--grower", "farm 1", "--amount", "lots", "--period", 1,
                                  "--reason", "x"), code=1,
    )  # fmt: skip
    assert "'fly' is not a right" in refused(
        "pay", "person", "x", "--right", "fly", *at(business, "officer"), "--reason", "x", "--keep-passphrase", code=1
    )
    missing = ("--business", business, "--by", "officer", "--passphrase-file", business / "none")
    assert "cannot be read" in refused("pay", "runs", *missing, "--season", "2026", code=2)
    blocked = business / "plant.toml" / "s.pdf"
    assert "cannot be written" in refused(
        "pay", "statement", *season(business, "officer", "--run", 1, "--grower", "farm 1", "--pdf", blocked), code=1
    )


@pytest.mark.parametrize(
    "command",
    ["agree", "approve", "check", "close", "compute", "correct", "people", "person", "preview", "print", "reject",
     "runs", "schemes", "statement"],
)  # fmt: skip
def test_every_command_says_what_it_takes(command: str) -> None:
    assert command in done("pay", "--help")
    said = done("pay", command, "--help")
    assert "Usage" in said
    assert run("pay", command, "--no-such-option").exit_code == 2


def test_schemes_are_listed_and_told() -> None:
    listed = done("pay", "schemes")
    assert "classic CCS price, version 1: Two thirds" in listed
    told = done("pay", "schemes", "recoverable", "value")
    assert "RV = S - d N - c F" in told
    assert "published: 0.400022 in August 2019 (read)" in told
    assert "no scheme is called 'recovrable'; nearest: recoverable value" in refused(
        "pay", "schemes", "recovrable", code=2
    )
