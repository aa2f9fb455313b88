"""Who works here, what each may record, and how a PIN is kept; no store, no clock."""
