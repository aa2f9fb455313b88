"""The store: tables, bulk writing, range reading, roll-ups, migrations."""
