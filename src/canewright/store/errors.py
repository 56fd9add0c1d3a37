"""What can go wrong with the records of a business, each with a plain sentence for the person at the screen.

StoreError is the root; catch it to catch them all. Whenever one is raised, nothing was stored.
"""

from __future__ import annotations


class StoreError(Exception):
    """Something the records refuse; the message says what, why and what to do."""


class NotABusiness(StoreError):
    """The folder's file is damaged, is not ours, was written by a newer version, or may not be opened."""


class StoreBusy(StoreError):
    """Another program held the records for too long; the same act may be tried again."""


class StoreFailed(StoreError):
    """A write failed (disk full, failing disk); nothing more is accepted until the business is opened again."""


class BadEntry(StoreError):
    """A reading, consignment or closing that makes no sense by itself: no place, not a number, no time zone."""


class ConflictingReading(StoreError):
    """Another reading of the same place, quantity, duplicate and time is stored already."""


class RepeatedTicket(StoreError):
    """A consignment with this ticket is stored already."""


class FileAlreadyImported(StoreError):
    """The very same file contents were imported for this day before."""


class UnknownReading(StoreError):
    """No reading has this number."""


class UnknownConsignment(StoreError):
    """No consignment has this number."""


class UnknownTrial(StoreError):
    """No kept trial has this number."""


class AlreadyCorrected(StoreError):
    """The reading or consignment was corrected before; the newest one is to be corrected instead."""


class ReasonMissing(StoreError):
    """A correction or reopening without a reason."""


class EntryKeyReused(StoreError):
    """An entry key that belongs to a different, already stored entry."""


class DayClosed(StoreError):
    """The day is closed: it takes no entries, corrections or second closing until it is reopened."""


class NothingToReopen(StoreError):
    """The day is not closed."""


class ReadingsChanged(StoreError):
    """A reading used for the closing was corrected in the meantime; the day must be computed again."""


class PayRefused(StoreError):
    """Something asked of the payment records that they refuse: a run out of turn, closed, or not approved by two."""


class NoSuchPerson(StoreError):
    """Nobody of this name is known to the payment records."""


class UnknownProposal(StoreError):
    """No proposed correction has this number."""


class CannotDecide(StoreError):
    """A proposed correction that was decided already, or that a newer one or a new closing has overtaken."""


class UnknownEntry(StoreError):
    """No entry of a register, consignment note, ruling or access has this number or name."""
