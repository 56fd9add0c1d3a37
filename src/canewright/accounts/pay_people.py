"""Who may do what with payments: persons with rights, and the secret that proves who somebody is.

Rights are checked here, behind every page and command, never in a page. A grower sees statements of his own and nothing
else.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from canewright.store import NoSuchPerson, PayRefused, Store

PREPARE, APPROVE, ADMINISTER, READ, OWN = "prepare", "approve", "administer", "read", "own statements"
RIGHTS = {
    PREPARE: "enter agreements and corrections, compute runs",
    APPROVE: "approve, reject and close runs",
    ADMINISTER: "record persons and their rights",
    READ: "see all runs and statements",
    OWN: "see the statements of one grower",
}
SEES_ALL = {PREPARE, APPROVE, READ}
SHORTEST_SECRET = 8
SALT = 16
COST = {"n": 2**14, "r": 8, "p": 1}
WRONG = "The name or the passphrase is wrong."


class NotAllowed(PayRefused):
    """The person does not hold the right for this."""


@dataclass(frozen=True)
class Signed:
    """A person who has shown the secret, with the rights recorded at that moment."""

    name: str
    rights: frozenset[str]
    grower: str | None

    def need(self, right: str) -> None:
        """Raise NotAllowed without this right."""
        if right not in self.rights:
            raise NotAllowed(f"{self.name} may not do this: it takes the right to '{right}' ({RIGHTS[right]}).")

    def may_see(self, grower: str | None) -> bool:
        """Whether the person may see a grower's statement, or with None the whole run."""
        return bool(self.rights & SEES_ALL) or (grower is not None and OWN in self.rights and grower == self.grower)


class People:
    """The persons of a business; ``chance`` gives so many random octets."""

    def __init__(self, store: Store, chance: Callable[[int], bytes]) -> None:
        """Persons kept in the payment records."""
        self._records = store.payments
        self._chance = chance

    def sign_in(self, name: str, secret: str) -> Signed:
        """The person of this name with this secret. Raises PayRefused, not telling which of the two is wrong."""
        try:
            found = self._records.person(name)
        except NoSuchPerson:
            _hashed(secret, b"nobody" * 3)  # as long as for a name that exists
            raise PayRefused(WRONG) from None
        salt, _, kept = found.secret.partition(":")
        if not kept or not hmac.compare_digest(_hashed(secret, bytes.fromhex(salt)), kept):
            raise PayRefused(WRONG)
        return Signed(found.name, frozenset(found.rights), found.grower)

    def again(self, signed: Signed) -> Signed:
        """The same person with the rights recorded now, which may be fewer. Raises NoSuchPerson."""
        found = self._records.person(signed.name)
        return Signed(found.name, frozenset(found.rights), found.grower)

    def record(
        self,
        by: Signed | None,
        name: str,
        rights: Iterable[str],
        secret: str | None,
        reason: str,
        grower: str | None = None,
    ) -> Signed:
        """Record a person anew; without a secret the former one stays. The very first person needs nobody's right.

        Raises NotAllowed, PayRefused for unknown rights, a short secret or a grower's right without a grower.
        """
        wanted = frozenset(rights)
        if by is not None:
            by.need(ADMINISTER)
        elif self._records.persons():
            raise NotAllowed("Persons are recorded already; sign in as one who may administer.")
        elif ADMINISTER not in wanted:
            raise PayRefused("The first person must hold the right to 'administer', or nobody could record another.")
        _refuse_rights(wanted, grower)
        if secret is not None and len(secret) < SHORTEST_SECRET:
            raise PayRefused(f"The passphrase is too short; give at least {SHORTEST_SECRET} characters.")
        kept = self._records.person(name).secret if secret is None else self._fresh(secret)
        self._records.add_person(name, wanted, grower, kept, by.name if by else name, reason)
        return Signed(name, wanted, grower)

    def _fresh(self, secret: str) -> str:
        salt = self._chance(SALT)
        return f"{salt.hex()}:{_hashed(secret, salt)}"


def _refuse_rights(wanted: frozenset[str], grower: str | None) -> None:
    unknown = sorted(wanted - set(RIGHTS))
    if unknown:
        raise PayRefused(f"'{unknown[0]}' is not a right; accepted: {', '.join(RIGHTS)}.")
    if (OWN in wanted) != (grower is not None):
        raise PayRefused(f"The right to '{OWN}' goes with the name of one grower, and no other right does.")


def _hashed(secret: str, salt: bytes) -> str:
    return hashlib.scrypt(secret.encode("utf-8"), salt=salt, n=COST["n"], r=COST["r"], p=COST["p"]).hex()
