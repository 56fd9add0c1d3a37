"""The tables as the queries see them. The migrations make them; a test holds the two together."""

from __future__ import annotations

from sqlalchemy import (
    JSON,
    CheckConstraint,
    Column,
    Date,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

from canewright.store.dialect import UtcDateTime

METADATA = MetaData()

batch = Table(
    "batch",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("day", Date, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("row_count", Integer, nullable=False),
)

batch_file = Table(
    "batch_file",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("batch_id", ForeignKey("batch.id"), nullable=False),
    Column("day", Date, nullable=False),
    Column("name", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("row_count", Integer, nullable=False),
    UniqueConstraint("day", "sha256", name="one_import_of_a_file_a_day"),
)

reading = Table(
    "reading",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("day", Date, nullable=False),
    Column("place", Text, nullable=False),
    Column("quantity", Text, nullable=False),
    Column("duplicate", Integer, nullable=False),
    Column("value", Float),
    Column("unit", Text, nullable=False),
    Column("quality", Text, nullable=False),
    Column("taken_at", UtcDateTime, nullable=False),
    Column("taken_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("source", Text, nullable=False),
    Column("batch_id", ForeignKey("batch.id")),
    Column("supersedes", ForeignKey("reading.id"), unique=True),
    Column("reason", Text),
    Column("entry_key", Text, unique=True),
    CheckConstraint("quality IN ('good', 'bad', 'missing', 'estimated')", name="known_quality"),
    CheckConstraint("value IS NOT NULL OR quality IN ('missing', 'bad')", name="value_or_missing"),
    CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="correction_has_reason"),
)
reading_once = Index(
    "reading_once",
    reading.c.day,
    reading.c.place,
    reading.c.quantity,
    reading.c.duplicate,
    reading.c.taken_at,
    unique=True,
    sqlite_where=reading.c.supersedes.is_(None),
    postgresql_where=reading.c.supersedes.is_(None),
)
Index("reading_of_place", reading.c.place, reading.c.quantity, reading.c.taken_at)

consignment = Table(
    "consignment",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("day", Date, nullable=False),
    Column("ticket", Text, nullable=False),
    Column("grower", Text, nullable=False),
    Column("block", Text, nullable=False),
    Column("fibre_class", Text, nullable=False),
    Column("tip_at", UtcDateTime, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("source", Text, nullable=False),
    Column("batch_id", ForeignKey("batch.id")),
    Column("supersedes", ForeignKey("consignment.id"), unique=True),
    Column("reason", Text),
    CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="correction_has_reason"),
)
Index(
    "consignment_once",
    consignment.c.day,
    consignment.c.ticket,
    unique=True,
    sqlite_where=consignment.c.supersedes.is_(None),
    postgresql_where=consignment.c.supersedes.is_(None),
)
Index("consignment_by_ticket", consignment.c.ticket)

plant_version = Table(
    "plant_version",
    METADATA,
    Column("sha256", Text, primary_key=True),
    Column("text", Text, nullable=False),
    Column("first_used", UtcDateTime, nullable=False),
)

closed_day = Table(
    "closed_day",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("day", Date, nullable=False),
    Column("version", Integer, nullable=False),
    Column("status", Text, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("reason", Text),
    Column("plant_sha256", ForeignKey("plant_version.sha256")),
    Column("figures", JSON(none_as_null=True)),
    Column("state", JSON(none_as_null=True)),
    Column("readings_used", JSON(none_as_null=True)),
    UniqueConstraint("day", "version", "status", name="one_closing_a_version"),
    CheckConstraint("status IN ('closed', 'reopened')", name="known_status"),
    CheckConstraint("status = 'closed' OR reason IS NOT NULL", name="reopening_has_reason"),
    CheckConstraint(
        "status = 'reopened' OR (plant_sha256 IS NOT NULL AND figures IS NOT NULL "
        "AND state IS NOT NULL AND readings_used IS NOT NULL)",
        name="closing_is_whole",
    ),
)

pay_person = Table(
    "pay_person",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False),
    Column("rights", JSON(none_as_null=True), nullable=False),
    Column("grower", Text),
    Column("secret", Text, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("reason", Text, nullable=False),
)
Index("pay_person_by_name", pay_person.c.name)

pay_agreement = Table(
    "pay_agreement",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("season", Text, nullable=False),
    Column("version", Integer, nullable=False),
    Column("text", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("reason", Text, nullable=False),
    UniqueConstraint("season", "version", name="one_agreement_a_version"),
)

pay_run = Table(
    "pay_run",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("season", Text, nullable=False),
    Column("number", Integer, nullable=False),
    Column("version", Integer, nullable=False),
    Column("agreement_id", ForeignKey("pay_agreement.id"), nullable=False),
    Column("content", JSON(none_as_null=True), nullable=False),
    Column("sha256", Text, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("reason", Text),
    UniqueConstraint("season", "number", "version", name="one_run_a_version"),
)

pay_act = Table(
    "pay_act",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("run_id", ForeignKey("pay_run.id"), nullable=False),
    Column("act", Text, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("reason", Text),
    UniqueConstraint("run_id", "act", "entered_by", name="one_act_a_person"),
    CheckConstraint("act IN ('approved', 'rejected', 'closed')", name="known_act"),
    CheckConstraint("act <> 'rejected' OR reason IS NOT NULL", name="rejection_has_reason"),
)
Index(
    "pay_run_closed_once",
    pay_act.c.run_id,
    unique=True,
    sqlite_where=pay_act.c.act == "closed",
    postgresql_where=pay_act.c.act == "closed",
)

pay_correction = Table(
    "pay_correction",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("season", Text, nullable=False),
    Column("run", Integer, nullable=False),
    Column("grower", Text, nullable=False),
    Column("period", Integer, nullable=False),
    Column("ticket", Text, nullable=False),
    Column("amount", Text, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("reason", Text, nullable=False),
)
Index("pay_correction_by_run", pay_correction.c.season, pay_correction.c.run)

season = Table(
    "season",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("first", Date, nullable=False),
    Column("last", Date, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("plant_sha256", ForeignKey("plant_version.sha256"), nullable=False),
    Column("course", JSON, nullable=False),
)

proposal = Table(
    "proposal",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("season_id", ForeignKey("season.id"), nullable=False),
    Column("day", Date, nullable=False),
    Column("version", Integer, nullable=False),
    Column("figures", JSON, nullable=False),
    Column("knowledge", JSON, nullable=False),
    UniqueConstraint("season_id", "day", name="one_proposal_a_day_and_season"),
)
Index("proposal_of_day", proposal.c.day)

decision = Table(
    "decision",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("proposal_id", ForeignKey("proposal.id"), nullable=False),
    Column("act", Text, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("reason", Text, nullable=False),
    UniqueConstraint("proposal_id", "act", name="each_act_once"),
    CheckConstraint("act IN ('accepted', 'declined', 'withdrawn')", name="known_act"),
)

register_entry = Table(
    "register_entry",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("register", Text, nullable=False),
    Column("key", Text, nullable=False),
    Column("valid_from", Date, nullable=False),
    Column("details", JSON(none_as_null=True)),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("source", Text, nullable=False),
    Column("supersedes", ForeignKey("register_entry.id"), unique=True),
    Column("reason", Text),
    CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="correction_has_reason"),
)
Index(
    "register_entry_once",
    register_entry.c.register,
    register_entry.c.key,
    register_entry.c.valid_from,
    unique=True,
    sqlite_where=register_entry.c.supersedes.is_(None),
    postgresql_where=register_entry.c.supersedes.is_(None),
)

consignment_note = Table(
    "consignment_note",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("day", Date, nullable=False),
    Column("ticket", Text, nullable=False),
    Column("harvest_group", Text, nullable=False),
    Column("carrier", Text, nullable=False),
    Column("cut_at", UtcDateTime),
    Column("arrived_at", UtcDateTime),
    Column("sampled_from", UtcDateTime),
    Column("sampled_to", UtcDateTime),
    Column("bins", JSON(none_as_null=True)),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("source", Text, nullable=False),
    Column("batch_id", ForeignKey("batch.id")),
    Column("supersedes", ForeignKey("consignment_note.id"), unique=True),
    Column("reason", Text),
    CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="correction_has_reason"),
)
Index(
    "consignment_note_once",
    consignment_note.c.day,
    consignment_note.c.ticket,
    unique=True,
    sqlite_where=consignment_note.c.supersedes.is_(None),
    postgresql_where=consignment_note.c.supersedes.is_(None),
)

sample_ruling = Table(
    "sample_ruling",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("day", Date, nullable=False),
    Column("ticket", Text, nullable=False),
    Column("ruling", Text, nullable=False),
    Column("says", Text, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    CheckConstraint("ruling IN ('confirmed', 'rejected', 'disputed', 'settled')", name="known_ruling"),
)
Index("sample_ruling_of_ticket", sample_ruling.c.day, sample_ruling.c.ticket)

grower_access = Table(
    "grower_access",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("grower", Text, nullable=False),
    Column("given_to", Text, nullable=False),
    Column("key_hash", Text, unique=True),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("supersedes", ForeignKey("grower_access.id"), unique=True),
    Column("reason", Text),
    CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="withdrawal_has_reason"),
    CheckConstraint("(supersedes IS NULL) = (key_hash IS NOT NULL)", name="key_until_withdrawn"),
)

trial = Table(
    "trial",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("day", Date, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("name", Text, nullable=False),
    Column("changes", JSON, nullable=False),
    Column("result", JSON, nullable=False),
    Column("plant_sha256", Text, nullable=False),
)
Index("trial_of_day", trial.c.day)

trial_note = Table(
    "trial_note",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("trial_id", ForeignKey("trial.id"), nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("text", Text, nullable=False),
)

harvest_plan = Table(
    "harvest_plan",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("season", Text, nullable=False),
    Column("made_for", Date, nullable=False),
    Column("body", JSON, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("entered_at", UtcDateTime, nullable=False),
    Column("supersedes", ForeignKey("harvest_plan.id"), unique=True),
    Column("reason", Text),
    CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="replan_has_reason"),
)
Index(
    "harvest_plan_first",
    harvest_plan.c.season,
    unique=True,
    sqlite_where=harvest_plan.c.supersedes.is_(None),
    postgresql_where=harvest_plan.c.supersedes.is_(None),
)
