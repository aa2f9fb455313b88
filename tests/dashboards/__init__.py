"""The screens: what stands on each page, and what it records."""
