"""The kitchen's own written plan: products, their steps, and what must be known of each; no store, no clock."""
