"""What the trade reckons by guess, reckoned: each answer with its formula, range, error, source and caution."""
