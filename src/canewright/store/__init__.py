"""What a business has recorded: readings, consignments, imports and closed days, kept append-only with their history.

One folder is one business. Nothing stored is ever changed or removed; a correction is a new row that names the old
one and gives a reason.
"""

from canewright.store.errors import (
    AlreadyCorrected,
    BadEntry,
    ConflictingReading,
    DayClosed,
    EntryKeyReused,
    FileAlreadyImported,
    NotABusiness,
    NothingToReopen,
    ReadingsChanged,
    ReasonMissing,
    RepeatedTicket,
    StoreBusy,
    StoreError,
    StoreFailed,
    UnknownConsignment,
    UnknownReading,
    UnknownTrial,
)
from canewright.store.records import (
    Batch,
    ClosedDay,
    Condition,
    Consignment,
    ImportedFile,
    NewConsignment,
    NewReading,
    PlantVersion,
    Quality,
    Reading,
    Reopening,
)
from canewright.store.store import Store
from canewright.store.trials import NewTrial, Trial, TrialNote

__all__ = [
    "AlreadyCorrected",
    "BadEntry",
    "Batch",
    "ClosedDay",
    "Condition",
    "ConflictingReading",
    "Consignment",
    "DayClosed",
    "EntryKeyReused",
    "FileAlreadyImported",
    "ImportedFile",
    "NewConsignment",
    "NewReading",
    "NewTrial",
    "NotABusiness",
    "NothingToReopen",
    "PlantVersion",
    "Quality",
    "Reading",
    "ReadingsChanged",
    "ReasonMissing",
    "Reopening",
    "RepeatedTicket",
    "Store",
    "StoreBusy",
    "StoreError",
    "StoreFailed",
    "Trial",
    "TrialNote",
    "UnknownConsignment",
    "UnknownReading",
    "UnknownTrial",
]
