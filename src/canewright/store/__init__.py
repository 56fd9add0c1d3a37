"""What a business has recorded: readings, consignments, imports and closed days, kept append-only with their history.

One folder is one business. Nothing stored is ever changed or removed; a correction is a new row that names the old
one and gives a reason.
"""

from canewright.store.cane_records import (
    Access,
    NewNote,
    NewRegisterEntry,
    Note,
    RegisterEntry,
    Ruling,
    SampleRuling,
)
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
    UnknownEntry,
    UnknownReading,
)
from canewright.store.imports import DayOfImport
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

__all__ = [
    "Access",
    "AlreadyCorrected",
    "BadEntry",
    "Batch",
    "ClosedDay",
    "Condition",
    "ConflictingReading",
    "Consignment",
    "DayClosed",
    "DayOfImport",
    "EntryKeyReused",
    "FileAlreadyImported",
    "ImportedFile",
    "NewConsignment",
    "NewNote",
    "NewReading",
    "NewRegisterEntry",
    "NotABusiness",
    "Note",
    "NothingToReopen",
    "PlantVersion",
    "Quality",
    "Reading",
    "ReadingsChanged",
    "ReasonMissing",
    "RegisterEntry",
    "Reopening",
    "RepeatedTicket",
    "Ruling",
    "SampleRuling",
    "Store",
    "StoreBusy",
    "StoreError",
    "StoreFailed",
    "UnknownConsignment",
    "UnknownEntry",
    "UnknownReading",
]
