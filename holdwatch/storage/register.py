"""What the store knows by name: the site, units, probes, batches, and what is done with them.

Every change also appends an event, and queues an arrival where the watch must look again.
"""

from holdwatch.storage.batching import batch_named, batches, end_batch, note, note_unit, start_batch
from holdwatch.storage.events import events
from holdwatch.storage.placing import place, placements, take_out
from holdwatch.storage.site import (
    add_correction,
    add_probe,
    add_unit,
    probe_named,
    probes,
    set_site,
    site_at,
    unit_named,
    units,
)

__all__ = [
    "add_correction",
    "add_probe",
    "add_unit",
    "batch_named",
    "batches",
    "end_batch",
    "events",
    "note",
    "note_unit",
    "place",
    "placements",
    "probe_named",
    "probes",
    "set_site",
    "site_at",
    "start_batch",
    "take_out",
    "unit_named",
    "units",
]
