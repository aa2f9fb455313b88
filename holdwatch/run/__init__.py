"""All roles together: supervisor, broker, check-up."""
