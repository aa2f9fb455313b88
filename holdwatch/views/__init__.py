"""Questions to the store that screens and papers share."""
