"""Make the first tables.

``sqlite_with_rowid=False`` clusters readings by (probe, instant): half the size, and a range of one probe lies together.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make every table, those that others refer to first."""
    _make_things()
    _make_readings()
    _make_findings()
    _make_alerts()


def _make_things() -> None:
    """Make the site, its things, and what people did."""
    op.create_table(
        "site_version",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("from_ms", sa.BigInteger(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("timezone", sa.String(), nullable=False),
        sa.Column("limits", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("recorded_ms", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_site_version"),
    )
    op.create_table(
        "unit",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("added_ms", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_unit"),
        sa.UniqueConstraint("name", name="uq_unit_name"),
    )
    op.create_table(
        "probe",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("medium", sa.String(), nullable=False),
        sa.Column("payload", sa.String(), nullable=False),
        sa.Column("topic", sa.String(), nullable=False),
        sa.Column("pointer", sa.String(), nullable=False),
        sa.Column("time_pointer", sa.String(), nullable=False),
        sa.Column("unit_pointer", sa.String(), nullable=False),
        sa.Column("senml_name", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("added_ms", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_probe"),
        sa.UniqueConstraint("code", name="uq_probe_code"),
        sa.UniqueConstraint("topic", name="uq_probe_topic"),
    )
    op.create_table(
        "correction",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("probe_id", sa.Integer(), nullable=False),
        sa.Column("from_ms", sa.BigInteger(), nullable=False),
        sa.Column("to_ms", sa.BigInteger(), nullable=True),
        sa.Column("offset_c", sa.Float(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.Column("recorded_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["probe_id"], ["probe.id"], name="fk_correction_probe_id"),
        sa.PrimaryKeyConstraint("id", name="pk_correction"),
    )
    op.create_index("ix_correction_probe_id", "correction", ["probe_id"], unique=False)
    op.create_table(
        "batch",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("lot", sa.String(), nullable=False),
        sa.Column("product", sa.String(), nullable=False),
        sa.Column("vessels", sa.Integer(), nullable=False),
        sa.Column("step", sa.String(), nullable=False),
        sa.Column("holding", sa.String(), nullable=False),
        sa.Column("started_ms", sa.BigInteger(), nullable=False),
        sa.Column("ended_ms", sa.BigInteger(), nullable=True),
        sa.Column("outcome", sa.String(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_batch"),
        sa.UniqueConstraint("lot", name="uq_batch_lot"),
    )
    op.create_index("ix_batch_ended_ms", "batch", ["ended_ms"], unique=False)
    op.create_table(
        "placement",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("probe_id", sa.Integer(), nullable=False),
        sa.Column("unit_id", sa.Integer(), nullable=True),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("vessel", sa.Integer(), nullable=False),
        sa.Column("slowest", sa.Boolean(), nullable=False),
        sa.Column("from_ms", sa.BigInteger(), nullable=False),
        sa.Column("to_ms", sa.BigInteger(), nullable=True),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("recorded_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name="fk_placement_batch_id"),
        sa.ForeignKeyConstraint(["probe_id"], ["probe.id"], name="fk_placement_probe_id"),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name="fk_placement_unit_id"),
        sa.PrimaryKeyConstraint("id", name="pk_placement"),
    )
    op.create_index("ix_placement_batch_id", "placement", ["batch_id"], unique=False)
    op.create_index("ix_placement_probe_id", "placement", ["probe_id"], unique=False)
    op.create_index("ix_placement_to_ms", "placement", ["to_ms"], unique=False)
    op.create_index("ix_placement_unit_id", "placement", ["unit_id"], unique=False)
    op.create_table(
        "event",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("at_ms", sa.BigInteger(), nullable=False),
        sa.Column("recorded_ms", sa.BigInteger(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("unit_id", sa.Integer(), nullable=True),
        sa.Column("probe_id", sa.Integer(), nullable=True),
        sa.Column("vessel", sa.Integer(), nullable=True),
        sa.Column("celsius", sa.Float(), nullable=True),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("replaces_id", sa.Integer(), nullable=True),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name="fk_event_batch_id"),
        sa.ForeignKeyConstraint(["probe_id"], ["probe.id"], name="fk_event_probe_id"),
        sa.ForeignKeyConstraint(["replaces_id"], ["event.id"], name="fk_event_replaces_id"),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name="fk_event_unit_id"),
        sa.PrimaryKeyConstraint("id", name="pk_event"),
    )
    op.create_index("ix_event_at_ms", "event", ["at_ms"], unique=False)
    op.create_index("ix_event_batch_id", "event", ["batch_id"], unique=False)
    op.create_index("ix_event_kind", "event", ["kind"], unique=False)
    op.create_index("ix_event_probe_id", "event", ["probe_id"], unique=False)
    op.create_index("ix_event_replaces_id", "event", ["replaces_id"], unique=False)
    op.create_index("ix_event_unit_id", "event", ["unit_id"], unique=False)


def _make_readings() -> None:
    """Make readings, and what was set aside."""
    op.create_table(
        "reading",
        sa.Column("probe_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at_ms", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("celsius", sa.Float(precision=53), nullable=False),
        sa.Column("lag_ms", sa.BigInteger(), nullable=False),
        sa.Column("flags", sa.SmallInteger(), nullable=False),
        sa.PrimaryKeyConstraint("probe_id", "at_ms", name="pk_reading"),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "contested",
        sa.Column("probe_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at_ms", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("celsius", sa.Float(precision=53), nullable=False),
        sa.Column("received_ms", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("probe_id", "at_ms", "celsius", name="pk_contested"),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "rollup_5m",
        sa.Column("probe_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("bucket_ms", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("first_ms", sa.BigInteger(), nullable=False),
        sa.Column("last_ms", sa.BigInteger(), nullable=False),
        sa.Column("min_c", sa.Float(), nullable=False),
        sa.Column("mean_c", sa.Float(), nullable=False),
        sa.Column("max_c", sa.Float(), nullable=False),
        sa.Column("hole_ms", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("probe_id", "bucket_ms", name="pk_rollup_5m"),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "rollup_1h",
        sa.Column("probe_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("bucket_ms", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("first_ms", sa.BigInteger(), nullable=False),
        sa.Column("last_ms", sa.BigInteger(), nullable=False),
        sa.Column("min_c", sa.Float(), nullable=False),
        sa.Column("mean_c", sa.Float(), nullable=False),
        sa.Column("max_c", sa.Float(), nullable=False),
        sa.Column("hole_ms", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("probe_id", "bucket_ms", name="pk_rollup_1h"),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "set_aside",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("received_ms", sa.BigInteger(), nullable=False),
        sa.Column("topic", sa.String(), nullable=False),
        sa.Column("payload", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("detail", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_set_aside"),
    )
    op.create_table(
        "arrival",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("probe_id", sa.Integer(), nullable=True),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("unit_id", sa.Integer(), nullable=True),
        sa.Column("first_ms", sa.BigInteger(), nullable=False),
        sa.Column("last_ms", sa.BigInteger(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("at_ms", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_arrival"),
    )


def _make_findings() -> None:
    """Make what the watch finds."""
    op.create_table(
        "clause_state",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("clause", sa.String(), nullable=False),
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("unit_id", sa.Integer(), nullable=True),
        sa.Column("probe_id", sa.Integer(), nullable=True),
        sa.Column("vessel", sa.Integer(), nullable=True),
        sa.Column("process", sa.String(), nullable=False),
        sa.Column("limits", sa.String(), nullable=False),
        sa.Column("verdict", sa.String(), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("judged_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name="fk_clause_state_batch_id"),
        sa.ForeignKeyConstraint(["probe_id"], ["probe.id"], name="fk_clause_state_probe_id"),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name="fk_clause_state_unit_id"),
        sa.PrimaryKeyConstraint("id", name="pk_clause_state"),
        sa.UniqueConstraint("subject", "clause", "day", name="uq_clause_state_subject_clause_day"),
    )
    op.create_index("ix_clause_state_batch_id", "clause_state", ["batch_id"], unique=False)
    op.create_index("ix_clause_state_probe_id", "clause_state", ["probe_id"], unique=False)
    op.create_index("ix_clause_state_subject", "clause_state", ["subject"], unique=False)
    op.create_index("ix_clause_state_unit_id", "clause_state", ["unit_id"], unique=False)
    op.create_table(
        "forecast_state",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("vessel", sa.Integer(), nullable=False),
        sa.Column("clause", sa.String(), nullable=False),
        sa.Column("target_c", sa.Float(), nullable=False),
        sa.Column("reaches", sa.Boolean(), nullable=True),
        sa.Column("expected_ms", sa.BigInteger(), nullable=True),
        sa.Column("earliest_ms", sa.BigInteger(), nullable=True),
        sa.Column("latest_ms", sa.BigInteger(), nullable=True),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("made_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name="fk_forecast_state_batch_id"),
        sa.PrimaryKeyConstraint("id", name="pk_forecast_state"),
        sa.UniqueConstraint("subject", "clause", name="uq_forecast_state_subject_clause"),
    )
    op.create_index("ix_forecast_state_batch_id", "forecast_state", ["batch_id"], unique=False)
    op.create_table(
        "finding",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("clause", sa.String(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("verdict", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("unit_id", sa.Integer(), nullable=True),
        sa.Column("probe_id", sa.Integer(), nullable=True),
        sa.Column("since_ms", sa.BigInteger(), nullable=False),
        sa.Column("opened_ms", sa.BigInteger(), nullable=False),
        sa.Column("closed_ms", sa.BigInteger(), nullable=True),
        sa.Column("close_reason", sa.String(), nullable=False),
        sa.Column("replaced_by", sa.Integer(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name="fk_finding_batch_id"),
        sa.ForeignKeyConstraint(["probe_id"], ["probe.id"], name="fk_finding_probe_id"),
        sa.ForeignKeyConstraint(["replaced_by"], ["finding.id"], name="fk_finding_replaced_by"),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name="fk_finding_unit_id"),
        sa.PrimaryKeyConstraint("id", name="pk_finding"),
        sa.UniqueConstraint("key", name="uq_finding_key"),
    )
    op.create_index("ix_finding_batch_id", "finding", ["batch_id"], unique=False)
    op.create_index("ix_finding_closed_ms", "finding", ["closed_ms"], unique=False)
    op.create_index("ix_finding_probe_id", "finding", ["probe_id"], unique=False)
    op.create_index("ix_finding_replaced_by", "finding", ["replaced_by"], unique=False)
    op.create_index("ix_finding_unit_id", "finding", ["unit_id"], unique=False)
    op.create_table(
        "finding_version",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("finding_id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at_ms", sa.BigInteger(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("verdict", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("closed_ms", sa.BigInteger(), nullable=True),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["finding_id"], ["finding.id"], name="fk_finding_version_finding_id"),
        sa.PrimaryKeyConstraint("id", name="pk_finding_version"),
        sa.UniqueConstraint("finding_id", "version", name="uq_finding_version_finding_id_version"),
    )
    op.create_index("ix_finding_version_finding_id", "finding_version", ["finding_id"], unique=False)
    op.create_table(
        "watch_state",
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("next_ms", sa.BigInteger(), nullable=True),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("subject", name="pk_watch_state"),
    )


def _make_alerts() -> None:
    """Make who is told, and how the parts are doing."""
    op.create_table(
        "contact",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("url", sa.String(), nullable=False),
        sa.Column("added_ms", sa.BigInteger(), nullable=False),
        sa.Column("retired_ms", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_contact"),
        sa.UniqueConstraint("name", name="uq_contact_name"),
    )
    op.create_table(
        "alert",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("finding_id", sa.Integer(), nullable=False),
        sa.Column("finding_version", sa.Integer(), nullable=False),
        sa.Column("contact_id", sa.Integer(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("queued_ms", sa.BigInteger(), nullable=False),
        sa.Column("next_try_ms", sa.BigInteger(), nullable=False),
        sa.Column("leased_until_ms", sa.BigInteger(), nullable=True),
        sa.Column("sent_ms", sa.BigInteger(), nullable=True),
        sa.Column("last_error", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["contact_id"], ["contact.id"], name="fk_alert_contact_id"),
        sa.ForeignKeyConstraint(["finding_id"], ["finding.id"], name="fk_alert_finding_id"),
        sa.PrimaryKeyConstraint("id", name="pk_alert"),
        sa.UniqueConstraint(
            "finding_id", "finding_version", "contact_id", name="uq_alert_finding_id_finding_version_contact_id"
        ),
    )
    op.create_index("ix_alert_contact_id", "alert", ["contact_id"], unique=False)
    op.create_index("ix_alert_finding_id", "alert", ["finding_id"], unique=False)
    op.create_index("ix_alert_state_next", "alert", ["state", "next_try_ms"], unique=False)
    op.create_table(
        "alert_attempt",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("alert_id", sa.Integer(), nullable=False),
        sa.Column("at_ms", sa.BigInteger(), nullable=False),
        sa.Column("taken", sa.Boolean(), nullable=False),
        sa.Column("detail", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["alert_id"], ["alert.id"], name="fk_alert_attempt_alert_id"),
        sa.PrimaryKeyConstraint("id", name="pk_alert_attempt"),
    )
    op.create_index("ix_alert_attempt_alert_id", "alert_attempt", ["alert_id"], unique=False)
    op.create_table(
        "role_status",
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("pid", sa.Integer(), nullable=False),
        sa.Column("host", sa.String(), nullable=False),
        sa.Column("at_ms", sa.BigInteger(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("detail", sa.String(), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("role", name="pk_role_status"),
    )
