"""The cheapest meters of a plant: chosen, checked against every subset, and refused in words."""

from __future__ import annotations

from itertools import combinations

import pytest

from accounts.small_mill import TEXT, small
from canewright.accounts.outfit import Offered, OutfitRefused, cheapest_meters, read_offers
from canewright.plant.plant import Plant

HEAD = "name,stream,quantity,uncertainty,price\n"
OFFERS = HEAD + (
    "bagasse belt,mill 5.bagasse,mass,0.8 %,9000\n"
    "second cane scale,cane.cane,mass,0.2 %,20000\n"
    "bagasse belt two,bagasse,mass,1.5 %,4000\n"
    "juice flow,mixed juice,mass,0.5 %,7000\n"
    "water flow,imbibition.water,mass,1 %,2500\n"
)
BAGASSE = "mass of mill 5.bagasse"


def _offers(text: str = OFFERS) -> list[Offered]:
    return read_offers(small(), text.encode())


def test_the_cheapest_set_is_the_cheapest_of_all_subsets_that_do() -> None:
    """Bagasse follows from cane, water and juice; one meter more checks it, and the cheapest of those is enough."""
    found = cheapest_meters(small(), [BAGASSE], _offers())
    prices = {o.name: o.price for o in _offers()}
    assert found.cost == sum(prices[o.name] for o in found.buy)
    good = []
    for size in range(len(prices) + 1):
        for names in combinations(prices, size):
            free = [o if o.name not in names else Offered(o.name, o.stream, o.quantity, o.uncertainty, o.relative, 0.0)
                    for o in _offers()]  # fmt: skip
            if cheapest_meters(small(), [BAGASSE], free).cost == 0.0:
                good.append(sum(prices[n] for n in names))
    assert found.cost == min(good)
    (told,) = found.wanted
    assert told.after < told.before
    assert told.unit == "t"


def test_what_is_checked_already_needs_nothing() -> None:
    weighed = Plant.from_text(TEXT + '\n[[meters]]\ntag = "belt"\nstream = "mill 5.bagasse"\nquantity = "mass"\n'
                              'uncertainty = "1 %"\n')  # fmt: skip
    found = cheapest_meters(weighed, [BAGASSE], read_offers(weighed, OFFERS.encode()))
    assert found.buy == ()
    assert found.cost == 0.0


def test_the_interval_with_the_set_is_that_of_a_plant_with_those_meters() -> None:
    """The same meter written into the description gives the same uncertainty."""
    found = cheapest_meters(small(), [BAGASSE], _offers(HEAD + "belt,mill 5.bagasse,mass,0.8 %,9000\n"))
    with_it = Plant.from_text(TEXT + '\n[[meters]]\ntag = "belt"\nstream = "mill 5.bagasse"\nquantity = "mass"\n'
                              'uncertainty = "0.8 %"\n')  # fmt: skip
    state = with_it.predict()
    read = {m.tag: state.measured(m.stream, m.quantity) for m in with_it.description.meters}
    day = with_it.reconcile(read, start=state)
    ((_, spread),) = day.with_uncertainty(lambda v: [with_it.assembly.measured("mill 5.bagasse", "mass", v)])
    assert found.wanted[0].after == pytest.approx(spread, rel=0.01)


def test_what_no_offer_makes_checkable_is_refused_with_what_leaves_it_loose() -> None:
    with pytest.raises(OutfitRefused, match=r"'fibre of cane' cannot be made checkable: (no|only \d of the) candidate"):
        cheapest_meters(small(), ["fibre of cane"], _offers(HEAD + "water flow,imbibition.water,mass,1 %,2500\n"))


@pytest.mark.parametrize(
    ("wanted", "says"),
    [
        ("pol extracton", "did you mean 'pol extraction'"),
        ("purty of mixed juice", "of mixed juice"),
        ("pol of nowhere", "or such as 'pol of bagasse'"),
    ],
)
def test_an_unknown_quantity_is_refused_with_what_there_is(wanted: str, says: str) -> None:
    with pytest.raises(OutfitRefused, match=says):
        cheapest_meters(small(), [wanted], _offers())


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "row 1: found an empty file; accepted: name,stream,quantity,uncertainty,price"),
        ("a,b\n", "row 1: found a,b; accepted: name,stream,quantity,uncertainty,price"),
        (HEAD, "no candidate meters; give a row for each"),
        (HEAD + "a,mill 5.bagase,mass,1 %,5\n", "row 2, stream: found 'mill 5.bagase'; accepted: did you mean"),
        (HEAD + "a,mill 5.bagasse,colur,1 %,5\n", "row 2, quantity: found 'colur'"),
        (HEAD + "a,mill 5.bagasse,mass,0,5\n", "row 2, uncertainty: found '0'; accepted: a number above zero"),
        (HEAD + "a,mill 5.bagasse,mass,-1 %,5\n", "row 2, uncertainty: found '-1 %'"),
        (HEAD + "a,mill 5.bagasse,mass,1 %,-5\n", "row 2, price: found '-5'; accepted: a number of zero or more"),
        (HEAD + "a,mill 5.bagasse,mass,1 %,nan\n", "row 2, price: found 'nan'"),
        (HEAD + "a,mill 5.bagasse,mass\n", "row 2: found 3 cells; accepted: 5"),
        (HEAD + "cane scale,mill 5.bagasse,mass,1 %,5\n", "a meter of the plant; accepted: a name of its own"),
    ],
)
def test_a_bad_file_of_candidates_is_refused_by_row_and_column(text: str, says: str) -> None:
    with pytest.raises(OutfitRefused) as refused:
        _offers(text)
    assert says in str(refused.value)
